"""What AIGER and BTOR2 files look like, read back by the formats' own descriptions.

AIGER: Biere, Heljanko and Wieringa, "AIGER 1.9 and beyond" (2011); the reader below is written
from it. BTOR2: btor2tools' parser, in `tests.support.btor_checker`.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from random import Random

import pytest

from breadproof.verify.exchange.aiger import aiger_binary, aiger_text
from breadproof.verify.exchange.btor2 import btor2
from breadproof.verify.exchange.circuit import Circuit, circuit
from breadproof.verify.exchange.flat import TooManyWords, flat
from breadproof.verify.exchange.obligation import obligation
from tests.prove.boards import sketch, small
from tests.prove.test_brute import load
from tests.prove.test_endless import fair, strong_formulas
from tests.support.btor_checker import BtorChecker


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """An AIGER file: latches as (next, reset), gates as (left, right) by their literal."""

    header: tuple[int, ...]
    latches: tuple[tuple[int, int], ...]
    properties: tuple[int, ...]
    gates: dict[int, tuple[int, int]]
    symbols: tuple[str, ...]


def read_text(text: str) -> Read:
    lines = text.split("\n")
    header = tuple(map(int, lines[0].split()[1:]))
    _, inputs, latches, outputs, gates, bad, constraints, justice, fairness = header
    assert outputs == 0
    assert [int(line) for line in lines[1 : 1 + inputs]] == [2 * k + 2 for k in range(inputs)]
    at = 1 + inputs
    rows = [tuple(map(int, line.split())) for line in lines[at : at + latches]]
    assert [row[0] for row in rows] == [2 * (inputs + k) + 2 for k in range(latches)]
    at += latches
    sizes = lines[at + bad + constraints : at + bad + constraints + justice]
    size = bad + constraints + justice + sum(map(int, sizes)) + fairness
    properties = tuple(map(int, lines[at : at + size]))
    at += size
    made = [tuple(map(int, line.split())) for line in lines[at : at + gates]]
    return Read(
        header=header,
        latches=tuple((row[1], row[2]) for row in rows),
        properties=properties,
        gates={row[0]: (row[1], row[2]) for row in made},
        symbols=tuple(lines[at + gates : lines.index("c")]),
    )


def read_binary(data: bytes) -> Read:
    lines: list[str] = []
    place = 0

    def line() -> str:
        nonlocal place
        end = data.index(b"\n", place)
        lines.append(data[place:end].decode())
        place = end + 1
        return lines[-1]

    def number() -> int:
        nonlocal place
        found, shift = 0, 0
        while True:
            byte = data[place]
            place += 1
            found |= (byte & 0x7F) << shift
            shift += 7
            if byte < 0x80:
                return found

    header = tuple(map(int, line().split()[1:]))
    _, inputs, latches, _, gates, bad, constraints, justice, fairness = header
    rows = [tuple(map(int, line().split())) for _ in range(latches)]
    properties = [int(line()) for _ in range(bad + constraints)]
    sizes = [int(line()) for _ in range(justice)]
    properties += [*sizes, *(int(line()) for _ in range(sum(sizes) + fairness))]
    made: dict[int, tuple[int, int]] = {}
    for k in range(gates):
        gate = 2 * (inputs + latches + k + 1)
        left = gate - number()
        right = left - number()
        assert gate > left >= right >= 0
        made[gate] = (left, right)
    rest = data[place:].decode().split("\n")
    return Read(
        header=header,
        latches=tuple((row[0], row[1]) for row in rows),
        properties=tuple(properties),
        gates=made,
        symbols=tuple(rest[: rest.index("c")]),
    )


def strong_board(folder: Path, name: str) -> Circuit:
    made, random = small(folder, name), Random(f"formats {name}")
    machine = load(made, strong_formulas(made, random, 4) + fair(made, random))
    return circuit(obligation(machine, [], 10))


@pytest.mark.parametrize("name", ["one flip-flop", "gated clock", "memory", "ripple"])
def test_text_and_binary_say_the_same(tmp_path: Path, name: str) -> None:
    made = flat(strong_board(tmp_path, name))
    text, binary = aiger_text(made, ["a board"]), aiger_binary(made, ["a board"])
    read = read_text(text)
    assert read == read_binary(binary)
    assert text.endswith("\nc\na board\n")
    assert binary.endswith(b"\nc\na board\n")
    variables, inputs, latches, _, gates, bad, _, justice, fairness = read.header
    assert variables == inputs + latches + gates
    assert (bad, justice, fairness) == (len(made.bad), len(made.justice), len(made.fair))
    assert justice >= 4
    assert f"b0 {made.bad[0].name}" in read.symbols
    assert f"j0 {made.justice[0].name}" in read.symbols
    begun = read.symbols.index("l0 begun")
    assert begun == inputs
    assert read.latches[0] == (1, 0)
    free = [k for k, (_, reset) in enumerate(read.latches) if reset == 2 * (inputs + k) + 2]
    assert len(free) == latches - 1 - 2 * justice


@pytest.mark.parametrize("name", ["one flip-flop", "gated clock", "memory", "ripple"])
def test_btor2_is_read_by_its_own_parser(tmp_path: Path, name: str) -> None:
    made = strong_board(tmp_path, name)
    checker = BtorChecker(btor2(made, ["a board", ""]))
    assert list(checker.bad) == [one.name for one in made.bad]
    assert [one.replace("_", " ") for one in checker.justice] == [j.name for j in made.justice]
    assert len(checker.fair) == len(made.fair)


def test_same_input_same_bytes(tmp_path: Path) -> None:
    one, two = (strong_board(tmp_path, "gated clock") for _ in range(2))
    assert aiger_binary(flat(one)) == aiger_binary(flat(two))
    assert btor2(one) == btor2(two)


def test_large_memories_are_not_written_out(tmp_path: Path) -> None:
    nets = {"w_n": "U1.WE_n", "d": "U1.D", "a": "U1.A0", "q": "U1.Q", "GND": "U1.CS_n"}
    text = 'assert: {one: {says: "", formula: "always (q || !q)"}}\n'
    made = circuit(obligation(load(sketch(tmp_path, "U1:9003", nets, "w_n d a"), text), [], 10))
    assert len(flat(made, limit=2).latches) == len(made.latches) + 2
    with pytest.raises(TooManyWords, match=r"memory U1.M \(2 bits\); at most 1 bits"):
        flat(made, limit=1)
