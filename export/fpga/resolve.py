"""A target's device: by its own name, or by that of an FPGA board."""

from __future__ import annotations

from breadproof.export.fpga.boards import BoardFacts, board_facts
from breadproof.export.fpga.tools import missing
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import near
from breadproof.specs.target.devices import Device, device, device_names, packages_of
from breadproof.specs.target.mapped import Mapped
from breadproof.specs.target.match import match
from breadproof.specs.target.model import Target


def mapped_onto(target: Target, netlist: Netlist, problems: Problems) -> Mapped | None:
    """A target on its device and board; None, with all problems noted, if something is wrong."""
    facts = board_facts(target.board, problems) if target.board is not None else None
    found = _device(target, facts, problems)
    if found is not None:
        lacks = missing(found.architecture)
        if lacks is not None:
            what, install = lacks
            span = (target.device or target.board or target).span
            problems.error(
                "extra-missing",
                f"a bitstream for {found.name} takes packages that are not installed: {what}",
                span,
                hint=f"Install them: {install}",
            )
    pin = target.clock_pin.value.upper() if target.clock_pin else ""
    clock = (pin, target.frequency or 0.0)
    aliases: dict[str, str] = {}
    if facts is not None:
        aliases = facts.aliases
        pin = aliases.get(target.clock_pin.value, pin) if target.clock_pin else facts.clock_pin
        clock = (pin, target.frequency or facts.frequency)
    return match(target, netlist, found, clock, aliases, problems)


def _device(target: Target, facts: BoardFacts | None, problems: Problems) -> Device | None:
    if facts is not None:
        return device(facts.device, facts.package)
    if target.device is None:
        return None
    name = target.device.value
    packages = packages_of(name)
    if not packages:
        names = device_names()
        problems.error(
            "device-unknown",
            f"'{target.device.value}' is no device that can be built for",
            target.device.span,
            hint=near(name, names) or f"Devices are {', '.join(names)}.",
        )
        return None
    if target.package is None:
        return None
    package = target.package.value
    if package not in packages:
        problems.error(
            "device-unknown",
            f"{name} does not come in '{target.package.value}'",
            target.package.span,
            hint=near(package, packages) or f"It comes in {', '.join(packages)}.",
        )
        return None
    return device(name, package)
