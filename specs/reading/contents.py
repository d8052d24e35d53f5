"""Contents of ROMs: Intel HEX, raw binary, or a list of words in the board file."""

from __future__ import annotations

import io
import re
from pathlib import Path

from intelhex import IntelHex, IntelHexError

from breadproof.specs.reading.diagnostics import BadInput, Problems, Span
from breadproof.specs.reading.yamltree import Rows, Text, Tree, read_bytes

_END = re.compile(r":00[0-9A-Fa-f]{4}01[0-9A-Fa-f]{2}\s*\Z")
"""The record that ends the file (Intel, Hexadecimal Object File Format Specification, 1988)."""
_WORD = re.compile(r"(?:0x(?P<hex>[0-9A-Fa-f]{1,32})|(?P<decimal>[0-9]{1,32}))\Z")


def read_contents(
    tree: Tree, folder: Path, words: int, bits: int, problems: Problems
) -> tuple[int, ...]:
    """The words of a ROM of ``words`` by ``bits``; problems are collected.

    A word that a file does not give reads as erased, all ones (common practice for EPROM and
    EEPROM). A text is a file beside the board file: ``.hex`` Intel HEX, anything else raw bytes.
    Raw bytes that are text (a table of numbers, another format) are such only in a file ``.bin``.
    """
    erased = (1 << bits) - 1
    if isinstance(tree, Rows):
        return _fill(_listed(tree, bits, problems), words, erased, tree.span, problems)
    if not isinstance(tree, Text):
        problems.error(
            "contents-shape",
            "contents are a file name or a list of words",
            tree.span,
            hint="Write 'contents: microcode.hex' or 'contents: [0x3F, 0x06]'.",
        )
        return (erased,) * words
    path = folder / tree.value
    try:
        data = read_bytes(path, "contents-unreadable")
    except BadInput as bad:
        problems.error(
            "contents-unreadable",
            f"'{tree.value}': {bad.diagnostics[0].message}",
            tree.span,
            hint="The name is taken beside the board file.",
        )
        return (erased,) * words
    if path.suffix.lower() in (".hex", ".ihex", ".ihx"):
        return _intel_hex(data, path, words, erased, tree.span, problems)
    if path.suffix.lower() != ".bin" and _is_text(data):
        problems.error(
            "contents-text",
            f"'{tree.value}' is text, and each of its letters would be taken for a byte",
            tree.span,
            hint="Intel HEX is in a file that ends in .hex; raw bytes that look like text are in "
            "one that ends in .bin; a few words stand in the board file: 'contents: [0x3F, 0x06]'.",
        )
    return _fill(list(data), words, erased, tree.span, problems)


def _is_text(data: bytes) -> bool:
    return bool(data) and all(32 <= byte < 127 or byte in b"\t\r\n\f" for byte in data)


def _listed(tree: Rows, bits: int, problems: Problems) -> list[int]:
    values: list[int] = []
    for item in tree.items:
        found = _WORD.match(item.value) if isinstance(item, Text) else None
        value = 0
        if found:
            value = int(found["hex"], 16) if found["hex"] else int(found["decimal"])
        if not found or value >> bits:
            problems.error(
                "contents-word",
                f"this is no word of {bits} bits",
                item.span,
                hint=f"Write 0x00 to 0x{(1 << bits) - 1:X}, or a decimal number.",
            )
        values.append(value)
    return values


def _fill(
    values: list[int], words: int, erased: int, span: Span, problems: Problems
) -> tuple[int, ...]:
    if len(values) > words:
        problems.error(
            "contents-too-long",
            f"there are {len(values):,} words, the chip holds {words:,}",
            span,
            hint="Cut the contents to the chip, or take a larger chip.",
        )
    return tuple((values + [erased] * words)[:words])


def _intel_hex(
    data: bytes, path: Path, words: int, erased: int, span: Span, problems: Problems
) -> tuple[int, ...]:
    def bad(what: str) -> tuple[int, ...]:
        problems.error(
            "contents-hex",
            f"'{path.name}' is no sound Intel HEX file: {what}",
            span,
            hint="Write the file again from the tool that made it; each line carries a checksum.",
        )
        return (erased,) * words

    try:
        image = IntelHex()
        text = data.decode("ascii")
        image.loadhex(io.StringIO(text))
        addresses = image.addresses()
    except UnicodeDecodeError:
        return bad("it is not ASCII text")
    except IntelHexError as error:
        return bad(str(error))
    if not any(_END.match(line) for line in text.splitlines()):
        return bad("it has no record that ends it (:00000001FF), so that some may be missing")
    if addresses and max(addresses) >= words:
        return bad(
            f"it has a byte at address 0x{max(addresses):X}, the chip ends at 0x{words - 1:X}"
        )
    given = set(addresses)
    return tuple(image[address] if address in given else erased for address in range(words))
