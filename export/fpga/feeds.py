"""Where a control's levels come from on an FPGA."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from breadproof.specs.netlist.model import Control

Source = Literal["pins", "divider", "step", "free", "fixed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """The source of one control.

    - ``pins``: a pin for each of ``control.bits``, or one pin for the bit ``single`` of a
      change-over switch, which is in its other position otherwise.
    - ``divider``: changes every ``half`` clocks. ``free``: changes whenever the board is quiet and
      nothing else wants to.
    - ``step``: a press of a button gives one whole clock: up, and down when the board is quiet.
    - ``fixed``: has ``levels`` for good.

    ``wait`` is the number of clocks for which pins must hold still; 0: two clocks running.
    """

    control: Control
    source: Source
    wait: int = 0
    single: int | None = None
    half: int = 0
    levels: tuple[int, ...] = ()

    @property
    def pins(self) -> int:
        """How many pins it has."""
        match self.source:
            case "pins":
                return 1 if self.single is not None else len(self.control.bits)
            case "step":
                return 1
            case "divider" | "free" | "fixed":
                return 0
