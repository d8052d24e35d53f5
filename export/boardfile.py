"""A board as the text of a board file, with comments where there is more to tell."""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from breadproof.specs.catalogue.vectors import indices
from breadproof.specs.reading.board import Board, NetEntry, PartEntry, PinRef
from breadproof.specs.reading.wires import WireEntry
from breadproof.specs.reading.yamltree import Rows, Text, Tree

WIDTH = 100
_PLAIN = re.compile(r"[A-Za-z0-9_]+(?:[./-][A-Za-z0-9_]+)*\Z")
_NUMBER = re.compile(r"[0-9._/-]+(?:[eE][-+]?[0-9]+)?\Z|0[xob]", re.IGNORECASE)
_OPTION = re.compile(r"[A-Za-z0-9]+(?:\.[0-9]+)?[A-Za-z]*\Z")
"""What needs no quotes as an option: 8, true, 4.7k."""
_NOT_PLAIN = frozenset(("true", "false", "yes", "no", "on", "off", "null", "y", "n"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Remarks:
    """Comments: at the top, and beside parts and nets by their names (``bus[3]`` for a bit)."""

    head: Sequence[str] = ()
    parts: Mapping[str, Sequence[str]] = field(default_factory=dict)
    nets: Mapping[str, Sequence[str]] = field(default_factory=dict)


def board_text(board: Board, remarks: Remarks) -> str:
    """The text of a board file that says what ``board`` does; the same board gives the same.

    Texts that an editor may take for numbers or booleans are quoted.
    """
    lines: list[str] = []
    for text in remarks.head:
        lines += _comment(text, "")
    lines += [f"board: {quoted(board.name)}"]
    if board.title:
        lines.append(f"title: {quoted(board.title)}")
    for key, value in (
        ("family", board.family), ("supply", board.supply), ("catalogue", board.catalogue)
    ):  # fmt: skip
        if key == "supply" and board.current is not None:
            supply = [] if value is None else [f"voltage: {quoted(value.value)}"]
            supply.append(f"current: {quoted(board.current.value)}")
            lines.append(f"supply: {{{', '.join(supply)}}}")
        elif value is not None:
            lines.append(f"{key}: {quoted(value.value)}")
    lines += _pairs("rails", board.rails)
    lines += _section("parts", (line for part in board.parts for line in _part(part, remarks)))
    lines += _section("nets", (line for net in board.nets for line in _net(net, remarks)))
    lines += _section("wires", map(_wire, board.wires))
    lines += _section("ports", (f"  {port.name}: {port.direction.value}" for port in board.ports))
    lines += _together(board)
    lines += _pairs("reset", board.reset)
    lines += _bounces(board)
    lines += _section("accept", _accepts(board))
    for kind in ("assume", "assert", "cover"):
        lines += _section(kind, _formulas(board, kind))
    return "\n".join([*lines, ""])


def quoted(text: str) -> str:
    """A text as YAML, in double quotes if it could be taken for something else."""
    if _PLAIN.match(text) and not _NUMBER.match(text) and text.lower() not in _NOT_PLAIN:
        return text
    shown = json.dumps(text, ensure_ascii=False)
    return re.sub("[\x7f-\xa0\u2028\u2029\ufeff]", lambda found: f"\\u{ord(found[0]):04x}", shown)


def _section(key: str, lines: Iterator[str]) -> list[str]:
    found = list(lines)
    return ["", f"{key}:", *found] if found else []


def _pairs(key: str, pairs: Sequence[tuple[Text, Text]]) -> list[str]:
    """Names with their values; a name that comes several times has a list of them."""
    if not pairs:
        return []
    values: dict[str, list[str]] = {}
    for name, value in pairs:
        values.setdefault(name.value, []).append(quoted(value.value))
    shown: list[str] = []
    for called, own in values.items():
        several = f"[{', '.join(own)}]"
        shown.append(f"{called}: {own[0] if len(own) == 1 else several}")
    return [f"{key}: {{{', '.join(shown)}}}"]


def _comment(text: str, indent: str) -> list[str]:
    plain = "".join(c if c.isprintable() else " " for c in text)
    return textwrap.wrap(
        " ".join(plain.split()),
        WIDTH,
        initial_indent=f"{indent}# ",
        subsequent_indent=f"{indent}# ",
        break_long_words=False,
        break_on_hyphens=False,
    )


def _part(entry: PartEntry, remarks: Remarks) -> Iterator[str]:
    name, printed = entry.name.value, quoted(entry.printed.value)
    inner = [f"part: {printed}", *(f"{key.value}: {_tree(value)}" for key, value in entry.options)]
    body = f"{{{', '.join(inner)}}}" if entry.options else printed
    notes = "; ".join(remarks.parts.get(name, ()))
    line = f"  {name}: {body}"
    comment = _comment(notes, "")
    if len(comment) == 1 and len(line) + len(comment[0]) + 2 <= WIDTH:
        yield f"{line}  {comment[0]}"
        return
    yield from _comment(notes, "  ")
    yield line


def _tree(tree: Tree) -> str:
    if isinstance(tree, Text):
        return tree.value if _OPTION.match(tree.value) else quoted(tree.value)
    if isinstance(tree, Rows):
        return f"[{', '.join(_tree(item) for item in tree.items)}]"
    return f"{{{', '.join(f'{key.value}: {_tree(value)}' for key, value in tree)}}}"


def _net(entry: NetEntry, remarks: Remarks) -> Iterator[str]:
    if not entry.vector:
        yield from _comment("; ".join(remarks.nets.get(entry.name, ())), "  ")
        yield from _wrapped(f"  {entry.name}: ", [_pin(row[0]) for row in entry.rows])
        return
    for number in indices(entry.left, entry.right):
        notes = remarks.nets.get(f"{entry.name}[{number}]", ())
        if notes:
            yield from _comment(f"[{number}]: {'; '.join(notes)}", "  ")
    yield f"  {entry.name}[{entry.left}:{entry.right}]:"
    for row in entry.rows:
        if len({pin.part for pin in row}) == 1:
            yield f"    - {row[0].part}.[{', '.join(pin.pin for pin in row)}]"
        else:
            yield from _wrapped("    - ", [_pin(pin) for pin in row])


def _pin(pin: PinRef) -> str:
    return f"{pin.part}.{pin.pin}"


def _wrapped(start: str, items: list[str]) -> Iterator[str]:
    """A list between brackets, on as many lines as it needs."""
    line = f"{start}["
    for place, item in enumerate(items):
        text = item if place == len(items) - 1 else f"{item},"
        if len(line) + len(text) + 2 > WIDTH and line.strip():
            yield line.rstrip()
            line = " " * 6
        line += f"{text} "
    yield f"{line.rstrip()}]"


def _wire(entry: WireEntry) -> str:
    first, second = (end.value for end in entry.ends)
    if entry.colour:
        colour = quoted(entry.colour)
        return f"  - {{from: {quoted(first)}, to: {quoted(second)}, colour: {colour}}}"
    return f"  - {first} to {second}"


def _together(board: Board) -> list[str]:
    if board.together == "all":
        return ["together: all"]
    groups = [f"[{', '.join(quoted(n.value) for n in group)}]" for group in board.together]
    return [f"together: [{', '.join(groups)}]"] if groups else []


def _bounces(board: Board) -> list[str]:
    names = ", ".join(quoted(name.value) for name in board.bounces)
    return [f"bounces: [{names}]"] if names else []


def _accepts(board: Board) -> Iterator[str]:
    for one in board.accepts:
        where = f"pin: {quoted(one.pin)}" if one.pin else f"net: {quoted(one.net)}"
        yield f"  - {{code: {quoted(one.code)}, {where}, because: {quoted(one.because)}}}"


def _formulas(board: Board, kind: str) -> Iterator[str]:
    for entry in board.formulas:
        if entry.kind != kind:
            continue
        yield f"  {entry.name.value}:"
        if entry.says:
            yield f"    says: {quoted(entry.says)}"
        yield f"    formula: {quoted(entry.text.value)}"
