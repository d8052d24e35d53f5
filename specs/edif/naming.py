"""Legal names for a board file from the names of a drawing, and vectors from numbered nets."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from breadproof.specs.catalogue.vectors import indices
from breadproof.specs.edif.model import bit_of
from breadproof.specs.edif.pins import GROUNDS, SUPPLIES

_LEGAL = re.compile(r"[A-Za-z_][A-Za-z0-9_]*\Z")
_FORMULA_WORDS = frozenset(
    ("always", "before", "eventually", "never", "next", "until", "prev", "rose", "fell", "stable",
     "onehot", "onehot0", "countones", "fights", "floats", "drivers", "writes", "ever", "outside",
     "glitches", "shows")
)  # fmt: skip
"""Words of the formula language: a net of that name could not be spoken of."""
_PLAIN = re.compile(r"([A-Za-z][A-Za-z_]*?)_?(0|[1-9][0-9]?)\Z")
_NO_BITS = frozenset(("N", "NET", "SIG", "UNNAMED", "NODE", "W", "WIRE", *SUPPLIES, *GROUNDS))
"""Stems of names that programs make up, and supplies: numbers behind them are no bits."""
_LEAST = 4
"""So many nets that are numbered without brackets are taken for a vector."""
_WIDEST = 256


def is_legal(name: str) -> bool:
    """Whether a board file and its formulas can use a name."""
    return _LEGAL.match(name) is not None and name not in _FORMULA_WORDS


def legal(name: str, otherwise: str, *, ours: bool = False) -> str:
    """A name that a board file can use, near to the given one; a mark of active low becomes _n.

    ``ours``: it comes from a board file, which may have used a word of the formulas.
    """
    if is_legal(name) or (ours and _LEGAL.match(name)):
        return name
    text, low = name.strip(), False
    path, slash, last = text.rpartition("/")
    if slash and path.strip("/"):
        text = f"{path.strip('/')}_{last}"  # a block's name and a net's
    while len(text) > 1 and text[0] in "/~!":
        text, low = text[1:], True
    while len(text) > 1 and text[-1] in "#*\\'~":
        text, low = text[:-1], True
    text = re.sub(r"\A\+(?=[0-9A-Za-z])", "P", text)
    text = re.sub(r"\A-(?=[0-9])", "M", text)
    text = re.sub(r"([0-9])\.([0-9]+)V\b", r"\1V\2", text)
    text = re.sub(r"[^A-Za-z0-9]+", "_", text).strip("_")
    if not text:
        text = otherwise
    if text[0].isdigit():
        text = f"{otherwise}_{text}"
    if low and not text.lower().endswith("_n"):
        text += "_n"
    return text if is_legal(text) else f"{text}_"


class Names:
    """Names that are taken."""

    def __init__(self, taken: Iterable[str] = ()) -> None:
        """Begin with those that are taken already."""
        self.taken = set(taken)

    def take(self, name: str) -> str:
        """The name itself, or with a number behind it if it is taken."""
        found, number = name, 1
        while found in self.taken:
            number += 1
            found = f"{name}_{number}"
        self.taken.add(found)
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Bits:
    """A vector of the drawing: its stem there, and the label of each bit, ``left`` first."""

    stem: str
    left: int
    right: int
    labels: tuple[str, ...]


def told_vectors(text: str, labels: Sequence[str]) -> list[Bits]:
    """``bus[7:0] d[0:3]`` as vectors, as far as all of their bits are there."""
    known = set(labels)
    found: list[Bits] = []
    for word in text.split():
        match = re.fullmatch(r"(.+)\[(\d{1,4}):(\d{1,4})\]", word)
        if match is None:
            continue
        left, right = int(match[2]), int(match[3])
        bits = _bits(match[1], left, right)
        if all(label in known for label in bits.labels) and len(bits.labels) <= _WIDEST:
            found.append(bits)
    return found


def seen_vectors(labels: Sequence[str], ascending: frozenset[str]) -> list[Bits]:
    """Vectors that names show: ``D[0]`` to ``D[7]`` (or with < > or ( )), and ``A0`` to ``A12``.

    All numbers must be there. Without brackets there must be four or more, from 0 or 1 on. The
    highest number is the most significant, except for the stems in ``ascending``.
    """
    marked: dict[str, dict[int, str]] = {}
    numbered: dict[str, dict[int, str]] = {}
    whole = {label.lower() for label in labels}
    for label in labels:
        bit = bit_of(label)
        plain = _PLAIN.match(label)
        if bit is not None:
            marked.setdefault(bit[0], {}).setdefault(bit[1], label)
        elif plain is not None and not {plain[1].upper(), label.upper()} & _NO_BITS:
            numbered.setdefault(plain[1], {}).setdefault(int(plain[2]), label)
    found: list[Bits] = []
    for stem, bits in marked.items():
        if _whole(bits) and 2 <= len(bits) <= _WIDEST:
            found.append(_from(stem, bits, stem in ascending))
    for stem, bits in numbered.items():
        if stem.lower() in whole or stem in marked or not _whole(bits):
            continue
        if _LEAST <= len(bits) <= _WIDEST and min(bits) <= 1:
            found.append(_from(stem, bits, False))
    return found


def _whole(bits: dict[int, str]) -> bool:
    return max(bits) - min(bits) + 1 == len(bits)


def _from(stem: str, bits: dict[int, str], ascending: bool) -> Bits:
    order = sorted(bits, reverse=not ascending)
    return Bits(
        stem=stem, left=order[0], right=order[-1], labels=tuple(bits[number] for number in order)
    )


def _bits(stem: str, left: int, right: int) -> Bits:
    labels = tuple(f"{stem}[{number}]" for number in indices(left, right))
    return Bits(stem=stem, left=left, right=right, labels=labels)
