"""The two runs of a difference as one diagram: a row where both go alike, else one above the other.

A column is a step, as in the diagram of one run; where the runs part, and in the last step, each
round has its own. A board that is quiet sooner stays as it is until the other one is quiet, too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from breadproof.specs.netlist.model import Net, Netlist, Vector
from breadproof.verify.pictures.waves import Mark
from breadproof.verify.report.culprits import Story, tell_of
from breadproof.verify.report.replay import FLOAT, Replay, replay
from breadproof.verify.report.timing import Diagram, Row, control_rows, net_row
from breadproof.verify.revisions.apart import Difference
from breadproof.verify.revisions.compare import Compared
from breadproof.verify.revisions.items import Item
from breadproof.verify.revisions.spread import Passed, spread

MOST = 30
"""More signals than this are not drawn; ``--json`` has both runs."""
SIDES = ("old", "new")

Values = tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """Something that is shown of both boards, or of one; labels, nets and values by board.

    Values are by round of the board's run, or None where the board does not have it.
    """

    labels: tuple[str, str]
    nets: tuple[tuple[int, ...], tuple[int, ...]]
    wave: bool
    values: tuple[Values | None, Values | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class PairDiagram:
    """``picture`` has the rows in columns; its rounds are columns, too. ``different`` are rows and
    columns in which the boards differ. ``way`` is how the difference spreads, ``marks`` are its
    places in the diagram; ``stories`` tell of either board's run."""

    picture: Diagram
    different: frozenset[tuple[str, int]]
    way: tuple[Passed, ...]
    marks: tuple[Mark, ...]
    stories: tuple[Story, Story]


def pair_diagram(compared: Compared, found: Difference) -> PairDiagram:
    """The diagram of a difference that was found, whose runs were walked."""
    assert compared.runs is not None, "a difference has its runs"
    runs = (
        replay(compared.runs[0].machine, found.old),
        replay(compared.runs[1].machine, found.new),
    )
    items = [item for item in compared.items if item.name in found.items]
    return _Sketch(compared, runs, items).diagram()


@dataclass(slots=True)
class _Sketch:
    compared: Compared
    runs: tuple[Replay, Replay]
    items: list[Item]
    stories: tuple[Story, Story] = field(init=False)
    way: tuple[Passed, ...] = ()
    columns: list[tuple[int, int, int, int]] = field(default_factory=list)
    """Step, round in it, round of the old run, round of the new one."""
    rows: dict[tuple[int, str], str] = field(default_factory=dict)
    """The row of a signal, by board and the signal's label there."""
    nets: dict[tuple[int, int], str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.stories = (self.story(0), self.story(1))
        where, runs = self.compared.parting, self.compared.runs
        if where is not None and runs is not None:
            seen = [net for item in self.items for net in self.nets_of(item, 0)]
            self.way = spread(self.compared.matching, runs, where, seen)

    def diagram(self) -> PairDiagram:
        signals = list(self.signals())
        shown = signals[:MOST]
        every = list(self.every_column())
        self.columns = [c for k, c in enumerate(every) if self.kept(shown, every, k)]
        rows = [row for signal in shown for row in self.rows_of(signal)]
        picture = Diagram(
            titles=tuple(self.title(step, number) for step, number, _, _ in self.columns),
            rounds=tuple(range(len(self.columns))),
            rows=tuple(rows),
            wrong=self.first_difference(),
            left_out=len(signals) - len(shown),
        )
        return PairDiagram(
            picture=picture,
            different=frozenset(self.different(shown)),
            way=self.way,
            marks=tuple(self.marks()),
            stories=self.stories,
        )

    # what is told of --------------------------------------------------------------------------

    def story(self, side: int) -> Story:
        """How what differs comes to be as it is on one board."""
        run = self.runs[side]
        nets = list(dict.fromkeys(net for item in self.items for net in self.nets_of(item, side)))
        where = self.compared.parting
        if nets or where is None:
            return tell_of(run, nets, len(run.instants) - 1)
        own = [p.net for p in self.netlist(side).pins() if p.label == where.pins[side]]
        return tell_of(run, [net for net in own if net is not None], len(run.instants) - 1)

    def netlist(self, side: int) -> Netlist:
        return self.runs[side].machine.netlist

    def nets_of(self, item: Item, side: int) -> list[int]:
        """The nets that show an item."""
        what = (item.old, item.new)[side]
        if item.kind == "memory":
            part = self.netlist(side).part(self.runs[side].machine.memories[int(what[0])].part)
            pins = () if part is None else part.pins
            nets = [pin.net for pin in pins if pin.kind.reads and pin.net is not None]
            return [net for net in nets if self.parted_late(side, net)]
        if item.kind != "lamp":
            return [int(net) for net in what]
        netlist = self.netlist(side)
        lamp = next(one for one in netlist.lamps if one.name == what[0])
        ends = (lamp.anode, lamp.cathode)
        return [net for net in ends if netlist.nets[net].rail is None]

    def parted_late(self, side: int, net: int) -> bool:
        """Whether a net differs in some round of the last step, in which a memory took it in."""
        matching = self.compared.matching
        other = (matching.nets, matching.nets_back)[side].get(net)
        if other is None or self.net(side, net).rail is not None:
            return False
        pair = (net, other) if side == 0 else (other, net)
        last = len(self.runs[0].last) - 1
        return any(
            self.runs[0].net(pair[0], one) != self.runs[1].net(pair[1], two)
            for step, _, one, two in self.every_column()
            if step == last
        )

    # signals ----------------------------------------------------------------------------------

    def signals(self) -> Iterator[Signal]:
        yield from self.controls()
        yield from self.first_pin()
        yield from self.net_signals()
        yield from self.lamps()

    def controls(self) -> Iterator[Signal]:
        """Controls stand alike on both boards; those that one board alone has are its own."""
        new = {row.label: row for row in control_rows(self.stories[1])}
        for row in control_rows(self.stories[0]):
            label = self.renamed(row.label)
            other = new.pop(label, None)
            labels = (row.label, label if other is not None else row.label)
            yield Signal(
                labels=labels, nets=((), ()), wave=row.wave,
                values=(row.values, None if other is None else other.values),
            )  # fmt: skip
        for label, row in new.items():
            yield Signal(
                labels=(label, label), nets=((), ()), wave=row.wave, values=(None, row.values)
            )

    def renamed(self, label: str) -> str:
        """A control's label as the new board has it."""
        head, bracket, rest = label.partition("[")
        return self.compared.matching.parts.get(head, head) + bracket + rest

    def first_pin(self) -> Iterator[Signal]:
        """What the first pin that differs reads on both."""
        where = self.compared.parting
        if where is None:
            return
        values = (self.pin_values(0, where.pins[0]), self.pin_values(1, where.pins[1]))
        if values[0] is not None and values[1] is not None:
            yield Signal(labels=where.pins, nets=((), ()), wave=True, values=values)

    def pin_values(self, side: int, label: str) -> Values | None:
        run = self.runs[side]
        pin = run.machine.pins.get(label)
        if pin is None:
            return None
        return tuple(
            str(run.level(pin.level, at)) if run.level(pin.known, at) else FLOAT
            for at in range(len(run.instants))
        )

    def net_signals(self) -> Iterator[Signal]:
        """The nets by which the difference spreads, those on the chains of both boards, and those
        that differ in the end."""
        matching = self.compared.matching
        told: dict[tuple[int | None, int | None], None] = {
            (one.net, matching.nets[one.net]): None for one in self.way
        }
        for story in (0, 1):
            links = [link for chain in self.stories[story].chains for link in chain]
            nets = [link.spot.net for link in links] + list(self.stories[story].cast.nets)
            for net in nets:
                old = net if story == 0 else matching.nets_back.get(net)
                told[old, net if story else matching.nets.get(net)] = None
        seen: set[tuple[str, str]] = set()
        for pair in told:
            rows = [self.net_row(side, net) for side, net in enumerate(pair)]
            if all(row is None for row in rows):
                continue
            one, two = rows
            shown = one or two
            assert shown is not None, "one of the boards has it"
            labels = ((one or shown).label, (two or shown).label)
            if labels in seen:
                continue
            seen.add(labels)
            yield Signal(
                labels=labels,
                nets=(one.nets if one else (), two.nets if two else ()),
                wave=shown.wave,
                values=(one.values if one else None, two.values if two else None),
            )

    def net_row(self, side: int, net: int | None) -> Row | None:
        netlist = self.netlist(side)
        if net is None or self.net(side, net).rail is not None:
            return None
        return net_row(self.runs[side], net, _vector(netlist, net))

    def net(self, side: int, net: int) -> Net:
        return self.netlist(side).nets[net]

    def lamps(self) -> Iterator[Signal]:
        for item in self.items:
            if item.kind == "lamp":
                names = str(item.old[0]), str(item.new[0])
                yield Signal(
                    labels=(f"{names[0]} lit", f"{names[1]} lit"),
                    nets=((), ()),
                    wave=True,
                    values=(self.lamp_values(0, names[0]), self.lamp_values(1, names[1])),
                )

    def lamp_values(self, side: int, name: str) -> Values:
        run = self.runs[side]
        node = run.machine.lamps[name]
        return tuple(str(run.level(node, at)) for at in range(len(run.instants)))

    # columns ----------------------------------------------------------------------------------

    def every_column(self) -> Iterator[tuple[int, int, int, int]]:
        one, two = self.runs
        where = self.compared.parting
        last = len(one.last) - 1
        fine = {last} if where is None else {last, where.step}
        for step in range(len(one.last)):
            starts = one.first[step], two.first[step]
            counts = one.last[step] - starts[0] + 1, two.last[step] - starts[1] + 1
            number = 0 if step in fine else max(counts) - 1
            for k in range(number, max(counts)):
                yield step, k, starts[0] + min(k, counts[0] - 1), starts[1] + min(k, counts[1] - 1)

    def kept(
        self, signals: Sequence[Signal], every: list[tuple[int, int, int, int]], place: int
    ) -> bool:
        """Whether a column shows more than the one behind it; the last of each step does."""
        here = every[place]
        where = self.compared.parting
        if place + 1 == len(every) or every[place + 1][0] != here[0]:
            return True
        if where is not None and here[:2] == (where.step, where.round):
            return True
        after = every[place + 1]
        return any(
            values[here[2 + side]] != values[after[2 + side]]
            for signal in signals
            for side, values in enumerate(signal.values)
            if values is not None
        )

    def title(self, step: int, number: int) -> str:
        name = str(step) if step else "start"
        shown = [one[1] for one in self.columns if one[0] == step]
        if len(shown) == 1:
            return name
        since = max((one + 1 for one in shown if one < number), default=0)
        return f"{name}.{since + 1}" + (f"-{number + 1}" if since < number else "")

    def first_difference(self) -> int:
        """The column in which the runs part, or is not what was before, or else the last."""
        where, shown = self.compared.parting, self.compared.shown
        if shown is not None:
            return max(k for k, column in enumerate(self.columns) if column[0] == shown.new)
        if where is not None:
            for place, (step, number, _, _) in enumerate(self.columns):
                if (step, number) >= (where.step, where.round):
                    return place
        return len(self.columns) - 1

    # rows -------------------------------------------------------------------------------------

    def in_columns(self, signal: Signal, side: int) -> Values | None:
        values = signal.values[side]
        return None if values is None else tuple(values[one[2 + side]] for one in self.columns)

    def rows_of(self, signal: Signal) -> Iterator[Row]:
        """One row if both go alike, or only one board has it; else two."""
        both = self.in_columns(signal, 0), self.in_columns(signal, 1)
        old, new = signal.labels
        if both[0] == both[1]:
            labels = [old if old == new else f"{old} = {new}"] * 2
            sides = [0]
        else:
            sides = [side for side in (0, 1) if both[side] is not None]
            labels = [f"{signal.labels[side]} {SIDES[side]}" for side in (0, 1)]
            if len(sides) == 1 and not signal.nets[sides[0]]:
                labels = [signal.labels[sides[0]]] * 2  # a control that both stand alike with
        for side in (0, 1):
            self.rows[side, signal.labels[side]] = labels[side]
            for net in signal.nets[side]:
                self.nets[side, net] = labels[side]
        for side in sides:
            values = both[side]
            assert values is not None, "a side that is drawn has values"
            yield Row(label=labels[side], nets=signal.nets[side], wave=signal.wave, values=values)

    def different(self, signals: Sequence[Signal]) -> Iterator[tuple[str, int]]:
        """The cells that differ in a column; where the new board is later, the two moments that are
        not alike."""
        if self.compared.shown is not None:
            yield from self.not_alike()
            return
        for signal in signals:
            one, two = self.in_columns(signal, 0), self.in_columns(signal, 1)
            if one is None or two is None:
                continue
            for place, (a, b) in enumerate(zip(one, two, strict=True)):
                if a != b:
                    yield from ((self.rows[side, signal.labels[side]], place) for side in (0, 1))

    def not_alike(self) -> Iterator[tuple[str, int]]:
        """What was to be alike: at one moment on the old board, at a later one on the new one."""
        shown = self.compared.shown
        assert shown is not None, "the new board is later"
        for side, step in ((0, shown.old), (1, shown.new)):
            place = max(k for k, column in enumerate(self.columns) if column[0] == step)
            for item in self.items:
                lamps = [f"{(item.old, item.new)[side][0]} lit"] if item.kind == "lamp" else []
                rows = [self.nets.get((side, net), "") for net in self.nets_of(item, side)]
                rows += [self.rows.get((side, lamp), "") for lamp in lamps]
                yield from ((row, place) for row in dict.fromkeys(rows) if row)

    # the way ----------------------------------------------------------------------------------

    def marks(self) -> Iterator[Mark]:
        """A number for each net on the way, where it differs first."""
        for number, one in enumerate(self.way, 1):
            places = (k for k, column in enumerate(self.columns) if column[:2] >= one.at)
            yield Mark(
                number=number,
                row=self.nets.get((0, one.net), ""),
                at=next(places, len(self.columns) - 1),
                source=number - 1,
                start=self.first_row() if number == 1 else "",
            )

    def first_row(self) -> str:
        """The row of the first pin that differs, on the old board."""
        where = self.compared.parting
        return "" if where is None else self.rows.get((0, where.pins[0]), "")


def _vector(netlist: Netlist, net: int) -> Vector | None:
    return next((vector for vector in netlist.vectors if net in vector.nets), None)
