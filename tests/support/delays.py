"""Gates with delays of any length, every order of events gone through: how often each can change.

Nothing of the product is used. Two models, both from the textbooks (Brzozowski and Seger,
Asynchronous Circuits, 1995):

- `with_wires`: every wire to a gate has a delay of its own, and every change that goes into it
  comes out, some time later. For circuits without loops.
- `with_gates`: every gate has a delay of its own; a gate whose output is not what its inputs ask
  for may change at any time (one at a time; the general single-winner model). Loops allowed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

Op = Literal["and", "or", "not", "xor", "nand", "nor"]


@dataclass(frozen=True, slots=True)
class Gate:
    """A gate; ``inputs`` are names of circuit inputs or of gates."""

    name: str
    op: Op
    inputs: tuple[str, ...]

    def level(self, bits: Sequence[int]) -> int:
        match self.op:
            case "and":
                return int(all(bits))
            case "or":
                return int(any(bits))
            case "not" | "nand":
                return int(not all(bits))
            case "nor":
                return int(not any(bits))
            case "xor":
                return sum(bits) % 2


def with_wires(
    gates: Sequence[Gate], start: Mapping[str, int], end: Mapping[str, int]
) -> dict[str, int]:
    """The most changes of each gate while the inputs go from ``start`` (a stable state of inputs
    and gates) to ``end``, in any order of events."""
    wires = [(number, name) for number, gate in enumerate(gates) for name in gate.inputs]
    place = {gate.name: number for number, gate in enumerate(gates)}
    most = dict.fromkeys(place, 0)
    moves = {name: int(start[name] != end[name]) for name in end}
    first = ((0,) * len(gates), (0,) * len(wires))
    seen, stack = {first}, [first]
    while stack:
        counts, passed = stack.pop()
        for gate, count in zip(gates, counts, strict=True):
            most[gate.name] = max(most[gate.name], count)
        for wire, (number, name) in enumerate(wires):
            source = counts[place[name]] if name in place else moves[name]
            if passed[wire] == source:
                continue
            after = (*passed[:wire], passed[wire] + 1, *passed[wire + 1 :])
            bits = [
                start[other] ^ (after[k] & 1)
                for k, (owner, other) in enumerate(wires)
                if owner == number
            ]
            gate = gates[number]
            flips = gate.level(bits) != start[gate.name] ^ (counts[number] & 1)
            here = (*counts[:number], counts[number] + flips, *counts[number + 1 :])
            if (here, after) not in seen:
                seen.add((here, after))
                stack.append((here, after))
    return most


def with_gates(
    gates: Sequence[Gate], start: Mapping[str, int], end: Mapping[str, int]
) -> dict[str, int]:
    """As `with_wires`, but with delays in gates and inputs alone, and no count beyond three."""
    names = [*end, *(gate.name for gate in gates)]
    place = {name: number for number, name in enumerate(names)}
    most = dict.fromkeys(names, 0)
    first = (0,) * len(names)
    seen, stack = {first}, [first]
    while stack:
        counts = stack.pop()
        for name, count in zip(names, counts, strict=True):
            most[name] = max(most[name], count)
        now = {name: start[name] ^ (counts[k] & 1) for name, k in place.items()}
        ready = [name for name in end if now[name] != end[name]]
        ready += [g.name for g in gates if g.level([now[n] for n in g.inputs]) != now[g.name]]
        for name in ready:
            k = place[name]
            here = (*counts[:k], counts[k] + 1 if counts[k] < 3 else 2, *counts[k + 1 :])
            if here not in seen:
                seen.add(here)
                stack.append(here)
    return most
