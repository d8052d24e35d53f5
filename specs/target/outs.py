"""Which pins a board's lamps and outgoing ports are at, as a target says."""

from __future__ import annotations

from collections.abc import Mapping

from breadproof.specs.netlist.model import Lamp, Netlist, Port, written
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import near
from breadproof.specs.target.mapped import MappedOut
from breadproof.specs.target.model import Active, Target, Wiring
from breadproof.specs.target.pinbook import PinBook, named


class OutMap:
    """Maps what goes out; what is wrong is noted."""

    def __init__(self, target: Target, netlist: Netlist, book: PinBook, problems: Problems) -> None:
        """Take the target, the board, and who uses which pin."""
        self.target = target
        self.netlist = netlist
        self.book = book
        self.problems = problems

    def lamps(self) -> list[MappedOut]:
        """All lamps that are at a pin."""
        lamps = {lamp.name: lamp for lamp in self.netlist.lamps}
        found: dict[str, MappedOut] = {}
        for wiring in self.target.lamps:
            several = self._lamps_of(wiring, lamps)
            if len(wiring.pins) != len(several):
                if several:
                    self.book.count(wiring, len(several), "a pin for each lamp, in order")
                continue
            for lamp, text in zip(several, wiring.pins, strict=True):
                active: Active = wiring.active or "high"
                pin = self.book.pin(text, f"'{lamp.name}'", active, "none", out=True)
                found[lamp.name] = MappedOut(name=lamp.name, pins=(pin,))
        return list(found.values())

    def _lamps_of(self, wiring: Wiring, lamps: Mapping[str, Lamp]) -> list[Lamp]:
        parts = {lamp.part for lamp in lamps.values()}
        name = named(wiring.name, {*lamps, *parts})
        if name in lamps:
            return [lamps[name]]
        several = [lamp for lamp in lamps.values() if lamp.part == name]
        if not several:
            names = sorted(map(written, {*lamps, *parts}))
            self.problems.error(
                "lamp-unknown",
                f"the board has no lamp '{wiring.name.value}'",
                wiring.name.span,
                hint=near(written(name), names) or f"It has {', '.join(names) or 'none'}.",
            )
        return several

    def ports(self) -> list[MappedOut]:
        """All ports that only go out and are at pins."""
        ports = {port.name: port for port in self.netlist.ports if not port.moment}
        found: list[MappedOut] = []
        for wiring in self.target.ports:
            port = ports.get(named(wiring.name, ports))
            if port is None:
                self.problems.error(
                    "port-unknown",
                    f"the board has no port '{wiring.name.value}'",
                    wiring.name.span,
                    hint=near(written(wiring.name.value), sorted(map(written, ports)))
                    or f"It has {', '.join(map(written, ports)) or 'none'}.",
                )
            elif port.direction == "out":
                found += self._out_port(port, wiring)
        return found

    def _out_port(self, port: Port, wiring: Wiring) -> list[MappedOut]:
        if len(wiring.pins) != len(port.nets):
            self.book.count(wiring, len(port.nets), "a pin for each net, most significant first")
            return []
        active: Active = wiring.active or "high"
        pins = [self.book.pin(text, f"'{port.name}'", active, out=True) for text in wiring.pins]
        return [MappedOut(name=port.name, pins=tuple(pins))]
