"""The whole design as it goes into synthesis, and where the board is in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from breadproof.export.amaranth_file import Generated
from breadproof.export.fpga.wrapper import Wrapper
from breadproof.export.named import names_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """A design in RTLIL, whose top module is ``fpga``.

    ``names`` has the name of each attribute that the maps of `Lowered` lead to, as a path below the
    top module; ``board`` is the path of the board's module. A tick of the board takes ``clocks``
    clocks; ``go`` is the name of what is high in the last of them, and ``running`` is high once
    ticks are counted. ``fixed`` has the levels of controls that never move, by attribute and place.
    """

    text: str
    board: str
    names: dict[str, str]
    clocks: int
    go: str
    running: str
    fixed: dict[tuple[str, int], int]


def design_of(text: str, generated: Generated, wrapper: Wrapper, platform: Any) -> Design:
    """The design that a platform has just written."""
    names = platform._name_map
    return Design(
        text=text,
        board="wrapper.board",
        names=names_of(generated, wrapper.board, names),
        clocks=wrapper.clocks,
        go=".".join(names[wrapper.go][1:]),
        running=".".join(names[wrapper.running][1:]),
        fixed={
            bit: level
            for feed in wrapper.feeds
            if feed.source == "fixed"
            for bit, level in zip(
                generated.lowered.controls[feed.control.name], feed.levels, strict=True
            )
        },
    )
