"""The board file as it stands: each item with its place, nothing looked up yet."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from breadproof.specs.formula.parse import parse
from breadproof.specs.formula.syntax import Expr
from breadproof.specs.reading.accepts import Accept, read_accepts
from breadproof.specs.reading.diagnostics import BadInput, Problems, Span
from breadproof.specs.reading.edifkey import EdifEntry, read_edif_key
from breadproof.specs.reading.moving import read_bounces, read_resets, read_together
from breadproof.specs.reading.wirefile import read_wire_file
from breadproof.specs.reading.wires import (
    BreadboardEntry,
    NameEntry,
    WireEntry,
    read_breadboards,
    read_names,
    read_wires,
)
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree, near, read_tree

NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*\Z")
FORMULA_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_-]*\Z")
_BIT = re.compile(r"[A-Za-z_][A-Za-z0-9_]*\[\d{1,4}\]\Z")
_VECTOR = re.compile(r"(?P<name>[A-Za-z_][A-Za-z0-9_]*)\[(?P<left>\d{1,4}):(?P<right>\d{1,4})\]\Z")
_GROUP = re.compile(r"(?P<part>[A-Za-z_][A-Za-z0-9_]*)\.\[(?P<pins>[^\[\]]*)\]\Z")
_RANGE = re.compile(
    r"(?P<part>[A-Za-z_][A-Za-z0-9_]*)\.(?P<stem>\w+)\[(?P<left>\d{1,4}):(?P<right>\d{1,4})\]\Z"
)
_PIN = re.compile(r"(?P<part>[A-Za-z_][A-Za-z0-9_]*)\.(?P<pin>[A-Za-z0-9_]+)\Z")
KEYS = (
    "board", "title", "family", "supply", "rails", "catalogue", "breadboards", "edif", "parts",
    "wires", "nets", "names", "ports", "boards", "joins", "accept", "together", "reset", "bounces",
    "assume", "assert", "cover",
)  # fmt: skip

FORMULA_KEYS = ("says", "formula")
SUPPLY_KEYS = ("voltage", "current")
DIRECTIONS = ("in", "out", "both")
_FORMULA_KINDS: tuple[Literal["assume", "assert", "cover"], ...] = ("assume", "assert", "cover")


@dataclass(frozen=True, slots=True, kw_only=True)
class PartEntry:
    """A part as the file gives it; ``options`` are the other keys of its table."""

    name: Text
    printed: Text
    options: tuple[tuple[Text, Tree], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PinRef:
    """``U3.18`` or ``U3.OE_n``."""

    part: str
    pin: str
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class NetEntry:
    """A net or vector; each row has ``width`` pins, most significant first.

    A scalar net has one pin a row. ``more`` are pins of single bits, each with the place of its
    bit: a drawing has them, a board file writes a wire.
    """

    name: str
    left: int
    right: int
    vector: bool
    rows: tuple[tuple[PinRef, ...], ...]
    span: Span
    more: tuple[tuple[int, PinRef], ...] = ()

    @property
    def width(self) -> int:
        """Number of nets."""
        return abs(self.left - self.right) + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class PortEntry:
    """A port: the net or vector it brings out and its direction."""

    name: str
    numbering: tuple[int, int] | None
    direction: Text
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class FormulaEntry:
    """A formula with its name, sentence and tree."""

    name: Text
    kind: Literal["assume", "assert", "cover"]
    says: str
    text: Text
    expr: Expr


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """What a board file says, in its order."""

    file: str
    name: str
    title: str
    family: Text | None
    supply: Text | None
    rails: tuple[tuple[Text, Text], ...]
    catalogue: Text | None
    parts: tuple[PartEntry, ...]
    nets: tuple[NetEntry, ...]
    ports: tuple[PortEntry, ...]
    together: tuple[tuple[Text, ...], ...] | Literal["all"]
    reset: tuple[tuple[Text, Text], ...]
    formulas: tuple[FormulaEntry, ...]
    breadboards: tuple[BreadboardEntry, ...] = ()
    wires: tuple[WireEntry, ...] = ()
    names: tuple[NameEntry, ...] = ()
    boards: tuple[tuple[Text, Text], ...] = ()
    joins: tuple[WireEntry, ...] = ()
    edif: EdifEntry | None = None
    accepts: tuple[Accept, ...] = ()
    current: Text | None = None
    bounces: tuple[Text, ...] = ()


def read_board(path: Path, problems: Problems) -> Board | None:
    """The board of a file; problems are collected, and None comes back if it is no board at all."""
    try:
        tree = read_tree(path)
    except BadInput as bad:
        problems.take(bad)
        return None
    if not isinstance(tree, Table):
        problems.error(
            "board-shape",
            "this is no board file",
            tree.span,
            hint="A board file starts with 'board: NAME', then 'parts:' and 'nets:'.",
        )
        return None
    return _Reader(str(path), tree, problems).board()


@dataclass(slots=True)
class _Reader:
    file: str
    tree: Table
    problems: Problems
    formula_names: dict[str, Text] = field(default_factory=dict)

    def board(self) -> Board:
        for key, _ in self.tree:
            if key.value not in KEYS:
                hint = near(key.value, KEYS) or f"The keys are {', '.join(KEYS)}."
                self.problems.error(
                    "key-unknown", f"a board file has no '{key.value}'", key.span, hint=hint
                )
        name = self.text("board")
        if name is None and self.tree.get("board") is None:
            self.problems.error(
                "board-unnamed",
                "the board has no name",
                self.tree.span,
                hint="Begin the file with 'board: NAME'.",
            )
        if all(self.tree.get(key) is None for key in ("parts", "boards", "edif")):
            self.problems.error(
                "board-empty",
                "the board has no parts",
                self.tree.span,
                hint="List them under 'parts:', one a line: 'U1: 74LS157'.",
            )
        title = self.text("title")
        return Board(
            file=self.file,
            name=name.value if name else "",
            title=title.value if title else "",
            family=self.text("family"),
            supply=self.supply("voltage"),
            current=self.supply("current"),
            rails=self.pairs("rails"),
            catalogue=self.text("catalogue"),
            parts=tuple(self.parts()),
            nets=tuple(self.nets()),
            ports=tuple(self.ports()),
            together=read_together(self.tree.get("together"), self.problems),
            reset=read_resets(self.tree.get("reset"), self.problems),
            bounces=read_bounces(self.tree.get("bounces"), self.problems),
            formulas=tuple(entry for kind in _FORMULA_KINDS for entry in self.formulas(kind)),
            breadboards=read_breadboards(self.tree.get("breadboards"), self.problems),
            wires=self.wires("wires"),
            names=read_names(self.tree.get("names"), self.problems),
            boards=tuple(self.boards()),
            accepts=read_accepts(self.tree.get("accept"), self.problems),
            joins=self.wires("joins"),
            edif=read_edif_key(self.tree.get("edif"), self.problems),
        )

    def shape(self, tree: Tree, message: str, hint: str) -> None:
        self.problems.error("board-shape", message, tree.span, hint=hint)

    def text(self, key: str) -> Text | None:
        found = self.tree.get(key)
        if found is None or (isinstance(found, Text) and found.value):
            return found
        self.shape(found, f"'{key}' is one value", f"Write '{key}: VALUE'.")
        return None

    def table(self, key: str, hint: str) -> Table | None:
        found = self.tree.get(key)
        if isinstance(found, Table):
            return found
        if found is not None and not (isinstance(found, Text) and not found.value):
            self.shape(found, f"'{key}' is a table of names", hint)
        return None

    def supply(self, key: str) -> Text | None:
        """``supply: 5 V``, or ``supply: {voltage: 5 V, current: 500 mA}``."""
        found = self.tree.get("supply")
        if not isinstance(found, Table):
            return self.text("supply") if key == "voltage" else None
        if key == "voltage":
            for name, _ in found:
                if name.value not in SUPPLY_KEYS:
                    self.problems.error(
                        "key-unknown",
                        f"a supply has no '{name.value}'",
                        name.span,
                        hint=near(name.value, SUPPLY_KEYS) or "It has 'voltage' and 'current'.",
                    )
        value = found.get(key)
        if value is None or (isinstance(value, Text) and value.value):
            return value
        self.shape(value, f"'{key}' is one value", "Write 'supply: {voltage: 5 V, current: 1 A}'.")
        return None

    def pairs(self, key: str) -> tuple[tuple[Text, Text], ...]:
        table = self.table(key, f"Write '{key}: {{NAME: VALUE}}'.")
        pairs: list[tuple[Text, Text]] = []
        for name, value in table or ():
            if isinstance(value, Text):
                pairs.append((name, value))
            else:
                self.shape(value, f"'{name.value}' is one value", "Write 'NAME: VALUE'.")
        return tuple(pairs)

    def boards(self) -> Iterator[tuple[Text, Text]]:
        for name, file in self.pairs("boards"):
            if not NAME.match(name.value):
                self.problems.error(
                    "name-malformed",
                    f"'{name.value}' is no name for a board",
                    name.span,
                    hint="Letters, digits and _, a letter first, such as store.",
                )
            if not file.value:
                self.shape(name, f"{name.value} has no file", f"Write '{name.value}: FILE.yaml'.")
            yield name, file

    def parts(self) -> list[PartEntry]:
        entries: list[PartEntry] = []
        for name, value in self.table("parts", "Write 'U1: 74LS157', one part a line.") or ():
            if not NAME.match(name.value):
                self.problems.error(
                    "name-malformed",
                    f"'{name.value}' is no name for a part",
                    name.span,
                    hint="Letters, digits and _, a letter first, such as U1 or STORE.",
                )
                continue
            if isinstance(value, Text) and value.value:
                entries.append(PartEntry(name=name, printed=value))
                continue
            printed = value.get("part") if isinstance(value, Table) else None
            if isinstance(value, Table) and isinstance(printed, Text) and printed.value:
                options = tuple(entry for entry in value if entry[0].value != "part")
                entries.append(PartEntry(name=name, printed=printed, options=options))
            else:
                self.shape(
                    value if not isinstance(value, Text) else name,
                    f"{name.value} does not say which part it is",
                    f"Write '{name.value}: 74LS157' or "
                    f"'{name.value}: {{part: resistor, value: 10k}}'.",
                )
        return entries

    def nets(self) -> list[NetEntry]:
        entries: list[NetEntry] = []
        for name, value in self.table("nets", "Write 'sel: [U1.1, U2.1]', one net a line.") or ():
            vector = _VECTOR.match(name.value)
            if not vector and not NAME.match(name.value):
                hint = "Letters, digits and _, a letter first; a vector is written bus[7:0]."
                if _BIT.match(name.value):
                    wire = f"- U1.2 to {name.value}"
                    hint = f"One more pin of one bit is a wire: '{wire}' under 'wires:'."
                self.problems.error(
                    "name-malformed",
                    f"'{name.value}' is no name for a net",
                    name.span,
                    hint=hint,
                )
                continue
            left, right = (int(vector["left"]), int(vector["right"])) if vector else (0, 0)
            entry_name = vector["name"] if vector else name.value
            width = abs(left - right) + 1
            if width > 256:
                self.problems.error(
                    "name-malformed",
                    f"'{name.value}' is {width} bits wide",
                    name.span,
                    hint="A vector has at most 256 bits.",
                )
                continue
            rows = self.rows(value, width, bool(vector), name.value)
            entries.append(
                NetEntry(
                    name=entry_name,
                    left=left,
                    right=right,
                    vector=bool(vector),
                    rows=tuple(rows),
                    span=name.span,
                )
            )
        return entries

    def rows(self, value: Tree, width: int, vector: bool, name: str) -> list[tuple[PinRef, ...]]:
        items = value.items if isinstance(value, Rows) else (value,)
        if isinstance(value, Text) and not value.value:
            items = ()
        if not vector:
            ones = [one for i in items for one in (i.items if isinstance(i, Rows) else (i,))]
            return [(pin,) for one in ones for pin in self.pins(one)]
        flat = bool(items) and all(isinstance(i, Text) and _PIN.match(i.value) for i in items)
        groups = [[pin for i in items for pin in self.pins(i)]] if flat else []
        spans = [value.span] if flat else []
        for item in () if flat else items:
            parts = item.items if isinstance(item, Rows) else (item,)
            groups.append([pin for part in parts for pin in self.pins(part)])
            spans.append(item.span)
        rows: list[tuple[PinRef, ...]] = []
        for group, span in zip(groups, spans, strict=True):
            if len(group) == width:
                rows.append(tuple(group))
            else:
                self.problems.error(
                    "row-width",
                    f"this row has {len(group)} pins, '{name}' is {width} nets wide",
                    span,
                    hint=f"Give {width} pins, most significant first; one row a chip.",
                )
        return rows

    def pins(self, item: Tree) -> list[PinRef]:
        if not isinstance(item, Text):
            self.shape(item, "a pin is expected here", "Write it as U3.18 or U3.OE_n.")
            return []
        value = item.value.strip()
        if found := _PIN.match(value):
            return [PinRef(part=found["part"], pin=found["pin"], span=item.span)]
        if found := _GROUP.match(value):
            pins: list[PinRef] = []
            for piece in re.finditer(r"[^,]+", found["pins"]):
                pin = piece.group().strip()
                offset = item.value.find("[") + 1 + piece.start()
                offset += len(piece.group()) - len(piece.group().lstrip())
                if not re.fullmatch(r"[A-Za-z0-9_]+", pin):
                    self.problems.error(
                        "pin-malformed",
                        f"'{pin}' is no pin",
                        item.at(offset, len(pin)),
                        hint="Inside the brackets stand pin numbers or names: U5.[9, 8, 7].",
                    )
                    continue
                pins.append(PinRef(part=found["part"], pin=pin, span=item.at(offset, len(pin))))
            return pins
        if (found := _RANGE.match(value)) and abs(int(found["left"]) - int(found["right"])) < 256:
            left, right = int(found["left"]), int(found["right"])
            step = -1 if left >= right else 1
            return [
                PinRef(part=found["part"], pin=f"{found['stem']}{number}", span=item.span)
                for number in range(left, right + step, step)
            ]
        self.problems.error(
            "pin-malformed",
            f"'{item.value}' is no pin",
            item.span,
            hint="A pin is PART.NUMBER or PART.NAME, such as U3.18; several are U3.[9, 8, 7].",
        )
        return []

    def ports(self) -> list[PortEntry]:
        entries: list[PortEntry] = []
        for name, value in self.table("ports", "Write 'clk: in', one port a line.") or ():
            if isinstance(value, Text) and value.value in DIRECTIONS:
                found = _VECTOR.match(name.value)
                bare = found["name"] if found else name.value
                numbering = (int(found["left"]), int(found["right"])) if found else None
                entries.append(
                    PortEntry(name=bare, numbering=numbering, direction=value, span=name.span)
                )
            else:
                self.shape(
                    value,
                    f"port {name.value} is in, out or both",
                    "in: another board drives it; out: it is read there; both: either.",
                )
        return entries

    def wires(self, key: str) -> tuple[WireEntry, ...]:
        """A list, or the name of a file of them beside the board file."""
        found = self.tree.get(key)
        if isinstance(found, Text) and found.value:
            return read_wire_file(found, Path(self.file).parent, self.problems)
        return read_wires(found, self.problems, key)

    def formulas(self, kind: Literal["assume", "assert", "cover"]) -> list[FormulaEntry]:
        entries: list[FormulaEntry] = []
        hint = f"Write '{kind}:', and under it 'name: {{says: \"…\", formula: \"…\"}}'."
        for name, value in self.table(kind, hint) or ():
            if not FORMULA_NAME.match(name.value) or name.value in self.formula_names:
                before = self.formula_names.get(name.value)
                self.problems.error(
                    "name-malformed" if before is None else "name-twice",
                    f"'{name.value}' "
                    + ("is no name for a formula" if before is None else "names two formulas"),
                    name.span,
                    hint="Letters, digits, _ and -, a letter first; each name once.",
                    related=(("first here", before.span),) if before else (),
                )
                continue
            self.formula_names[name.value] = name
            entry = self.formula(name, value, kind)
            if entry is not None:
                entries.append(entry)
        return entries

    def formula(
        self, name: Text, value: Tree, kind: Literal["assume", "assert", "cover"]
    ) -> FormulaEntry | None:
        says, text = "", value
        if isinstance(value, Table):
            found = value.get("formula")
            sentence = value.get("says")
            says = sentence.value if isinstance(sentence, Text) else ""
            for key, _ in value:
                if key.value not in FORMULA_KEYS:
                    self.problems.error(
                        "key-unknown",
                        f"a formula has no '{key.value}'",
                        key.span,
                        hint=near(key.value, FORMULA_KEYS) or "It has says and formula.",
                    )
            if found is None:
                self.shape(name, f"{name.value} has no formula", "Write 'formula: \"…\"'.")
                return None
            text = found
        if not isinstance(text, Text):
            self.shape(
                text,
                f"YAML does not read the formula of {name.value} as text",
                "Put the formula in double quotes.",
            )
            return None
        try:
            return FormulaEntry(name=name, kind=kind, says=says, text=text, expr=parse(text))
        except BadInput as bad:
            self.problems.take(bad)
            return None
