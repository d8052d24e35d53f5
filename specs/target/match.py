"""Holding a target against its board."""

from __future__ import annotations

from collections.abc import Mapping

from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.target.controls import ControlMap
from breadproof.specs.target.devices import Device
from breadproof.specs.target.mapped import Mapped
from breadproof.specs.target.model import Target
from breadproof.specs.target.outs import OutMap
from breadproof.specs.target.pinbook import PinBook


def match(
    target: Target,
    netlist: Netlist,
    device: Device | None,
    clock: tuple[str, float],
    aliases: Mapping[str, str],
    problems: Problems,
) -> Mapped | None:
    """Hold a target against a board.

    ``clock`` is the clock's pin and frequency; ``aliases`` are further names of the device's pins.
    What is wrong is noted, and None returned; without a device pins are held only against each
    other.
    """
    before = len(problems.found)
    book = PinBook(target, device, aliases, problems)
    if target.clock_pin is not None:
        book.pin(target.clock_pin, "the clock", direct=True)
    elif clock[0]:
        book.use(clock[0], "the clock", target.span)
    chains = [book.chain(chain) for chain in target.chains]
    controls = ControlMap(target, netlist, book, problems).controls()
    outs = OutMap(target, netlist, book, problems)
    lamps, ports = outs.lamps(), outs.ports()
    if device is None or len(problems.found) != before:
        return None
    seen = {one.name for one in (*lamps, *ports)}
    names = [lamp.name for lamp in netlist.lamps]
    names += [port.name for port in netlist.ports if port.direction == "out" and not port.moment]
    return Mapped(
        target=target,
        device=device,
        clock_pin=clock[0],
        frequency=clock[1],
        chains=tuple(chains),
        controls=tuple(controls),
        lamps=tuple(lamps),
        ports=tuple(ports),
        unseen=tuple(name for name in names if name not in seen),
    )
