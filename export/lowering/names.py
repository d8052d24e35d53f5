"""Names of the board as names of Python, each once."""

from __future__ import annotations

import keyword
import re

from breadproof.specs.netlist.model import Netlist

_TAKEN = frozenset(
    {
        *("signature", "elaborate", "platform", "self", "m", "seen", "tick", "last", "unsettled"),
        *("tick_clk", "tick_rst", "wiring", "Module", "Signal", "Cat", "Const", "Mux", "Memory"),
        *("In", "Out", "Resolver", "EnableInserter", "choose", "DomainRenamer"),
    }
)
_CLOCK = frozenset({"clk", "rst"})
"""Ports that Amaranth adds to a module."""


CLOCK = "tick"
"""The clock domain: its ports are ``tick_clk`` and ``tick_rst``, so that a board's net may be
called ``clk``."""


class Names:
    """Hands out Python names; a name that is taken gets a number behind it."""

    def __init__(self) -> None:
        """Start with what Amaranth and the generated code use themselves."""
        self.used: set[str] = set(_TAKEN)

    def new(self, wish: str, *, port: bool = False) -> str:
        """``bus[3]`` becomes ``bus_3``, ``U1.5`` ``U1_5``; a ``port`` is not called ``clk``."""
        plain = re.sub(r"[^A-Za-z0-9_]+", "_", wish).strip("_") or "net"
        if plain[0].isdigit():
            plain = f"n{plain}"
        if keyword.iskeyword(plain) or keyword.issoftkeyword(plain):
            plain = f"{plain}_"
        found, number = plain, 2
        while found in self.used or (port and found in _CLOCK):
            found, number = f"{plain}_{number}", number + 1
        self.used.add(found)
        return found


def module_name(netlist: Netlist) -> str:
    """``light-store`` becomes ``light_store``."""
    plain = re.sub(r"[^A-Za-z0-9_]", "_", netlist.board)
    return plain if plain[:1].isalpha() else f"board_{plain}"


def class_name(wish: str) -> str:
    """``light-store`` becomes ``LightStore``."""
    words = re.findall(r"[A-Za-z0-9]+", wish)
    joined = "".join(word[:1].upper() + word[1:] for word in words) or "Board"
    joined = f"Board{joined}" if joined[0].isdigit() else joined
    return f"{joined}Board" if joined in _TAKEN or joined.startswith("Chip") else joined
