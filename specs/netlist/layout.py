"""Which leg stands in which hole, and what each wire joins: places in the file, looked up.

What cannot be is bad input: a hole that is not there or holds two legs, a part on top of another, a
chip that is not across the trench.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from breadproof.specs.breadboard.footprints import Offset, footprint
from breadproof.specs.breadboard.geometry import (
    COLUMNS,
    LOWER,
    UPPER,
    Breadboard,
    Hole,
    NoHole,
    across,
    find,
)
from breadproof.specs.breadboard.model import End, Layout, Leg, NetEnd, PinEnd, Place, Wire
from breadproof.specs.netlist.model import Part
from breadproof.specs.reading.board import Board, PartEntry
from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.wires import WireEntry
from breadproof.specs.reading.yamltree import Rows, Text, Tree, near

PLACING = ("at", "rotated")
"""Options of any part that say where it stands."""


def lay_out(
    board: Board, parts: Mapping[str, Part], nets: frozenset[str], problems: Problems
) -> Layout:
    """The layout of a board file; ``nets`` are the names that a wire may end at."""
    return _Planner(board, parts, nets, problems).layout()


@dataclass(slots=True)
class _Planner:
    file: Board
    parts: Mapping[str, Part]
    nets: frozenset[str]
    problems: Problems
    boards: dict[str, Breadboard] = field(default_factory=dict)
    held: dict[Hole, tuple[str, Span]] = field(default_factory=dict)
    """What is in each hole."""
    covered: dict[tuple[str, int], tuple[str, Span]] = field(default_factory=dict)
    """The part across the trench, by breadboard and column."""

    def layout(self) -> Layout:
        self.read_boards()
        legs = [leg for entry in self.file.parts for leg in self.placed(entry)]
        wires = [wire for entry in self.file.wires if (wire := self.wire(entry)) is not None]
        names = [
            (entry.name.value, end, entry.name.span)
            for entry in self.file.names
            if (end := self.end(entry.place)) is not None
        ]
        return Layout(
            boards=tuple(self.boards.values()),
            legs=tuple(legs),
            wires=tuple(wires),
            names=tuple(names),
        )

    def read_boards(self) -> None:
        for entry in self.file.breadboards:
            name = entry.name.value
            columns = COLUMNS.get(entry.tie_points.value)
            if columns is None:
                self.problems.error(
                    "breadboard-size",
                    f"there is no breadboard of {entry.tie_points.value} tie points",
                    entry.tie_points.span,
                    hint=f"They have {' or '.join(COLUMNS)}: 63 or 30 columns.",
                )
            if name in self.parts:
                self.problems.error(
                    "name-twice",
                    f"'{name}' names two things",
                    entry.name.span,
                    hint="A breadboard and a part cannot have one name; rename one.",
                    related=(("first here", self.parts[name].span),),
                )
            split = entry.rails is not None and entry.rails.value == "split"
            self.boards[name] = Breadboard(name=name, columns=columns or 63, split=split)

    # parts ------------------------------------------------------------------------------------

    def placed(self, entry: PartEntry) -> Iterator[Leg]:
        options = {key.value: (key, value) for key, value in entry.options}
        part = self.parts.get(entry.name.value)
        if part is None or "at" not in options:
            if part is not None and "rotated" in options:
                self.bad(
                    f"{part.name} is rotated, and stands nowhere",
                    options["rotated"][0].span,
                    "Say where pin 1 is: 'at: b1.e5'.",
                )
            return
        where = options["at"][1]
        legs = footprint(part.type, part.device, part.ways, part.isolated)
        if isinstance(where, Rows):
            yield from self.by_holes(part, where, legs is not None)
        elif isinstance(where, Text) and legs is not None:
            turned = self.flag(options.get("rotated", (None, None))[1])
            yield from self.by_footprint(part, where, legs, turned)
        elif isinstance(where, Text):
            pins = len(part.pins)
            self.bad(
                f"{part.name} needs a hole for each of its {pins} pins",
                where.span,
                "List them in the order of its pins: 'at: [b1.a5, b1.a12]'.",
            )
        else:
            self.bad(f"{part.name} stands nowhere", where.span, "Write 'at: b1.e5'.")

    def flag(self, tree: Tree | None) -> bool:
        if tree is None or (isinstance(tree, Text) and tree.value in ("true", "false")):
            return isinstance(tree, Text) and tree.value == "true"
        self.bad("'rotated' is true or false", tree.span, "Write 'rotated: true'.")
        return False

    def by_holes(self, part: Part, where: Rows, has_form: bool) -> Iterator[Leg]:
        if has_form or len(where.items) != len(part.pins):
            way = (
                f"Its legs are fixed: write the hole of pin {part.pins[0].number} alone."
                if has_form
                else "List a hole for each pin, in their order."
            )
            self.bad(
                f"{part.name} has {len(part.pins)} pins, and {len(where.items)} holes stand here",
                where.span,
                way,
            )
            return
        for pin, item in zip(part.pins, where.items, strict=True):
            if not isinstance(item, Text):
                self.bad("a hole is expected here", item.span, "Write it as b1.a5.")
                continue
            place = self.place(item)
            if place is not None:
                yield from self.leg(part, pin.number, place, item.span)

    def by_footprint(
        self, part: Part, where: Text, legs: Mapping[str, Offset], turned: bool
    ) -> Iterator[Leg]:
        first = self.place(where)
        if first is None:
            return
        over = max(offset for _, offset in legs.values())
        if not isinstance(first, Hole):
            self.bad(f"{part.name} cannot stand on a rail", where.span, "Name a hole of the field.")
            return
        if over and (first.row in LOWER) == turned:
            way = (
                "Take 'rotated' away, or put pin 1 into rows f to j."
                if turned
                else "Put pin 1 into rows a to e, or write 'rotated: true'."
            )
            self.bad(
                f"with pin 1 in {first.label} the notch of {part.name} is towards column "
                f"{1 if turned else self.boards[first.board].columns}",
                where.span,
                way,
            )
            return
        sign = -1 if turned else 1
        columns = self.boards[first.board].columns
        found: list[tuple[str, Hole]] = []
        for number, (along, across_by) in legs.items():
            row = across(first.row, sign * across_by)
            column = first.column + sign * along
            if row is None or (over and across_by and (row in LOWER) == (first.row in LOWER)):
                self.bad(
                    f"{part.name} in {first.label} is not across the trench",
                    where.span,
                    f"Its rows are 0.{over} inch apart: put pin 1 into row "
                    f"{self.good_rows(over, turned)}.",
                )
                return
            if not 1 <= column <= columns:
                self.bad(
                    f"{part.name} in {first.label} does not end on '{first.board}': "
                    f"pin {number} would be in column {column}",
                    where.span,
                    f"Its columns are 1 to {columns}.",
                )
                return
            found.append((number, Hole(first.board, row, column)))
        if over:
            self.cover(part, first.board, [hole.column for _, hole in found], where.span)
        for number, hole in found:
            yield from self.leg(part, number, hole, where.span)

    @staticmethod
    def good_rows(over: int, turned: bool) -> str:
        rows = UPPER if turned else LOWER
        good = [
            row
            for row in rows
            if (other := across(row, -over if turned else over)) is not None and other not in rows
        ]
        return " or ".join(good)

    def cover(self, part: Part, board: str, columns: list[int], span: Span) -> None:
        """Note what lies across the trench; one part on top of another is an error."""
        told = False
        for column in range(min(columns), max(columns) + 1):
            before = self.covered.setdefault((board, column), (part.name, span))
            if before[0] != part.name and not told:
                told = True
                self.problems.error(
                    "part-on-part",
                    f"{part.name} lies on top of {before[0]} in column {column} of '{board}'",
                    span,
                    hint="Move one of them; each column across the trench holds one.",
                    related=(("first here", before[1]),),
                )

    def leg(self, part: Part, number: str, place: Place, span: Span) -> Iterator[Leg]:
        if isinstance(place, Hole) and not self.fill(place, f"{part.name}.{number}", span):
            return
        yield Leg(pin=PinEnd(part.name, number), place=place, span=span)

    def fill(self, hole: Hole, what: str, span: Span) -> bool:
        """Put something into a hole; a hole holds one thing."""
        before = self.held.setdefault(hole, (what, span))
        if before == (what, span):
            return True
        same_part = before[0].partition(".")[0] == what.partition(".")[0]
        if before[1] == span and same_part:
            return False  # told once for a part
        self.problems.error(
            "hole-taken",
            f"{hole.label} holds {before[0]} already, and cannot hold {what} too",
            span,
            hint="Use another hole of the same column: the five of a half are joined.",
            related=(("first here", before[1]),),
        )
        return False

    def place(self, text: Text) -> Place | None:
        board_name, _, place = text.value.strip().partition(".")
        board = self.boards.get(board_name)
        if board is None:
            self.problems.error(
                "hole-missing",
                f"there is no breadboard '{board_name}'",
                text.span,
                hint=near(board_name, list(self.boards))
                or f"There is {', '.join(self.boards)}; more are listed under 'breadboards:'."
                if self.boards
                else "List it under 'breadboards:', as 'b1: {tie-points: 830}'.",
            )
            return None
        try:
            return find(board, place)
        except NoHole as none:
            self.problems.error("hole-missing", str(none), text.span, hint=none.hint)
            return None

    def bad(self, message: str, span: Span, hint: str) -> None:
        self.problems.error("place-wrong", message, span, hint=hint)

    # wires ------------------------------------------------------------------------------------

    def wire(self, entry: WireEntry) -> Wire | None:
        ends = [self.end(text) for text in entry.ends]
        first, second = ends
        if first is None or second is None:
            return None
        for text, end in zip(entry.ends, ends, strict=True):
            if isinstance(end, Hole):
                self.fill(end, f"a wire's end (line {text.span.line})", text.span)
        return Wire(ends=(first, second), colour=entry.colour, span=entry.span)

    def end(self, text: Text) -> End | None:
        value = text.value.strip()
        if value in self.nets:
            return NetEnd(value)
        head, dot, rest = value.partition(".")
        if head in self.boards:
            return self.place(text)
        part = self.parts.get(head)
        if part is not None:
            pin = part.pin(rest)
            if pin is not None:
                return PinEnd(part.name, pin.number)
            self.problems.error(
                "pin-missing" if dot else "end-unknown",
                f"{part.name} has no pin '{rest}'" if dot else f"'{value}' is a part, no pin of it",
                text.span,
                hint=near(rest, [p.name for p in part.pins])
                or f"{'They' if dot else 'Its pins'} are "
                f"{', '.join(p.name if dot else f'{part.name}.{p.name}' for p in part.pins)}.",
            )
            return None
        known = [*self.boards, *self.parts, *sorted(self.nets)]
        if head in {entry.name.value for entry in self.file.parts}:
            return None  # a part that is wrong itself; told there
        self.problems.error(
            "end-unknown",
            f"'{value}' is no hole, pin or net",
            text.span,
            hint=near(head, known) or "An end is b1.a12, b1.upper+, U1.15, or the name of a net.",
        )
        return None
