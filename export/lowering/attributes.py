"""Attributes of the generated classes by name, a bit behind them as in Verilog: ``U1.Q[3]``."""

from __future__ import annotations

import re
from collections.abc import Mapping

from breadproof.export.lowering import values as v
from breadproof.export.lowering.values import Value

_BIT = re.compile(r"(.+)\[(\d+)\]")


def place_of(attribute: str) -> tuple[str, int | None]:
    """``U1.Q[3]`` as attribute ``U1.Q`` and bit 3; None: the attribute is meant whole."""
    found = _BIT.fullmatch(attribute)
    return (attribute, None) if found is None else (found[1], int(found[2]))


def bit_of(name: str, bit: int, width: int) -> str:
    """The place of a bit: ``bus[3]``, or ``clk`` where the signal is no wider."""
    return name if width == 1 else f"{name}[{bit}]"


def value_at(attribute: str, widths: Mapping[str, int], before: str = "") -> Value:
    """An attribute, or a bit of it, as a value; ``before`` is put in front of its name."""
    name, bit = place_of(attribute)
    width = widths[name]
    return v.stretch(f"{before}{name}", bit or 0, width if bit is None else 1, width)
