"""A script that was played, as a diagram: a column a step, or in a long run an entry of the script.

What was played is a row of bits for each round (`breadproof.export.stimulus.sights`).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby

from breadproof.export.stimulus.player import Reason, Record
from breadproof.export.stimulus.run import text_of
from breadproof.export.stimulus.sights import Evaluator, Watched
from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.trace import control_text
from breadproof.specs.netlist.model import Control
from breadproof.specs.netlist.segments import shown
from breadproof.verify.report.simulated import Told, display_of
from breadproof.verify.report.timing import Diagram, Row, hexadecimal

EVERY = 400
"""A run of more steps has a column for each entry of the script, and for each of its last steps."""
LAST = 40
ROWS = 40
"""More signals than this are not drawn."""


@dataclass(slots=True)
class Film:
    """The rounds of a run as they come: the ends of all steps of a short run, of a long run those
    of the last; of the last step all rounds."""

    steps: deque[Record] = field(default_factory=lambda: deque(maxlen=EVERY))
    rounds: list[Record] = field(default_factory=list)

    def add(self, record: Record) -> None:
        """One more round."""
        if self.rounds and self.rounds[0].step != record.step:
            self.steps.append(self.rounds[-1])
            self.rounds = []
        self.rounds.append(record)


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """``different`` are the rows and columns of levels that are not what a check wants.

    ``entries``: a column is an entry of the script, but for the last ones.
    """

    picture: Diagram
    different: frozenset[tuple[str, int]]
    entries: bool


def played(told: Told, film: Film) -> Played:
    """The diagram of a run."""
    return _Sketch(told, film).played()


@dataclass(slots=True)
class _Sketch:
    told: Told
    film: Film
    columns: list[Record] = field(default_factory=list)
    evaluator: Evaluator = field(init=False)

    def __post_init__(self) -> None:
        def nothing(memory: int, bit: int, address: int) -> int:
            raise AssertionError("what is drawn reads no memory")

        self.evaluator = Evaluator(self.told.setting.sights, nothing)

    def played(self) -> Played:
        result = self.told.result
        long = result.step >= EVERY
        self.columns = self.of_entries() if long else self.of_steps()
        rows = list({row.label: row for row in self.rows()}.values())
        wrong = len(self.columns) - 1 if result.reason is not Reason.ENDED else -1
        picture = Diagram(
            titles=tuple(self.title(one) for one in self.columns),
            rounds=tuple(range(len(self.columns))),
            rows=tuple(rows[:ROWS]),
            wrong=wrong,
            left_out=max(0, len(rows) - ROWS),
        )
        names = [one.name for one in result.levels if one.expected]
        different = {(name, wrong) for name in names} if wrong >= 0 else set()
        return Played(picture=picture, different=frozenset(different), entries=long)

    # columns ----------------------------------------------------------------------------------

    def of_steps(self) -> list[Record]:
        """The end of each step; of the last step, if something went wrong, all its rounds."""
        rounds = self.film.rounds
        if self.told.result.reason is Reason.ENDED:
            rounds = rounds[-1:]
        return [*self.film.steps, *rounds]

    def of_entries(self) -> list[Record]:
        """The ends of entries, and in the end of steps."""
        steps = [*self.film.steps, *self.film.rounds[-1:]][-LAST:]
        begin = steps[0].step if steps else 0
        kept = (*self.told.result.first, *self.told.result.last)
        ends: dict[int, Record] = {one.step: one for one in kept if one.step < begin}
        return [*ends.values(), *steps]

    def title(self, record: Record) -> str:
        single = sum(one.step == record.step for one in self.columns) == 1
        name = str(record.step) if record.step else "start"
        return name if single else f"{name}.{record.round + 1}"

    # rows -------------------------------------------------------------------------------------

    def rows(self) -> Iterator[Row]:
        yield from self.controls()
        for watched in self.asked():
            yield self.watched(watched)
        yield from self.lamps()

    def controls(self) -> Iterator[Row]:
        """Those that are moved; the ways of a DIP switch together."""
        netlist = self.told.setting.machine.netlist
        moved = [one for one in netlist.controls if self.moves(one)]
        for (kind, _), group in groupby(
            moved, lambda one: (one.kind, one.part if one.kind == "way" else one.name)
        ):
            members = list(group)
            part = netlist.part(members[0].part or "")
            if kind == "way" and part is not None and part.ways > 1:
                ways = [one for one in netlist.controls if one.part == part.name][::-1]
                values = tuple(
                    hexadecimal([str(self.bits(way, one)[0]) for way in ways])
                    for one in self.columns
                )
                label = f"{part.name}[{len(ways)}:1]"
                yield Row(label=label, nets=(), wave=False, values=values)
            else:
                yield self.control(members[0])

    def bits(self, control: Control, record: Record) -> tuple[int, ...]:
        row = self.told.setting.sights.row
        return tuple(
            record.row >> row.control(control.name, bit) & 1 for bit in range(len(control.bits))
        )

    def moves(self, control: Control) -> bool:
        return len({self.bits(control, one) for one in self.columns}) > 1

    def control(self, control: Control) -> Row:
        wave = len(control.bits) == 1
        netlist = self.told.setting.machine.netlist
        values = tuple(
            str(bits[0]) if wave else _short(control_text(netlist, control.name, bits))
            for bits in (self.bits(control, one) for one in self.columns)
        )
        return Row(label=control.name, nets=(), wave=wave, values=values)

    def asked(self) -> Iterator[Watched]:
        """What checks and waiting clocks speak of, and what is watched, lamps aside."""
        lamps = self.told.setting.sights.row.lamps
        known = {watched.name for watched in self.told.setting.watched}
        for one in self.named():
            if one.name not in lamps and one.name not in known and self.drawn(one):
                yield one
        for watched in self.told.setting.watched:
            if watched.name not in lamps and not (watched.words and watched.none == "-"):
                yield watched

    def named(self) -> Iterator[Watched]:
        for condition in self.told.setting.program.conditions:
            yield from (name for name, _, _ in condition.levels)
            yield from condition.named

    def drawn(self, watched: Watched) -> bool:
        """Whether a row of bits says it: no memory is read, nothing is remembered."""
        sights = self.told.setting.sights
        for node in sights.graph.cone(list(watched.nodes)):
            kind = sights.graph.kinds[node]
            if kind is Kind.READ or (kind is Kind.LEAF and node not in sights.places):
                return False
        return True

    def watched(self, watched: Watched) -> Row:
        lit = [display_of(self.told, watched, one) for one in self.columns]
        if None not in lit:
            digits = tuple(shown(one) for one in lit if one is not None)
            return Row(label=watched.name, nets=(), wave=False, values=digits)
        wave = len(watched.nodes) == 1 and not watched.words
        texts = (text_of(watched, self.evaluator, one.row) for one in self.columns)
        values = tuple(text[-1] if wave else _short(text) for text in texts)
        return Row(label=watched.name, nets=(), wave=wave, values=values)

    def is_display(self, watched: Watched) -> bool:
        part = self.told.setting.machine.netlist.part(watched.name)
        return part is not None and part.device == "display"

    def lamps(self) -> Iterator[Row]:
        """The lamps that change, or are named; the segments of a display that is shown aside."""
        named = {one.name for one in (*self.named(), *self.told.setting.watched)}
        digits = tuple(f"{one.name}[" for one in self.told.setting.watched if self.is_display(one))
        for name, place in self.told.setting.sights.row.lamps.items():
            values = tuple(str(one.row >> place & 1) for one in self.columns)
            changes = len(set(values)) > 1 and not name.startswith(digits)
            if changes or name in named:
                yield Row(label=name, nets=(), wave=True, values=values)


def _short(text: str) -> str:
    """``8'hA5`` as ``A5``."""
    return text.partition("'")[2][1:] if "'" in text else text


def lit_lamps(told: Told, film: Film) -> frozenset[str]:
    """The names of the lamps that shine when the run is over."""
    if not film.rounds:
        return frozenset()
    row = film.rounds[-1].row
    return frozenset(
        name for name, place in told.setting.sights.row.lamps.items() if row >> place & 1
    )
