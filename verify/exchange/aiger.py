"""A circuit in the AIGER format 1.9 (Biere, Heljanko and Wieringa 2011), text or binary.

Latches that may begin at either level have themselves as reset. Properties, constraints and
latches have their names in the symbol table.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from breadproof.verify.exchange.circuit import Circuit, Latch, Named


@dataclass(slots=True)
class _Numbered:
    """The circuit over AIGER's variables: inputs, then latches, then gates."""

    circuit: Circuit
    number: dict[int, int]
    gates: list[tuple[int, int, int]]

    def at(self, literal: int) -> int:
        return 2 * self.number[literal >> 1] + (literal & 1)

    def reset(self, latch: Latch) -> int:
        return self.at(latch.literal) if latch.reset is None else latch.reset


def _numbered(circuit: Circuit) -> _Numbered:
    number = {0: 0}
    literals = [one.literal for one in circuit.inputs]
    for literal in [*literals, *(one.literal for one in circuit.latches)]:
        number[literal >> 1] = len(number)
    work = _Numbered(circuit, number, [])
    roots = [*circuit.goals(), *(latch.next for latch in circuit.latches)]
    for variable in circuit.aig.cone(roots, set(number)):
        gate = circuit.aig.fanin[variable]
        if gate is None:
            raise AssertionError(f"v{variable} is neither of the state nor an input")
        number[variable] = len(number)
        low, high = sorted((work.at(gate[0]), work.at(gate[1])))
        work.gates.append((2 * number[variable], high, low))
    return work


def aiger_text(circuit: Circuit, title: Sequence[str] = ()) -> str:
    """The circuit, which has no memories, as text (``aag``)."""
    work = _numbered(circuit)
    lines = [_header("aag", work)]
    lines += [str(work.at(one.literal)) for one in circuit.inputs]
    lines += [
        f"{work.at(one.literal)} {work.at(one.next)} {work.reset(one)}" for one in circuit.latches
    ]
    lines += _properties(work)
    lines += [f"{gate} {high} {low}" for gate, high, low in work.gates]
    return "\n".join([*lines, *_symbols(circuit, title), ""])


def aiger_binary(circuit: Circuit, title: Sequence[str] = ()) -> bytes:
    """The circuit, which has no memories, in the binary form (``aig``)."""
    work = _numbered(circuit)
    lines = [_header("aig", work)]
    lines += [f"{work.at(one.next)} {work.reset(one)}" for one in circuit.latches]
    lines += _properties(work)
    gates = bytearray()
    for gate, high, low in work.gates:
        gates += _varying(gate - high) + _varying(high - low)
    tail = "\n".join([*_symbols(circuit, title), ""])
    return "\n".join([*lines, ""]).encode() + bytes(gates) + tail.encode()


def _varying(number: int) -> bytes:
    """Seven bits a byte, least significant first; all but the last have their top bit set."""
    found = bytearray()
    while number > 0x7F:
        found.append(number & 0x7F | 0x80)
        number >>= 7
    found.append(number)
    return bytes(found)


def _header(form: str, work: _Numbered) -> str:
    one = work.circuit
    sizes = [len(work.number) - 1, len(one.inputs), len(one.latches), 0, len(work.gates)]
    sizes += [len(one.bad), len(one.constraints), len(one.justice), len(one.fair)]
    return " ".join([form, *map(str, sizes)])


def _properties(work: _Numbered) -> list[str]:
    one = work.circuit
    lines = [str(work.at(named.literal)) for named in (*one.bad, *one.constraints)]
    lines += [str(len(named.literals)) for named in one.justice]
    lines += [str(work.at(literal)) for named in one.justice for literal in named.literals]
    return [*lines, *(str(work.at(named.literal)) for named in one.fair)]


def _symbols(circuit: Circuit, title: Sequence[str]) -> list[str]:
    lines: list[str] = []
    groups: dict[str, Iterable[str]] = {
        "i": (one.name for one in circuit.inputs),
        "l": (one.name for one in circuit.latches),
        "b": _names(circuit.bad),
        "c": _names(circuit.constraints),
        "j": _names(circuit.justice),
        "f": _names(circuit.fair),
    }
    for letter, names in groups.items():
        lines += [f"{letter}{place} {name}" for place, name in enumerate(names)]
    return [*lines, "c", *title]


def _names(group: Iterable[Named]) -> Iterable[str]:
    return (one.name for one in group)
