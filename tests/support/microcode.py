"""The assembler of the fade engine's microprogram: `microcode.txt` by `fields.csv` to Intel HEX.

After a change of the program: ``python -m tests.support.microcode specs/boards/fade_engine``.
It knows nothing of the machine: every word of the language but ``goto`` stands in the table.
"""

from __future__ import annotations

import csv
import io
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from intelhex import IntelHex

WORDS = 64
"""The microprogram counter has six bits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """Where a field lies, and its value if a line does not name it."""

    chip: int
    high: int
    low: int
    default: int = 0

    def put(self, value: int) -> int:
        """The value in its place."""
        assert 0 <= value < 1 << (self.high - self.low + 1), value
        return value << self.low


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The fields by name, and what each word of the language gives: a field's name and value."""

    fields: Mapping[str, Field]
    words: Mapping[str, tuple[str, int]]


def read_table(text: str) -> Table:
    """`fields.csv`. A row without a word gives the value that a field has when nothing is said."""
    fields: dict[str, Field] = {}
    words: dict[str, tuple[str, int]] = {}
    for row in csv.DictReader(io.StringIO(text)):
        name, word, value = row["field"], row["word"], row["value"]
        default = int(value) if value and not word else 0
        place = (int(row["chip"]), int(row["high"]), int(row["low"]))
        field = Field(chip=place[0], high=place[1], low=place[2], default=default)
        if name not in fields or default:
            fields[name] = field
        if word:
            assert word not in words, word
            words[word] = (name, int(value))
    return Table(fields=fields, words=words)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A microword as it is written: where, its labels, what it says."""

    number: int
    labels: tuple[str, ...]
    words: tuple[str, ...]


def read_lines(text: str) -> tuple[Line, ...]:
    """The microwords of a program, in order; comments and empty lines are none."""
    found: list[Line] = []
    for number, line in enumerate(text.splitlines(), 1):
        words = line.partition(";")[0].split()
        labels = [word[:-1] for word in words if word.endswith(":")]
        if words:
            found.append(
                Line(number=number, labels=tuple(labels), words=tuple(words[len(labels) :]))
            )
    return tuple(found)


def label_addresses(lines: Iterable[Line]) -> dict[str, int]:
    """Which microword each label names.

    Raises:
        ValueError: a label that is there twice.
    """
    labels: dict[str, int] = {}
    for address, line in enumerate(lines):
        for label in line.labels:
            if label in labels:
                raise ValueError(f"line {line.number}: there is a label {label} already")
            labels[label] = address
    return labels


def assemble(program: str, table: Table) -> tuple[tuple[int, ...], ...]:
    """The bytes of each chip, in the order of their numbers, for all `WORDS` addresses.

    Raises:
        ValueError: a word that the table does not have, a label that is not there or twice.
    """
    lines = read_lines(program)
    labels = label_addresses(lines)
    if len(lines) > WORDS:
        raise ValueError(f"{len(lines)} microwords; the counter names {WORDS}")
    chips = sorted({field.chip for field in table.fields.values()})
    words = [_microword(line, labels, table) for line in lines]
    words += [dict.fromkeys(chips, 0)] * (WORDS - len(lines))
    return tuple(tuple(word[chip] for word in words) for chip in chips)


def _microword(line: Line, labels: Mapping[str, int], table: Table) -> dict[int, int]:
    said = _said(line, labels, table)
    if "goto" not in said:
        said["met"] = 1  # go on if "never" is met: the next line comes next
    elif "met" not in said:
        said["met"] = 0  # go on unless "never" is met
    chips: dict[int, int] = {}
    for name, field in table.fields.items():
        bits = field.put(said.get(name, field.default))
        chips[field.chip] = chips.get(field.chip, 0) | bits
    return chips


def _said(line: Line, labels: Mapping[str, int], table: Table) -> dict[str, int]:
    said: dict[str, int] = {}
    words = iter(line.words)
    for word in words:
        if word == "goto":
            label = next(words, "")
            if label not in labels:
                raise ValueError(f"line {line.number}: there is no label {label}")
            name, value = "goto", labels[label]
        elif word in table.words:
            name, value = table.words[word]
        else:
            raise ValueError(f"line {line.number}: {word} is no word of the table")
        if name in said:
            raise ValueError(f"line {line.number}: {word} says {name} a second time")
        said[name] = value
    return said


def intel_hex(content: Iterable[int]) -> str:
    """Bytes from address 0 on as an Intel HEX file."""
    image, text = IntelHex(), io.StringIO()
    image.puts(0, bytes(content))
    image.write_hex_file(text, eolstyle="native")
    return text.getvalue()


def hex_files(folder: Path) -> dict[str, str]:
    """The name and text of each chip's file, made from the folder's program and table."""
    table = read_table(Path(folder, "fields.csv").read_text("utf-8"))
    chips = assemble(Path(folder, "microcode.txt").read_text("utf-8"), table)
    return {
        f"microcode-{number}.hex": intel_hex(content) for number, content in enumerate(chips, 1)
    }


if __name__ == "__main__":
    for name, content in hex_files(Path(sys.argv[1])).items():
        Path(sys.argv[1], name).write_text(content, "ascii")
