"""Vectors in part files: `Q[3:0]` is the pins Q3, Q2, Q1, Q0, or bits 3 to 0 of the storage Q."""

from __future__ import annotations

import re

_VECTOR = re.compile(r"([A-Za-z_][A-Za-z0-9_]*)\[([0-9]{1,4}):([0-9]{1,4})\]")
_NAME = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")


def is_name(text: str) -> bool:
    """Whether a text can stand as a name in a formula: letters, digits and _, a letter first."""
    return _NAME.fullmatch(text) is not None


def split(text: str) -> tuple[str, int, int] | None:
    """``Q[3:0]`` as ("Q", 3, 0), or None where a text is no vector."""
    match = _VECTOR.fullmatch(text)
    return None if match is None else (match[1], int(match[2]), int(match[3]))


def indices(left: int, right: int) -> tuple[int, ...]:
    """The indices of ``[left:right]`` in order of writing, the most significant bit first."""
    step = -1 if left >= right else 1
    return tuple(range(left, right + step, step))


def pin_names(stem: str, left: int, right: int) -> tuple[str, ...]:
    """The pins that ``stem[left:right]`` means, most significant first."""
    return tuple(f"{stem}{index}" for index in indices(left, right))
