"""The mapping file: which cell, value or designator is which part, and which are none.

    part-number: [PART_NO]             # properties that name the part; the usual words are known
    value: [VALUE]
    hidden-supplies: true              # chips whose supply pins the drawing leaves out get them
    designators: {"H*": ignore, U7: 74HC00}
    values: {"SN74LS00*": 74LS00}
    cells:
      "RES*": {part: resistor}
      NAND2: {part: 74LS00, gates: [{A: 1, B: 2, Y: 3}, {A: 4, B: 5, Y: 6}]}
      DECODER: {part: 74LS138, ports: {A: A0, B: A1, C: A2, SHIELD: ignore}}
      "PWR_5V": {supply: VCC}

A designator is looked for first, then a value or part number, then a cell; in each table the first
pattern that fits counts (``*`` any characters, ``?`` one, capitals alike).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

from breadproof.specs.reading.diagnostics import BadInput, Problems, Span
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree, near, read_tree

KEYS = ("part-number", "value", "hidden-supplies", "designators", "values", "cells")
IGNORE = "ignore"
OWN = ("part", "ports", "gates", "supply")
"""What a rule says itself; its other keys are options of the part, as in a board file."""
PART_NUMBER = (
    "part number", "part_number", "partnumber", "part_no", "partno", "part", "mpn", "device",
    "component", "manufacturer part number",
)  # fmt: skip
VALUE = ("value", "val", "part value", "part_value", "comment")
REFERENCE = ("refdes", "ref des", "ref_des", "reference", "designator")
"""Properties in which programs keep part numbers, values and designators (common practice)."""

Ports = dict[str, Text]
"""Pins by ports, the ports in small letters."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """What a pattern stands for; ``gates`` are the ports of each gate of a package."""

    kind: Literal["part", "ignore", "supply"]
    pattern: Text
    printed: Text | None = None
    supply: str = ""
    options: tuple[tuple[Text, Tree], ...] = ()
    ports: Ports | None = None
    gates: tuple[Ports, ...] = ()

    def fits(self, text: str) -> bool:
        """Whether the pattern fits a whole text."""
        return _pattern(self.pattern.value).fullmatch(text.strip()) is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Mapping:
    """A mapping file; without one, nothing but what names themselves tell."""

    designators: tuple[Rule, ...] = ()
    values: tuple[Rule, ...] = ()
    cells: tuple[Rule, ...] = ()
    part_number: tuple[str, ...] = PART_NUMBER
    value: tuple[str, ...] = VALUE
    hidden_supplies: bool = False


def read_mapping(path: Path, asked: Span, problems: Problems) -> Mapping:
    """The mapping of a file; ``asked`` is where it is named. Problems are collected."""
    try:
        tree = read_tree(path)
    except BadInput as bad:
        first = bad.diagnostics[0]
        if first.code == "file-unreadable":
            problems.error(
                "mapping-unreadable", f"'{path.name}': {first.message}", asked, hint=first.hint
            )
        else:
            problems.take(bad)
        return Mapping()
    if not isinstance(tree, Table):
        problems.error(
            "mapping-shape",
            "this is no mapping file",
            tree.span,
            hint="It has 'cells: {CELL: PART}', 'values:' or 'designators:'.",
        )
        return Mapping()
    return _Reader(problems).mapping(tree)


@cache
def _pattern(text: str) -> re.Pattern[str]:
    parts = (".*" if c == "*" else "." if c == "?" else re.escape(c) for c in text.strip())
    return re.compile("".join(parts), re.IGNORECASE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class _Reader:
    problems: Problems

    def mapping(self, tree: Table) -> Mapping:
        for key, _ in tree:
            if key.value not in KEYS:
                self.bad(
                    f"a mapping file has no '{key.value}'",
                    key.span,
                    near(key.value, KEYS) or f"The keys are {', '.join(KEYS)}.",
                    "key-unknown",
                )
        hidden = tree.get("hidden-supplies")
        if hidden is not None and not (
            isinstance(hidden, Text) and hidden.value in ("true", "false")
        ):
            self.bad("'hidden-supplies' is true or false", hidden.span, "Write 'true' or leave it.")
        return Mapping(
            designators=tuple(self.rules(tree, "designators")),
            values=tuple(self.rules(tree, "values")),
            cells=tuple(self.rules(tree, "cells")),
            part_number=self.words(tree.get("part-number"), "part-number", PART_NUMBER),
            value=self.words(tree.get("value"), "value", VALUE),
            hidden_supplies=isinstance(hidden, Text) and hidden.value == "true",
        )

    def bad(self, message: str, span: Span, hint: str, code: str = "mapping-shape") -> None:
        self.problems.error(code, message, span, hint=hint)

    def words(self, tree: Tree | None, key: str, usual: tuple[str, ...]) -> tuple[str, ...]:
        """The names of properties."""
        if tree is None:
            return usual
        items = tree.items if isinstance(tree, Rows) else (tree,)
        found = [item.value.lower() for item in items if isinstance(item, Text) and item.value]
        if len(found) != len(items) or not found:
            self.bad(f"'{key}' is a list of properties", tree.span, f"Write '{key}: [VALUE]'.")
        return tuple(found)

    def rules(self, tree: Table, key: str) -> Iterator[Rule]:
        table = tree.get(key)
        if table is None or (isinstance(table, Text) and not table.value):
            return
        if not isinstance(table, Table):
            self.bad(f"'{key}' is a table of patterns", table.span, f"Write '{key}: {{X: PART}}'.")
            return
        for pattern, body in table:
            rule = self.rule(pattern, body)
            if rule is not None:
                yield rule

    def rule(self, pattern: Text, body: Tree) -> Rule | None:
        if isinstance(body, Text) and body.value:
            if body.value == IGNORE:
                return Rule(kind="ignore", pattern=pattern)
            return Rule(kind="part", pattern=pattern, printed=body)
        supply = body.get("supply") if isinstance(body, Table) else None
        if isinstance(supply, Text) and supply.value:
            return Rule(kind="supply", pattern=pattern, supply=supply.value)
        printed = body.get("part") if isinstance(body, Table) else None
        if not isinstance(body, Table) or not isinstance(printed, Text) or not printed.value:
            self.bad(
                f"'{pattern.value}' does not say which part it is",
                pattern.span,
                f"Write '{pattern.value}: 74LS00', '{{part: resistor, value: 10k}}', "
                "'{supply: VCC}' or 'ignore'.",
            )
            return None
        ports = body.get("ports")
        gates = body.get("gates")
        listed = gates.items if isinstance(gates, Rows) else ()
        if gates is not None and not listed:
            self.bad("'gates' is a list of ports and pins", gates.span, "Write '[{A: 1, Y: 2}]'.")
        return Rule(
            kind="part",
            pattern=pattern,
            printed=printed,
            options=tuple(entry for entry in body if entry[0].value not in OWN),
            ports=None if ports is None else self.ports(ports),
            gates=tuple(self.ports(gate) for gate in listed),
        )

    def ports(self, tree: Tree) -> Ports:
        found: Ports = {}
        if not isinstance(tree, Table):
            self.bad("these are no ports with pins", tree.span, "Write '{A: 1, Y: 3}'.")
            return found
        for port, pin in tree:
            if isinstance(pin, Text) and pin.value:
                found[port.value.lower()] = pin
            else:
                self.bad(
                    f"port '{port.value}' is no pin",
                    port.span,
                    "Write a pin's number or name, or 'ignore'.",
                )
        return found
