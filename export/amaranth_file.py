"""The board as one Amaranth file that stands alone (``breadproof export --to amaranth``)."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.export.header import Proofs, header
from breadproof.export.lowering.board import Lowered, lower
from breadproof.specs.netlist.model import Netlist

_RESOLVER = '''\
class Resolver(wiring.Component):
    """A net with several drivers, of which one at a time may drive it."""

    def __init__(self, drivers):
        super().__init__(
            {
                "drives": In(drivers),
                "levels": In(drivers),
                "driven": Out(1),
                "fights": Out(1),
                "level": Out(1),
            }
        )

    def elaborate(self, platform):
        m = Module()
        pairs = [
            self.drives[first] & self.drives[:first].any() for first in range(1, len(self.drives))
        ]
        m.d.comb += [
            self.driven.eq(self.drives.any()),
            self.fights.eq(Cat(*pairs).any()),
            self.level.eq((self.drives & self.levels).any()),
        ]
        return m
'''


@dataclass(frozen=True, slots=True, kw_only=True)
class Generated:
    """A board's Amaranth source with the map of where everything is in it."""

    source: str
    lowered: Lowered


def generate(netlist: Netlist, proofs: Proofs | None = None) -> Generated:
    """The Amaranth source of a board; the same board gives the same text.

    Raises:
        BadInput: for an operator in a part file that is not exported, or tangled contacts.
    """
    lowered = lower(netlist)
    used = "\n".join(line for kind in lowered.classes for line in kind.lines)
    body = "\n".join([used, *lowered.lines])
    names = [
        name
        for name in ("Cat", "Const", "EnableInserter", "Module", "Mux", "Signal")
        if f"{name}(" in body or (name == "Cat" and lowered.resolvers)
    ]
    imports = [f"from amaranth.hdl import {', '.join(names)}", "from amaranth.lib import wiring"]
    if " Memory(" in body:
        imports.append("from amaranth.lib.memory import Memory")
    sides = [side for side in ("In", "Out") if f": {side}(" in body or lowered.resolvers]
    if sides:
        imports.append(f"from amaranth.lib.wiring import {', '.join(sides)}")
    about = header(netlist, lowered, proofs)
    pieces = [
        '"""' + about[0] + "\n\n" + "\n".join(about[1:]) + '\n"""',
        "\n".join(imports),
        *(["\n" + _RESOLVER.rstrip("\n")] if lowered.resolvers else []),
        *("\n" + "\n".join(kind.lines) for kind in lowered.classes),
        "\n" + "\n".join(lowered.lines),
    ]
    return Generated(source="\n\n".join(pieces) + "\n", lowered=lowered)
