"""A program played by the compiled board (`compiled`, ``driver.cc``)."""

from __future__ import annotations

import ctypes
from array import array
from collections.abc import Iterable, Sequence
from pathlib import Path

from breadproof.export.stimulus.controls import resting
from breadproof.export.stimulus.player import Pause, Reason, Record
from breadproof.export.stimulus.program import Program
from breadproof.export.stimulus.sights import Sights
from breadproof.export.stimulus.start import Start
from breadproof.specs.machine.graph import Kind

HEAD = 24
"""Bytes of a record before its row: step 8, rounds 8, entry 4, round 3, whole 1."""
KEPT = 7
"""The kind of a leaf that is remembered or gathered; the others are those of `graph.Kind`."""


class _Formulas:
    """Graphs as one row of numbers, as driver.cc reads it."""

    def __init__(self, sights: Sights) -> None:
        self.sights = sights
        self.numbers: list[int] = []

    def add(self, root: int) -> int:
        """Append the formula of a node; where it begins."""
        begin = len(self.numbers)
        nodes = [node for node in self.sights.graph.cone([root]) if node > 1]
        self.numbers.append(len(nodes))
        for node in nodes:
            kind, args = self.kind(node)
            self.numbers += [kind, node, len(args), *args]
        self.numbers.append(root)
        return begin

    def kind(self, node: int) -> tuple[int, Sequence[int]]:
        graph = self.sights.graph
        match graph.kinds[node]:
            case Kind.LEAF:
                place = self.sights.places.get(node)
                return (KEPT, ()) if place is None else (1, (place,))
            case Kind.CONST | Kind.WAS:
                raise AssertionError("not in a formula over a row")
            case kind:
                return int(kind), graph.args[node]


class FastPlayer:
    """See `player.Player`."""

    def __init__(
        self,
        library: Path,
        sights: Sights,
        program: Program,
        start: Start,
        breaks: tuple[int, ...] = (),
        *,
        every_round: bool = False,
    ) -> None:
        """Load a library that was made of the same board."""
        self.sights, self.program = sights, program
        self.library = _loaded(library)
        self.player: int | None = self.library.player_open()
        self.step, self.rounds = -1, 0
        self.width = (sights.row.width + 7) // 8
        self.breaks = breaks
        formulas = _Formulas(sights)
        conditions = [formulas.add(one.node) for one in program.conditions]
        pairs = [
            [number for leaf, node in table.items() for number in (leaf, formulas.add(node))]
            for table in (sights.remembered, sights.gathered)
        ]
        code = [number for one in program.code for number in (int(one.op), one.a, one.b, one.entry)]
        tables: list[list[int]] = [code, formulas.numbers, conditions, list(breaks), *pairs]
        tables += [[len(sights.graph), sights.first], [int(every_round)]]
        for number, table in enumerate(tables):
            self._load(number, table)
        self._begin(start)

    def _load(self, which: int, table: list[int]) -> None:
        numbers = (ctypes.c_int32 * len(table))(*table)
        self.library.player_load(self.player, which, numbers, len(table))

    def _begin(self, start: Start) -> None:
        """What the board holds and how the controls stand at power-on."""
        for number, level in enumerate((*start.storage.values(), *start.held)):
            self.library.player_store(self.player, number, level)
        for number, memory in enumerate(self.sights.machine.memories):
            words = array("Q", start.words[memory.label])
            held = (ctypes.c_uint64 * len(words)).from_buffer(words)
            self.library.player_words(self.player, number, held, len(words))
        for name, bits in resting(self.sights.machine.netlist).items():
            for bit, level in enumerate(bits):
                place = self.sights.row.control(name, bit)
                self.library.player_control(self.player, place, level)
        if start.seed is not None:
            self.library.player_seed(self.player, start.seed)

    def play(self, most: int) -> Pause:
        """See `Player`."""
        reason = Reason(self.library.player_play(self.player, most))
        number = self.library.player_number
        self.step, self.rounds = number(self.player, 0), number(self.player, 1)
        place = number(self.player, 2) - (reason not in (Reason.PAUSED, Reason.ENDED))
        told = reason in (Reason.CHECK, Reason.BREAK, Reason.OVERRUN)
        condition = number(self.player, 3) if told else -1
        held = -1
        if reason is Reason.BREAK:
            node = self.program.conditions[condition].node
            held = self.library.player_held(self.player, node)
        return Pause(
            reason=reason,
            entry=self.program.code[place].entry,
            condition=condition,
            held=held,
            records=tuple(self._records()),
        )

    def _records(self) -> Iterable[Record]:
        size = self.library.player_number(self.player, 4)
        data = ctypes.string_at(self.library.player_records(self.player), size) if size else b""
        for at in range(0, size, HEAD + self.width):
            yield Record(
                step=int.from_bytes(data[at : at + 8], "little"),
                rounds=int.from_bytes(data[at + 8 : at + 16], "little"),
                entry=int.from_bytes(data[at + 16 : at + 20], "little"),
                round=int.from_bytes(data[at + 20 : at + 23], "little"),
                whole=bool(data[at + 23]),
                row=int.from_bytes(data[at + HEAD : at + HEAD + self.width], "little"),
            )

    def row(self) -> int:
        """See `Player`."""
        look = self.library.player_look
        return sum(look(self.player, place) << place for place in range(self.sights.row.width))

    def word(self, memory: int, address: int) -> int:
        """See `Player`."""
        return int(self.library.player_word(self.player, memory, address))

    def leaves(self) -> dict[int, int]:
        """See `Player`."""
        leaves = [*self.sights.remembered, *self.sights.gathered]
        return {leaf: self.library.player_level(self.player, leaf) for leaf in leaves}

    def close(self) -> None:
        """See `Player`."""
        if self.player is not None:
            self.library.player_close(self.player)
            self.player = None


def _loaded(path: Path) -> ctypes.CDLL:
    """The library, its functions with their types."""
    library = ctypes.CDLL(str(path))
    pointer, number, long = ctypes.c_void_p, ctypes.c_int, ctypes.c_int64
    word = ctypes.c_uint64
    for name, result, arguments in (
        ("open", pointer, []),
        ("close", None, [pointer]),
        ("load", None, [pointer, number, pointer, long]),
        ("seed", None, [pointer, word]),
        ("store", number, [pointer, number, number]),
        ("control", None, [pointer, number, number]),
        ("words", None, [pointer, number, pointer, long]),
        ("word", word, [pointer, number, word]),
        ("play", number, [pointer, long]),
        ("number", long, [pointer, number]),
        ("records", pointer, [pointer]),
        ("level", number, [pointer, number]),
        ("held", number, [pointer, number]),
        ("look", number, [pointer, number]),
    ):
        function = getattr(library, f"player_{name}")
        function.restype, function.argtypes = result, arguments
    return library
