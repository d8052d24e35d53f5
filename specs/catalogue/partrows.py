"""Reading the `rows:` of a part file: every column, cell and variable is checked here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from breadproof.specs.catalogue.cells import (
    BadCell,
    Cell,
    Says,
    check_drive,
    input_bits,
    input_cell,
    is_word,
    looped,
    output_bits,
    output_cell,
)
from breadproof.specs.catalogue.fields import table_of, text_of, texts_of
from breadproof.specs.catalogue.part import PartType, RowTable
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import Rows, Text, Tree, near

KEYS = ("from", "columns", "for", "start", "table")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Columns:
    """The columns of a table with the number of bits of each."""

    inputs: tuple[str, ...]
    outputs: tuple[str, ...]
    bits_in: tuple[tuple[str, ...], ...]
    bits_out: tuple[tuple[str, ...], ...]


def read_rows(tree: Tree | None, part: PartType, problems: Problems) -> tuple[RowTable, ...]:
    """All tables of a part whose pins and storage are known; no table at all is an error."""
    if tree is None or (isinstance(tree, Rows) and not tree.items):
        return ()
    if not isinstance(tree, Rows):
        problems.error(
            "part-row", "'rows' is to be a list of tables", tree.span, hint="Write '- from: …'."
        )
        return ()
    tables = (_table(item, part, problems) for item in tree.items)
    return tuple(table for table in tables if table is not None)


def _table(tree: Tree, part: PartType, problems: Problems) -> RowTable | None:
    fields = table_of(tree, "a table of rows", KEYS, problems)
    if fields is None:
        return None
    origin = text_of(fields, "from", "a table of rows", problems)
    heading = text_of(fields, "columns", "a table of rows", problems)
    loops_text = fields.get("for")
    loops: tuple[str, ...] = ("",)
    if isinstance(loops_text, Text):
        loops = tuple(loops_text.value.split())
    elif loops_text is not None:
        problems.error(
            "part-row", "'for' is to be a text", loops_text.span, hint="Write 'for: 1 2 3 4'."
        )
    rows = fields.get("table")
    if rows is None or heading is None or origin is None:
        if rows is None:
            problems.error(
                "part-row",
                "a table of rows has no 'table'",
                fields.span,
                hint="Write 'table:' and one '- cells | cells' line a row.",
            )
        return None
    columns = _columns(heading, loops, part, problems)
    lines = texts_of(rows, "'table'", problems)
    if not lines and isinstance(rows, Rows) and not rows.items:
        problems.error(
            "part-row", "the table has no row", rows.span, hint="Write '- H L | H' lines."
        )
    start = _start(fields.get("start"), part, problems)
    if columns is None:
        return None
    split = tuple((line, *_split(line)) for line in lines)
    _Reader(part, columns, problems).rows(split)
    return RowTable(
        origin=origin.value,
        columns_in=columns.inputs,
        columns_out=columns.outputs,
        loops=loops,
        table=tuple((_words(left), _words(right)) for _, left, right in split),
        spans=tuple(line.span for line in lines),
        start=start,
    )


def _start(tree: Tree | None, part: PartType, problems: Problems) -> tuple[tuple[str, int], ...]:
    """``start: {R: h7FF}``: what storage holds before the first row."""
    fields = None if tree is None else table_of(tree, "'start'", (), problems)
    widths = {storage.name: storage.width for storage in part.storage}
    found: list[tuple[str, int]] = []
    for key, body in fields or ():
        try:
            if key.value not in widths:
                hint = near(key.value, tuple(widths)) or "Name storage of this part."
                raise BadCell(f"there is no storage '{key.value}'", hint)
            cell = input_cell(body.value if isinstance(body, Text) else "", widths[key.value])
            if cell.says is not Says.NUMBER:
                raise BadCell("storage starts with a number", "Write h7F, d10, H or L.")
            found.append((key.value, cell.value))
        except BadCell as bad:
            place = body.span if key.value in widths else key.span
            problems.error("part-row", str(bad), place, hint=bad.hint)
    return tuple(found)


Placed = tuple[str, int]
_PLAIN = (Says.NUMBER, Says.ANY, Says.NOTHING)


def _split(line: Text) -> tuple[list[Placed], list[Placed]]:
    """The cells left and right of the first ``|``, each with its offset in the text."""
    sides: tuple[list[Placed], list[Placed]] = ([], [])
    side, offset = 0, 0
    for word in line.value.split():
        offset = line.value.index(word, offset)
        if word == "|" and side == 0:
            side = 1
        else:
            sides[side].append((word, offset))
        offset += len(word)
    return sides


def _words(cells: list[Placed]) -> tuple[str, ...]:
    return tuple(word for word, _ in cells)


def _columns(
    heading: Text, loops: tuple[str, ...], part: PartType, problems: Problems
) -> _Columns | None:
    left, right = _split(heading)
    before = len(problems.found)
    if not left or not right or any(word == "|" for word, _ in right):
        problems.error(
            "part-row",
            "the columns are inputs, one |, outputs",
            heading.span,
            hint="Write: A1 B1 | Y1",
        )
        return None
    if ("#" in heading.value) != (loops != ("",)):
        problems.error(
            "part-row",
            "'#' in the columns and 'for' go together",
            heading.span,
            hint="Write 'for: 1 2 3 4' for columns such as A#.",
        )
        return None
    bits: list[list[tuple[str, ...]]] = [[], []]
    for side, words in enumerate((left, right)):
        seen: set[str] = set()
        for word, offset in words:
            found: tuple[str, ...] = ()
            for loop in loops:
                try:
                    found = (output_bits if side else input_bits)(part, looped(word, loop))
                except BadCell as bad:
                    problems.error(
                        "part-row", str(bad), heading.at(offset, len(word)), hint=bad.hint
                    )
                    break
            if seen & set(found):
                problems.error(
                    "part-row",
                    f"'{word}' stands here twice",
                    heading.at(offset, len(word)),
                    hint="One column a pin on each side of |.",
                )
            seen |= set(found)
            bits[side].append(found)
    if len(problems.found) > before:
        return None
    return _Columns(
        inputs=tuple(word for word, _ in left),
        outputs=tuple(word for word, _ in right),
        bits_in=tuple(bits[0]),
        bits_out=tuple(bits[1]),
    )


class _Reader:
    """Checks the rows of one table, cell by cell."""

    def __init__(self, part: PartType, columns: _Columns, problems: Problems) -> None:
        self.part = part
        self.columns = columns
        self.problems = problems
        self.words: dict[str, str] = {}
        self.plain: set[tuple[str, str]] = set()
        """Cells by column that mean the same in every row, and were found good: most are such."""

    def rows(self, split: Sequence[tuple[Text, list[Placed], list[Placed]]]) -> None:
        for number, (line, left, right) in enumerate(split):
            wanted = len(self.columns.inputs), len(self.columns.outputs)
            if (len(left), len(right)) != wanted:
                self.problems.error(
                    "part-row",
                    f"the row has {len(left)} | {len(right)} cells, "
                    f"the columns are {wanted[0]} | {wanted[1]}",
                    line.span,
                    hint="One cell a column, and one | between inputs and outputs.",
                )
                continue
            self.row(line, left, right, first=number == 0)

    def row(self, line: Text, left: list[Placed], right: list[Placed], *, first: bool) -> None:
        variables: dict[str, int] = {}
        edges = 0
        for (word, offset), bits, name in zip(
            left, self.columns.bits_in, self.columns.inputs, strict=True
        ):
            if (name, word) in self.plain:
                continue
            try:
                cell = input_cell(word, len(bits))
                self.given(name, bits, word, cell)
                self.variable(cell, len(bits), variables)
                edges += cell.says in (Says.RISING, Says.FALLING)
                if edges > 1:
                    raise BadCell("a row has at most one edge", "Make it two rows.")
                if cell.says in _PLAIN and not is_word(name):
                    self.plain.add((name, word))
            except BadCell as bad:
                self.bad(line, word, offset, bad)
        for (word, offset), bits, name in zip(
            right, self.columns.bits_out, self.columns.outputs, strict=True
        ):
            if (f"| {name}", word) in self.plain:
                continue
            try:
                cell = output_cell(word, len(bits))
                check_drive(self.part, bits, cell)
                if cell.variable and cell.variable not in variables:
                    raise BadCell(
                        f"'{cell.variable}' stands in no input of the row",
                        "A variable gets its value left of |.",
                    )
                self.variable(cell, len(bits), variables)
                if first and cell.says in (Says.SAME, Says.INVERTED):
                    raise BadCell("nothing is before the first row", "Begin with a load or clear.")
                if cell.says in _PLAIN:
                    self.plain.add((f"| {name}", word))
            except BadCell as bad:
                self.bad(line, word, offset, bad)

    def given(self, name: str, bits: tuple[str, ...], word: str, cell: Cell) -> None:
        """A ROM's word is one number for the whole table; a pin is Z only if it may be open."""
        if is_word(name):
            if cell.says is not Says.NUMBER or self.words.setdefault(name, word) != word:
                raise BadCell(
                    f"the word {name} is one number for the whole table", "Write the same down."
                )
        elif cell.says is Says.NOTHING:
            for bit in bits:
                pin = self.part.pin(bit)
                if pin is not None and not (pin.kind.drives or bit in self.part.switch_pins):
                    raise BadCell(f"'{bit}' must be driven", "Z is for bidirectional pins.")

    @staticmethod
    def variable(cell: Cell, width: int, variables: dict[str, int]) -> None:
        if cell.variable and variables.setdefault(cell.variable, width) != width:
            raise BadCell(
                f"'{cell.variable}' has {variables[cell.variable]} bits in this row, "
                f"the column has {width}",
                "Use another letter, or a number.",
            )

    def bad(self, line: Text, word: str, offset: int, bad: BadCell) -> None:
        self.problems.error("part-row", str(bad), line.at(offset, len(word)), hint=bad.hint)
