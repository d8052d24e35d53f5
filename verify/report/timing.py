"""The timing diagram in text: a column a step, and one a round where it matters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from breadproof.specs.machine.trace import control_text
from breadproof.specs.netlist.bouncing import finger_of
from breadproof.specs.netlist.model import ChipSwitch, Control, Vector
from breadproof.specs.netlist.segments import shown as displayed
from breadproof.verify.report.culprits import Story
from breadproof.verify.report.page import Page
from breadproof.verify.report.replay import DONT_CARE, FIGHT, FLOAT, Replay

MAX_ROWS = 24
"""More rows than this are not drawn; the trace (``--json``, ``--trace-dir``) has all nets."""
MANY = 4
"""So many columns in a row that are alike are drawn as one."""
MOST_BITS = 16
"""A longer vector is never written bit by bit."""
_LABEL = 22
_ASCII = {"0": "_", "1": "-", "01": "/", "10": "\\", FIGHT: "X", FLOAT: ".", DONT_CARE: "~"}
_DRAWN = {
    "0": "\N{LOWER ONE EIGHTH BLOCK}",
    "1": "\N{UPPER ONE EIGHTH BLOCK}",
    "01": "\N{BOX DRAWINGS LIGHT DIAGONAL UPPER RIGHT TO LOWER LEFT}",
    "10": "\N{BOX DRAWINGS LIGHT DIAGONAL UPPER LEFT TO LOWER RIGHT}",
    FIGHT: "\N{BOX DRAWINGS LIGHT DIAGONAL CROSS}",
    FLOAT: "\N{BOX DRAWINGS LIGHT TRIPLE DASH HORIZONTAL}",
    DONT_CARE: "\N{BOX DRAWINGS LIGHT HORIZONTAL}",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of the diagram; ``nets`` are those it shows, most significant first.

    ``wave``: each value is "0", "1", `FIGHT`, `FLOAT` or `DONT_CARE`; otherwise it is a text.
    """

    label: str
    nets: tuple[int, ...]
    wave: bool
    values: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagram:
    """Rows over columns; ``titles`` and ``rounds`` (of the run) belong to the columns."""

    titles: tuple[str, ...]
    rounds: tuple[int, ...]
    rows: tuple[Row, ...]
    wrong: int
    left_out: int


@dataclass(slots=True)
class _Sketch:
    story: Story
    run: Replay = field(init=False)

    def __post_init__(self) -> None:
        self.run = self.story.run

    # rows -------------------------------------------------------------------------------------

    def controls(self) -> list[Control]:
        """Those that move in the run, that the formula names, or that a chain begins with."""
        run, netlist = self.run, self.run.machine.netlist
        named = set(self.story.cast.controls)
        named |= {chain[0].start for chain in self.story.chains if chain[0].kind == "control"}
        found: list[Control] = []
        for control in netlist.controls:
            positions = {self.bits(control, at) for at in run.last}
            if len(positions) > 1 or control.name in named:
                found.append(control)
        return found

    def bits(self, control: Control, at: int) -> tuple[int, ...]:
        nodes = self.run.machine.controls[control.name]
        return tuple(self.run.level(node, at) for node in nodes)

    def idle(self, control: Control, at: int) -> bool:
        return self.run.idle(control.name, self.run.instants[at].step)

    def level(self, control: Control, at: int) -> str:
        """The level of a control of one bit, or that it does not matter."""
        return DONT_CARE if self.idle(control, at) else str(self.bits(control, at)[0])

    def nets(self, controls: list[Control]) -> list[int]:
        """Nets in the order of the story: input ports, contacts that bounce, the chains, then what
        is named."""
        netlist = self.run.machine.netlist
        index = {net.name: net.index for net in netlist.nets}
        found = [index[bit] for c in controls if c.kind == "in" for bit in c.bits]
        found += [net for c in controls for net in self.bouncing(c)]
        found += [link.spot.net for chain in self.story.chains for link in chain]
        found += list(self.story.cast.nets)
        return [net for net in dict.fromkeys(found) if netlist.nets[net].rail is None]

    def bouncing(self, control: Control) -> list[int]:
        """The nets that move at a contact whose bounces these are; none for other controls."""
        run = self.run
        if not finger_of(control.part or ""):
            return []
        ends = [
            net
            for contact in run.machine.netlist.contacts
            if isinstance(contact.closing, ChipSwitch) and contact.closing.part == control.part
            for net in (contact.a, contact.b)
        ]
        return [n for n in ends if any(run.moved(n, at) for at in range(1, len(run.instants)))]

    def rows(self) -> list[Row]:
        controls = self.controls()
        vectors = {net: v for v in self.run.machine.netlist.vectors for net in v.nets}
        rows = self.control_rows(controls)
        done: set[str] = set()
        for net in self.nets(controls):
            vector = vectors.get(net)
            name = vector.name if vector else self.run.machine.netlist.nets[net].name
            if name not in done:
                done.add(name)
                rows.append(net_row(self.run, net, vector))
        rows += [self.store_row(label) for label in self.story.cast.stores]
        return rows + self.display_rows({net for row in rows for net in row.nets})

    def control_rows(self, controls: list[Control]) -> list[Row]:
        """One row a control; a DIP switch of which every way is shown is one row."""
        rows: list[Row] = []
        done: set[str] = set()
        for control in controls:
            ways = [c for c in controls if c.kind == "way" and c.part == control.part]
            part = self.run.machine.netlist.part(control.part or "")
            if control.kind == "way" and part is not None and len(ways) == part.ways > 1:
                if part.name not in done:
                    done.add(part.name)
                    rows.append(self.ways_row(part.name, ways))
            elif control.kind not in ("in", "moment"):
                rows.append(self.control_row(control))
        return rows

    def ways_row(self, name: str, ways: list[Control]) -> Row:
        """A DIP switch as a formula reads it: the last way first, 1 where one is closed."""
        values = tuple(
            hexadecimal([self.level(way, at) for way in reversed(ways)])
            for at in range(len(self.run.instants))
        )
        return Row(label=f"{name}[{len(ways)}:1]", nets=(), wave=False, values=values)

    def control_row(self, control: Control) -> Row:
        everywhere = range(len(self.run.instants))
        bits = [self.bits(control, at) for at in everywhere]
        if control.kind in ("button", "way", "oscillator", "jumper"):
            values = tuple(self.level(control, at) for at in everywhere)
            return Row(label=control.name, nets=(), wave=True, values=values)
        label = f"{control.name} outside" if control.kind == "both" else control.name
        netlist = self.run.machine.netlist
        texts = tuple(
            DONT_CARE
            if self.idle(control, at)
            else _short(control_text(netlist, control.name, one))
            for at, one in enumerate(bits)
        )
        return Row(label=label, nets=(), wave=False, values=texts)

    def store_row(self, label: str) -> Row:
        leaves = [
            store.leaf
            for store in reversed(self.run.machine.stores)
            if f"{store.part}.{store.storage}" == label
        ]
        everywhere = range(len(self.run.instants))
        texts = tuple(
            hexadecimal([str(self.run.level(leaf, at)) for leaf in leaves]) for at in everywhere
        )
        return Row(label=label, nets=(), wave=len(leaves) == 1, values=texts)

    def display_rows(self, shown: set[int]) -> list[Row]:
        """The displays whose segments hang on nets that are shown: what they show."""
        run, netlist = self.run, self.run.machine.netlist
        names = [
            part.name
            for part in netlist.parts
            if part.device == "display"
            and any({x.anode, x.cathode} & shown for x in netlist.lamps if x.part == part.name)
        ]
        if not names:
            return []
        return [
            Row(
                label=name,
                nets=(),
                wave=False,
                values=tuple(self.digit(name, at) for at in range(len(run.instants))),
            )
            for name in names
        ]

    def digit(self, name: str, at: int) -> str:
        """What a display shows in a round; a segment one of whose ends floats is dark."""
        lamps = self.run.machine.lamps
        lit = (lamp for lamp, node in lamps.items() if self.run.level(node, at))
        own = [lamp for lamp in lit if lamp.startswith(f"{name}[")]
        return displayed([lamp.partition("[")[2].removesuffix("]") for lamp in own])

    # columns ----------------------------------------------------------------------------------

    def columns(self, rows: Sequence[Row]) -> list[int]:
        """The rounds that are drawn: of each step the last, and those that show more."""
        run, chosen = self.run, list[int]()
        for first, last in zip(run.first, run.last, strict=True):
            if last not in (len(run.instants) - 1, self.story.at) and not self.passing(
                rows, first, last
            ):
                chosen.append(last)
                continue
            for at in range(first, last + 1):
                same = at < last and all(row.values[at] == row.values[at + 1] for row in rows)
                if not same or at == self.story.at:
                    chosen.append(at)
        return self.joined(rows, chosen)

    def joined(self, rows: Sequence[Row], chosen: Sequence[int]) -> list[int]:
        """Of many steps in a row that show the same the last; it stands for them all."""
        steps = [self.run.instants[at].step for at in chosen]
        plain = [steps.count(step) == 1 and step > 0 for step in steps]
        found: list[int] = []
        begin = 0
        for place, at in enumerate(chosen):
            after = chosen[place + 1 : place + 2]
            goes_on = after and plain[place] and plain[place + 1] and after[0] != self.story.at
            if goes_on and all(row.values[at] == row.values[after[0]] for row in rows):
                continue
            many = place - begin + 1 >= MANY
            found += [at] if many else chosen[begin : place + 1]
            begin = place + 1
        return found

    def passing(self, rows: Sequence[Row], first: int, last: int) -> bool:
        """Whether a row does something within a step that its end does not show."""
        start = max(0, first - 1)
        for row in rows:
            levels = row.values[start : last + 1]
            if sum(a != b for a, b in pairwise(levels)) > 1:
                return True
        return False

    def title(self, at: int, chosen: Sequence[int]) -> str:
        """The step, and of one of several columns its round; of rounds, and of steps, that show the
        same, both ends (``2.2-4``, ``3-44``)."""
        here = self.run.instants[at]
        siblings = [k for k in chosen if self.run.instants[k].step == here.step]
        name = "start" if here.step == 0 else str(here.step)
        if len(siblings) == 1:
            before = max((self.run.instants[k].step for k in chosen if k < at), default=-1)
            return name if here.step - before <= 1 else f"{before + 1}-{name}"
        first = max((k + 1 for k in siblings if k < at), default=self.run.first[here.step])
        since = self.run.instants[first].round
        return f"{name}.{since + 1}" + (f"-{here.round + 1}" if since < here.round else "")


def net_row(run: Replay, net: int, vector: Vector | None) -> Row:
    """The row of a net in all rounds of a run, or of the vector that it belongs to."""
    everywhere = range(len(run.instants))
    if vector is None:
        name = run.machine.netlist.nets[net].name
        values = tuple(run.net(net, at) for at in everywhere)
        return Row(label=name, nets=(net,), wave=True, values=values)
    values = tuple(levels_of([run.net(bit, at) for bit in vector.nets]) for at in everywhere)
    label = f"{vector.name}[{vector.left}:{vector.right}]"
    return Row(label=label, nets=vector.nets, wave=False, values=values)


def shown_controls(story: Story) -> list[Control]:
    """The controls that a story tells of."""
    return _Sketch(story).controls()


def control_rows(story: Story) -> list[Row]:
    """Their rows in all rounds of the run."""
    sketch = _Sketch(story)
    return sketch.control_rows(sketch.controls())


def _short(text: str) -> str:
    """``8'hA5`` as ``A5``; a port that nobody drives from outside as ``none``."""
    if text == "released":
        return "none"
    return text.partition("'")[2][1:] if "'" in text else text


def levels_of(bits: Sequence[str]) -> str:
    """The same, but bit by bit (``b0Z1Z``) where a digit would hide levels: a bus that is half
    driven, segments that are pulled low one by one. A long vector keeps its digits."""
    digits = [set(bits[max(0, end - 4) : end]) for end in range(len(bits), 0, -4)]
    mixed = any(len(digit) > 1 and digit & {FIGHT, FLOAT} for digit in digits)
    return f"b{''.join(bits)}" if mixed and len(bits) <= MOST_BITS else hexadecimal(bits)


def hexadecimal(bits: Sequence[str]) -> str:
    """Levels, most significant first, as hexadecimal digits; a digit with a fight is X (Z, -)."""
    padded = ["0"] * (-len(bits) % 4) + list(bits)
    digits: list[str] = []
    for place in range(0, len(padded), 4):
        group = padded[place : place + 4]
        odd = next((level for level in (FIGHT, FLOAT, DONT_CARE) if level in group), "")
        digits.append(odd or f"{int(''.join(group), 2):X}")
    return "".join(digits)


def diagram(story: Story) -> Diagram:
    """The rows and columns in which a story is drawn."""
    sketch = _Sketch(story)
    rows = sketch.rows()
    shown = rows[:MAX_ROWS]
    chosen = sketch.columns(shown)
    return Diagram(
        titles=tuple(sketch.title(at, chosen) for at in chosen),
        rounds=tuple(chosen),
        rows=tuple(shown),
        wrong=story.at,
        left_out=len(rows) - len(shown),
    )


def draw(picture: Diagram, page: Page, indent: str) -> list[str]:
    """The diagram as lines that fit the page, in blocks of columns if there are many."""
    label = min(_LABEL, max((len(row.label) for row in picture.rows), default=0))
    cell = 2 + max(
        [4, *(len(title) for title in picture.titles)]
        + [len(row.values[at]) for row in picture.rows if not row.wave for at in picture.rounds]
    )
    columns = max(1, (page.width - len(indent) - label - 2) // cell)
    lines: list[str] = []
    for start in range(0, len(picture.rounds), columns):
        if lines:
            lines.append("")
        lines += _block(picture, page, indent, range(start, start + columns), (label, cell))
    return lines + _legend(picture, page, indent)


def _block(
    picture: Diagram, page: Page, indent: str, wanted: range, sizes: tuple[int, int]
) -> list[str]:
    label, cell = sizes
    places = [place for place in wanted if place < len(picture.rounds)]
    head = "".join(picture.titles[place].ljust(cell) for place in places)
    lines = [f"{indent}{'':<{label}}  {head}".rstrip()]
    signs = _DRAWN if page.drawing else _ASCII
    for row in picture.rows:
        name = row.label if len(row.label) <= label else f"{row.label[: label - 1]}~"
        cells = "".join(_cell(row, picture, place, cell, signs) for place in places)
        lines.append(f"{indent}{name:<{label}}  {cells}".rstrip())
    if picture.wrong in [picture.rounds[place] for place in places]:
        place = picture.rounds.index(picture.wrong) - places[0]
        mark = page.paint("^" * (cell - 1), "red")
        lines.append(f"{indent}{'':<{label}}  {' ' * (cell * place)}{mark}")
    return lines


def _cell(row: Row, picture: Diagram, place: int, width: int, signs: dict[str, str]) -> str:
    now = row.values[picture.rounds[place]]
    before = row.values[picture.rounds[place - 1]] if place > 0 else now
    if not row.wave:
        return f"{'|' if now != before else ' '}{now}".ljust(width)
    first = signs.get(before + now, signs[now])
    return first + signs[now] * (width - 1)


def _idle(row: Row, at: int) -> bool:
    """Whether a row shows something that does not matter; of a DIP switch some digits may."""
    value = row.values[at]
    return value == DONT_CARE or (row.label.endswith(":1]") and not row.nets and DONT_CARE in value)


def _legend(picture: Diagram, page: Page, indent: str) -> list[str]:
    signs = _DRAWN if page.drawing else _ASCII
    shown = {
        sign
        for row in picture.rows
        for at in picture.rounds
        for sign in (FIGHT, FLOAT)
        if (row.values[at] == sign if row.wave else sign in row.values[at] and row.nets)
    }
    words: list[str] = []
    if FIGHT in shown:
        words.append(f"{signs[FIGHT] * 3} or a digit X: two drive it")
    if FLOAT in shown:
        words.append(f"{signs[FLOAT] * 3} or a digit Z: nobody drives it")
    if any(_idle(row, at) for row in picture.rows for at in picture.rounds):
        words.append(f"{signs[DONT_CARE] * 3} or {DONT_CARE}: does not matter")
    if picture.left_out:
        words.append(f"{picture.left_out} more rows are in the trace (--json, --trace-dir)")
    return [f"{indent}{'; '.join(words)}"] if words else []
