"""Contents of large memories, taken out of Verilog before yosys reads it.

Yosys unrolls the loop that fills a memory, which takes it minutes for some thousand words. So each
such block is read here, strictly, and the memory bears a mark in its stead. What a block may look
like is written down here and nowhere else; anything else is refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

MARK = "content_taken_out"
"""The attribute of a memory whose content was taken out; its value is the place of the content."""

_BLOCK = re.compile(r"^  initial begin : \\(\S+)\$contents $")
_DECLARED = re.compile(r"^  reg (?:\[(?P<high>\d+):0\] )?(?P<name>\S+) +\[(?P<last>\d+):0\];$")
_PLACE = re.compile(r"^    reg \[(\d+):0\] place;$")
_LOOP = re.compile(r"^    for \(place = 0; place < (\d+); place = place \+ 1\)$")
_ALL = re.compile(r"^      (\S+) \[place\[(\d+):0\]\] = (\d+)'h([0-9a-f]+);$")
_ONE = re.compile(r"^    (\S+) \[(\d+)\] = (\d+)'h([0-9a-f]+);$")


class UnreadableContent(Exception):
    """A block that fills a memory does not look as it must."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """The text without the blocks, and the words of each, in the order of their marks."""

    text: str
    contents: tuple[tuple[int, ...], ...]


def taken_out(verilog: str) -> Taken:
    """Take all blocks out of a text.

    Raises:
        UnreadableContent: for a block that is not of the form that is known here.
    """
    lines: list[str] = []
    contents: list[tuple[int, ...]] = []
    rest = iter(verilog.split("\n"))
    for line in rest:
        if not _BLOCK.match(line):
            lines.append(line)
            continue
        declared = _DECLARED.match(lines[-1]) if lines else None
        if declared is None:
            raise UnreadableContent(f"a block fills what is not declared above it: {line.strip()}")
        lines[-1] = f"  (* {MARK} = 32'd{len(contents)} *)\n{lines[-1]}"
        contents.append(_words(declared, rest))
    return Taken(text="\n".join(lines), contents=tuple(contents))


def _words(declared: re.Match[str], rest: Iterator[str]) -> tuple[int, ...]:
    """The words that a block gives to the memory that is declared so."""
    name, size = declared["name"], int(declared["last"]) + 1
    bits = int(declared["high"] or 0) + 1
    place, loop, common = (pattern.match(next(rest, "")) for pattern in (_PLACE, _LOOP, _ALL))
    if place is None or loop is None or common is None:
        raise UnreadableContent(f"the block that fills {name} does not begin with its loop")
    counts = 2 << int(place[1]) > size and 2 << int(common[2]) >= size
    if not counts or int(loop[1]) != size or common[1] != name:
        raise UnreadableContent(f"the loop that fills {name} does not reach all of its words")
    words = [_word(common[3], common[4], bits, name)] * size
    for line in rest:
        if line == "  end":
            return tuple(words)
        one = _ONE.match(line)
        if one is None or one[1] != name or int(one[2]) >= size:
            raise UnreadableContent(f"in the block that fills {name}: {line.strip()}")
        words[int(one[2])] = _word(one[3], one[4], bits, name)
    raise UnreadableContent(f"the block that fills {name} does not end")


def _word(width: str, digits: str, bits: int, name: str) -> int:
    word = int(digits, 16)
    if int(width) != bits or word >> bits:
        raise UnreadableContent(f"a word of {name} is not {bits} bits wide: {width}'h{digits}")
    return word
