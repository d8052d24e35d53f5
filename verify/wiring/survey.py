"""What every wiring rule asks of a netlist: who reads a net, who drives it, what is used."""

from __future__ import annotations

from breadproof.specs.catalogue.families import Family
from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.drive import Driver, NetPlan, Pull, plan_drives
from breadproof.specs.netlist.model import Net, Netlist, Part, Pin
from breadproof.specs.reading.diagnostics import Problems
from breadproof.verify.wiring.chips import Chip


class Survey:
    """A netlist with its drives planned and its chips read, once for all rules.

    A net that has too many ways through contacts has no plan here; the Machine refuses such a
    board as input, so nothing is hidden.
    """

    def __init__(self, netlist: Netlist) -> None:
        """Plan the nets; chips are read when they are asked for."""
        self.netlist = netlist
        self.parts = {part.name: part for part in netlist.parts}
        self.plans: tuple[NetPlan, ...] = plan_drives(netlist, Problems())
        self.ports = {index: port for port in netlist.ports for index in port.nets}
        volts = dict(netlist.rails)
        self.shorted = frozenset(
            index
            for name, index in netlist.aliases
            if name in volts and netlist.nets[index].rail not in (None, volts[name])
        )
        """Nets that are two supplies at once."""
        self._chips: dict[str, Chip] = {}

    @property
    def chips(self) -> tuple[Part, ...]:
        """The chips on the board, in its order."""
        return tuple(part for part in self.netlist.parts if part.device == "chip")

    def chip(self, part: Part) -> Chip:
        """How the pins of a chip depend on each other."""
        key = part.type.key
        if key not in self._chips:
            self._chips[key] = Chip(part)
        return self._chips[key]

    def part(self, pin: Pin) -> Part:
        """The part that a pin is on."""
        return self.parts[pin.part]

    def family(self, pin: Pin) -> Family | None:
        """The family of the pin's part; None for what is no chip."""
        return self.parts[pin.part].family

    def net(self, pin: Pin) -> Net | None:
        """The net that a pin is on; None if it is open."""
        return None if pin.net is None else self.netlist.nets[pin.net]

    def readers(self, net: Net) -> tuple[Pin, ...]:
        """The pins of chips that look at a net."""
        return tuple(pin for pin in net.pins if pin.kind.reads and self.part(pin).device == "chip")

    def outputs(self, net: Net, *kinds: PinKind) -> tuple[Pin, ...]:
        """The pins of those kinds that sit on a net."""
        return tuple(pin for pin in net.pins if pin.kind in kinds)

    def leaves_board(self, net: Net) -> bool:
        """Whether somebody beyond this file may drive or pull the net: a port or a connector."""
        return net.index in self.ports or any(
            self.part(pin).device == "connector" for pin in net.pins
        )

    def joined_to_nothing(self, pin: Pin) -> bool:
        """Whether a pin is open, or alone on a net that leads nowhere."""
        net = self.net(pin)
        if net is None:
            return True
        return len(net.pins) == 1 and net.rail is None and not self.leaves_board(net)

    def unused(self, pin: Pin) -> bool:
        """Whether an input matters only to outputs that are wired to nothing.

        A net of its own makes an output used: somebody gave it a name for formulas; a rail does
        not. A bidirectional pin that matters to no other is unused too.
        """
        part = self.part(pin)
        reached = self.chip(part).reached_from(pin.number)
        outputs = [part.pin(number) for number in reached]
        if not outputs:
            return pin.kind.both_ways
        nets = [self.net(output) for output in outputs if output is not None]
        return all(net is None or net.rail is not None for net in nets)

    def drivers(self, net: Net) -> tuple[Driver, ...]:
        """All that can drive a net, through contacts too."""
        return self.plans[net.index].drivers

    def always_driven(self, net: Net) -> bool:
        """Whether something drives a net that never lets go and sits right on it."""
        return any(
            driver.wired
            and (
                driver.kind == "rail"
                or driver.always
                or (driver.pin is not None and driver.pin.kind is PinKind.OUT)
            )
            for driver in self.drivers(net)
        )

    def pulls(self, net: Net) -> tuple[Pull, ...]:
        """The resistors to something that has a level of its own."""
        return tuple(
            pull
            for pull in self.plans[net.index].pulls
            if any(driver.wired for driver in self.plans[pull.end].drivers)
        )
