"""Reading a part file: strict, and every problem of the file in one run.

The format is specs/parts/README.md. Codes of the diagnostics: ``part-key`` (an entry that does
not exist), ``part-field`` (an entry that is missing or of the wrong form), ``part-pin``,
``part-logic``, ``part-limit``, ``part-name`` (a name in a formula), ``part-storage``,
``part-switch``, ``part-row``; formulas that cannot be read have ``formula-syntax``. The `times:`
are cut out unread: see parttimes.py.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from breadproof.specs.catalogue.blanks import note_blanks
from breadproof.specs.catalogue.families import FAMILIES
from breadproof.specs.catalogue.fields import table_of, text_of, texts_of
from breadproof.specs.catalogue.part import PartType, PinType
from breadproof.specs.catalogue.partlimits import read_limits, read_output_classes
from breadproof.specs.catalogue.partlogic import pins_by_name, read_inner, read_logic
from breadproof.specs.catalogue.partpins import read_moments, read_pins
from breadproof.specs.catalogue.partrows import read_rows
from breadproof.specs.catalogue.partstorage import (
    MemoryHead,
    StorageHead,
    memory_heads,
    read_memory,
    read_storage,
    storage_heads,
)
from breadproof.specs.catalogue.partswitches import read_switches
from breadproof.specs.catalogue.parttimes import cut_times, with_times
from breadproof.specs.catalogue.scope import Scope
from breadproof.specs.reading.diagnostics import BadInput, Diagnostic, Problems, Span
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree, near, parse_tree, read_text

KEYS = (
    "part", "title", "does", "package", "families", "source",
    "output-class", "limits",
    "pins", "inner", "logic", "storage", "memory", "switches", "rows", "moments", "variants",
    "times",
)  # fmt: skip
VARIANT_KEYS = tuple(key for key in KEYS if key not in ("part", "variants", "times"))


def load_part(path: Path) -> PartType:
    """The part type of a file, whose name must be the part's number.

    Raises:
        BadInput: with every problem of the file.
    """
    text, times = cut_times(read_text(path), str(path))
    tree = parse_tree(text, str(path))
    part = with_times(parse_part(tree, path), times)
    if part.number != path.stem:
        number = tree.get("part") if isinstance(tree, Table) else None
        nowhere = Span(file=str(path), line=1, column=1)
        raise BadInput(
            [
                Diagnostic(
                    code="part-field",
                    message=f"the file is named '{path.name}' and says part '{part.number}'",
                    span=nowhere if number is None else number.span,
                    hint="A part is found by its file's name: make the two the same.",
                )
            ]
        )
    return part


def parse_part(tree: Tree, file: Path | str) -> PartType:
    """The part type in a YAML tree; ``file`` is only for messages.

    Raises:
        BadInput: with every problem of the tree.
    """
    problems = Problems()
    table = table_of(tree, f"the part file {Path(file).name}", KEYS, problems)
    if table is None:
        raise BadInput(problems.found)
    known = len(problems.found)
    note_blanks(table, problems)
    if len(problems.found) > known:  # all else would be told of what is not there yet
        problems.stop_if_any()
    part = _Loader(table, problems).part()
    part = replace(part, variants=_variants(table, part, problems))
    times = table.get("times")
    if times is not None:  # the text of this one was not cut out before the tree was read
        problems.error(
            "part-time",
            "'times' is to begin a line, once",
            times.span,
            hint="Write 'times:' at the left margin, and all that belongs to it indented.",
        )
    problems.stop_if_any()
    return part


def _variants(table: Table, part: PartType, problems: Problems) -> tuple[PartType, ...]:
    """What the number means in families that differ.

    Each entry of ``variants`` names its families; its other keys take the place of the part's.
    """
    tree = table.get("variants")
    if tree is None or problems.found:  # what is wrong above would be told again for each
        return ()
    if not isinstance(tree, Rows):
        problems.error(
            "part-field",
            "'variants' is to be a list",
            tree.span,
            hint="Write '- families: [HC]' and, below it, the keys that differ.",
        )
        return ()
    found: list[PartType] = []
    first: dict[str, Span] = {}
    for item in tree.items:
        body = table_of(item, "a variant", VARIANT_KEYS, problems)
        if body is None:
            continue
        merged = replace(table, entries=_overlaid(table, body))
        variant = _Loader(merged, problems).part()
        for text in _texts(body.get("families")):
            if text.value not in part.families:
                problems.error(
                    "part-field",
                    f"'{text.value}' is none of the part's families",
                    text.span,
                    hint=f"They are {', '.join(part.families)}; add it to them.",
                )
            elif text.value in first:
                problems.error(
                    "part-field",
                    f"'{text.value}' is in two variants",
                    text.span,
                    hint="A family is in one of them.",
                    related=(("first here", first[text.value]),),
                )
            first.setdefault(text.value, text.span)
        found.append(replace(variant, form=variant.families[0] if variant.families else ""))
    return tuple(found)


def _texts(tree: Tree | None) -> tuple[Text, ...]:
    items = tree.items if isinstance(tree, Rows) else ()
    return tuple(item for item in items if isinstance(item, Text))


def _overlaid(table: Table, body: Table) -> tuple[tuple[Text, Tree], ...]:
    """The entries of a part, those of a variant in their place."""
    own = {key.value for key, _ in body}
    kept = (item for item in table if item[0].value not in (*own, "variants"))
    return (*kept, *body)


class _Loader:
    """Reads one part file; what several steps share is kept here."""

    def __init__(self, table: Table, problems: Problems) -> None:
        self.table = table
        self.problems = problems
        self.rows_can_be_read = True

    def part(self) -> PartType:
        package = self.text("package")
        pins = read_pins(self.table, package, self.problems)
        pins += read_moments(self.table.get("moments"), pins, self.problems)
        part = self.behaviour(
            PartType(
                number=self.text("part"),
                title=self.text("title"),
                does=self.text("does"),
                package=package,
                families=self.families(),
                source=self.text("source"),
                pins=pins,
                output_classes=read_output_classes(
                    self.table.get("output-class"), pins, self.problems
                ),
                limits=read_limits(self.table.get("limits"), pins, self.problems),
            )
        )
        tree = self.table.get("rows")
        before = len(self.problems.found)
        rows = read_rows(tree, part, self.problems) if self.rows_can_be_read else ()
        if not rows and self.rows_can_be_read and len(self.problems.found) == before:
            self.problems.error(
                "part-row",
                "a part without rows is not known",
                (tree or self.table).span,
                hint="Write the rows of the data sheet's function table under 'rows'.",
            )
        return replace(part, rows=rows)

    def behaviour(self, part: PartType) -> PartType:
        """The part with its logic and storage: first all names, then the formulas over them."""
        before = len(self.problems.found)
        storage = storage_heads(self.table.get("storage"), self.problems)
        memories = memory_heads(self.table.get("memory"), self.problems)
        self.own_names(part.pins, storage, memories)
        if len(self.problems.found) > before:
            self.rows_can_be_read = False  # columns of what is not known would be wrong as well
        scope = Scope(
            pins=pins_by_name(part.pins),
            inner=frozenset(),
            storage={head.name: head.width for head in storage},
            memories={head.name: head.bits for head in memories},
        )
        inner, scope = read_inner(self.table.get("inner"), scope, self.problems)
        logic = read_logic(self.table, scope, self.problems)
        given = len(self.problems.found)
        switches = read_switches(self.table.get("switches"), scope, self.problems)
        if len(self.problems.found) > given:
            self.rows_can_be_read = False
        stored = [read_storage(head, scope, self.problems) for head in storage]
        kept = [read_memory(head, scope, self.problems) for head in memories]
        if None in stored or None in kept:
            self.rows_can_be_read = False
        return replace(
            part,
            inner=inner,
            logic=logic,
            storage=tuple(item for item in stored if item is not None),
            memories=tuple(item for item in kept if item is not None),
            switches=switches,
        )

    def own_names(
        self,
        pins: tuple[PinType, ...],
        storage: tuple[StorageHead, ...],
        memories: tuple[MemoryHead, ...],
    ) -> None:
        """Storage and memories have names of their own: Q[3:0] must not mean pins as well."""
        taken = {pin.name for pin in pins} | {pin.name.rstrip("0123456789") for pin in pins}
        heads = [(head.name, head.fields.span) for head in storage]
        heads += [(head.name, head.fields.span) for head in memories]
        for name, span in heads:
            if name in taken:
                self.problems.error(
                    "part-storage",
                    f"'{name}' is the name of something else already",
                    span,
                    hint="Give storage a name of its own, such as R.",
                )
            taken.add(name)

    def text(self, key: str) -> str:
        found = text_of(self.table, key, "the part", self.problems)
        return "" if found is None else found.value

    def families(self) -> tuple[str, ...]:
        tree = self.table.get("families")
        if tree is None:
            self.problems.error(
                "part-field", "the part has no 'families'", self.table.span, hint="Write [LS, HC]."
            )
            return ()
        texts = texts_of(tree, "'families'", self.problems)
        for text in texts:
            if text.value not in FAMILIES:
                self.problems.error(
                    "part-field",
                    f"there is no family '{text.value}'",
                    text.span,
                    hint=near(text.value, tuple(FAMILIES)) or f"Known: {', '.join(FAMILIES)}.",
                )
        return tuple(text.value for text in texts)
