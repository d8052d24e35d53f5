"""The words that large memories hold at power-up, written past Amaranth and yosys.

Both write a memory's initial content bit by bit, which takes them some 20 s for half a million
words. So it is withheld from them, the memory bears a mark instead, and the content is put into
their text at the mark: the meaning is the same, every word has its initial value.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

LARGE_WORDS = 4096
"""A memory of more words is large."""
MARK = "withheld_content"
"""The attribute of a memory whose content was withheld; it is in no text that is handed out."""

_MARKED = re.compile(rf"^  attribute \\{MARK} (\d+)$")
_DECLARED = re.compile(r"^  memory width (\d+) size \d+ \\(\S+)$")
_VERILOG = re.compile(
    rf"^  \(\* {MARK} = 32'd(\d+) \*\)\n(  reg .* (\S+) +\[\d+:0\];)$", re.MULTILINE
)
_HOLDS = "  cell $meminit_v2 "


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """All ``words`` of a memory, each of ``bits`` bits."""

    bits: int
    words: tuple[int, ...]


@dataclass(slots=True)
class Withheld:
    """Makes the memories of generated source, and keeps the contents of large ones.

    ``contents``: what was kept; a memory's mark is the place of its content. A memory of more than
    ``least`` words is large.
    """

    least: int = LARGE_WORDS
    contents: list[Content] = field(default_factory=list)

    def memory(self, *, shape: int, depth: int, init: list[int]) -> Any:
        """A memory as Amaranth makes it, but for a large one's content."""
        from amaranth.lib.memory import Memory

        if depth <= self.least:
            return Memory(shape=shape, depth=depth, init=init)
        made = Memory(shape=shape, depth=depth, init=[], attrs={MARK: len(self.contents)})
        # Not public, and looked at nowhere but where initial content is written.
        made.data.init._raw = []
        words = (*init, *[0] * (depth - len(init)))
        self.contents.append(Content(bits=shape, words=words))
        return made


def without(rtlil: str) -> str:
    """RTLIL in which large memories have no content at all, but keep their marks."""
    return "\n".join(_lines(rtlil, None))


def within(rtlil: str, contents: list[Content]) -> str:
    """RTLIL in which the content stands where Amaranth writes it, and no mark."""
    return "\n".join(_lines(rtlil, contents))


def _lines(rtlil: str, contents: list[Content] | None) -> Iterator[str]:
    """The lines of RTLIL, with the contents of marked memories put in; None: left out."""
    mark: int | None = None
    marks: dict[str, int] = {}
    cell: list[str] = []
    for line in rtlil.split("\n"):
        if line.startswith("module "):
            marks = {}
        if line.startswith(_HOLDS) or cell:
            cell.append(line)
            if line == "  end":
                yield from _held(cell, marks, contents)
                cell = []
            continue
        if found := _MARKED.match(line):
            mark = int(found[1])
            if contents is not None:
                continue
        if found := _DECLARED.match(line):
            if mark is not None:
                marks[found[2]] = mark
            mark = None
        yield line


def _held(cell: list[str], marks: dict[str, int], contents: list[Content] | None) -> list[str]:
    """The cell that says what a memory holds."""
    label = next(line for line in cell if line.startswith(r"    parameter \MEMID "))
    mark = marks.get(label.split('"')[1].removeprefix(r"\\"))
    if mark is None:
        return cell
    if contents is None:
        return []
    data = f"    connect \\DATA {_bits(contents[mark])}"
    return [data if line.startswith(r"    connect \DATA ") else line for line in cell]


def _bits(content: Content) -> str:
    """All words as one constant, the first one last."""
    digits = "".join(f"{word:0{content.bits}b}" for word in reversed(content.words))
    return f"{len(digits)}'{digits}"


def in_verilog(verilog: str, contents: list[Content]) -> str:
    """Verilog in which a block below each marked memory gives every word its initial value."""
    text, put = _VERILOG.subn(
        lambda found: _block(found[2], found[3], contents[int(found[1])]), verilog
    )
    if put != len(contents):
        raise RuntimeError(f"{len(contents)} memories have a mark, and {put} are in the Verilog")
    return text


def _block(declared: str, name: str, content: Content) -> str:
    """The declaration, a loop that gives all words the commonest value, and the others."""
    width = (len(content.words) - 1).bit_length()
    digits = (content.bits + 3) // 4
    common = Counter(content.words).most_common(1)[0][0]

    def put(place: str, word: int) -> str:
        return f"{name} [{place}] = {content.bits}'h{word:0{digits}x};"

    lines = [
        declared,
        f"  initial begin : \\{name.removeprefix(chr(92))}$contents ",
        f"    reg [{width}:0] place;",
        f"    for (place = 0; place < {len(content.words)}; place = place + 1)",
        f"      {put(f'place[{width - 1}:0]', common)}",
    ]
    others = ((place, word) for place, word in enumerate(content.words) if word != common)
    lines += [f"    {put(str(place), word)}" for place, word in others]
    return "\n".join([*lines, "  end"])
