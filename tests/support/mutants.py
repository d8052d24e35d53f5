"""Verilog with one fault in it: each operator, inversion, condition, constant and connection.

The faults are those of a hand that slips: an AND for an OR, a missing inversion, the other branch,
a wire on a neighbour of the same width. They are made in the text, line by line, and know nothing
of what it means.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from random import Random

OPERATORS = {" & ": " | ", " | ": " & ", " ^ ": " & ", " + ": " - ", " == ": " != ", " < ": " > "}
_ASSIGNED = re.compile(r"^ *(assign .* = |\S.* <= |.*\S = )(?P<right>[^=].*);$")
_NAME = r"(?:\\\S+ |[A-Za-z_][A-Za-z0-9_$]*)"
_DECLARED = re.compile(rf"^  (?:wire|reg) (?P<width>\[\d+:0\] )?(?P<name>{_NAME})(?: = .*)?;$")
_PIN = re.compile(rf"^(?P<before> *\.\S+ *\()(?P<name>{_NAME})(?P<after>\),?)$")
_COPY = re.compile(rf"^(?P<before>.* <?= )(?P<name>{_NAME})(?P<after> ?;)$")
_IF = re.compile(r"^(?P<before>.*\bif \()(?P<test>.*)(?P<after>\).*)$")
_CONSTANT = re.compile(r"^(?P<before> *assign .* = )1'h(?P<level>[01]);$")
CLOCKS = ("tick_clk", "tick_rst")


@dataclass(frozen=True)
class Mutant:
    """A text with a fault in one line; ``fault`` tells which."""

    fault: str
    text: str


def mutants(verilog: str, seed: int) -> list[Mutant]:
    """All of a text, in its order; ``seed`` draws the neighbour that a wire goes to."""
    dice, lines = Random(seed), verilog.split("\n")
    neighbours: dict[str, list[str]] = {}
    found: list[Mutant] = []
    for number, line in enumerate(lines):
        if line.startswith("module "):
            neighbours = _declared(lines[number + 1 :])
        if line.startswith(("//", "/*")) or "$auto$" in line:
            continue
        for changed in _changed(line, neighbours, dice):
            text = "\n".join([*lines[:number], changed, *lines[number + 1 :]])
            found.append(Mutant(f"{number + 1}: {line.strip()} -> {changed.strip()}", text))
    return found


def _declared(lines: list[str]) -> dict[str, list[str]]:
    """The signals of a module by name, each with the others of its width."""
    widths: dict[str, str] = {}
    for line in lines:
        if line == "endmodule":
            break
        one = _DECLARED.match(line)
        if one is not None and "$auto$" not in line and one["name"] not in CLOCKS:
            widths[one["name"].strip()] = one["width"] or ""
    return {
        name: [other for other in widths if other != name and widths[other] == width]
        for name, width in widths.items()
    }


def _changed(line: str, neighbours: dict[str, list[str]], dice: Random) -> Iterator[str]:
    right = _ASSIGNED.match(line)
    if right is not None:
        start, text = right.start("right"), right["right"]
        for old, new in OPERATORS.items():
            for hit in re.finditer(re.escape(old), text):
                at = start + hit.start()
                yield line[:at] + new + line[at + len(old) :]
        for hit in re.finditer("~ ", text):
            at = start + hit.start()
            yield line[:at] + line[at + 2 :]
        if " ? " in text and text.count(" : ") == 1:
            test, _, rest = text.partition(" ? ")
            then, _, other = rest.partition(" : ")
            yield f"{line[:start]}{test} ? {other} : {then};"
    condition = _IF.match(line)
    if condition is not None:
        yield f"{condition['before']}!({condition['test']}){condition['after']}"
    constant = _CONSTANT.match(line)
    if constant is not None:
        yield f"{constant['before']}1'h{1 - int(constant['level'])};"
    connection = _PIN.match(line) or _COPY.match(line)
    if connection is not None:
        others = neighbours.get(connection["name"].strip(), [])
        if others:
            other = dice.choice(others)
            yield f"{connection['before']}{other} {connection['after']}"
