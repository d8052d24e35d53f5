"""FPGA boards by the names that the package amaranth-boards has for them."""

from __future__ import annotations

import importlib
import importlib.util
import inspect
import pkgutil
from dataclasses import dataclass
from typing import Any

from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import Text, near
from breadproof.specs.target.devices import ECP5_SIZES, device_names

INSTALL = "pip install 'breadproof[fpga]'"


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardFacts:
    """What is known of a board: its FPGA, its clock, and further names of pins.

    ``aliases`` has ``led.0`` for a resource of one pin, and ``j_1:3`` for a connector's.
    """

    device: str
    package: str
    clock_pin: str
    frequency: float
    aliases: dict[str, str]


def board_facts(name: Text, problems: Problems) -> BoardFacts | None:
    """A board of amaranth-boards by its module's name; None, with a problem noted, if none is."""
    if importlib.util.find_spec("amaranth_boards") is None:
        problems.error(
            "extra-missing",
            "boards by name are in the package amaranth-boards, which is not installed",
            name.span,
            hint=f"Install it: {INSTALL}; or write 'device', 'package' and 'clock'.",
        )
        return None
    package = importlib.import_module("amaranth_boards")
    names = sorted(one.name for one in pkgutil.iter_modules(package.__path__) if not one.ispkg)
    if name.value not in names:
        problems.error(
            "board-unknown",
            f"there is no board '{name.value}'",
            name.span,
            hint=near(name.value, names) or "Boards are called as the modules of amaranth-boards.",
        )
        return None
    facts = _facts(importlib.import_module(f"amaranth_boards.{name.value}"))
    if facts is None:
        problems.error(
            "board-unfit",
            f"the FPGA of '{name.value}' is not one that can be built for",
            name.span,
            hint=f"Devices are {', '.join(device_names())}.",
        )
    return facts


def _facts(module: Any) -> BoardFacts | None:
    for _, found in inspect.getmembers(module, inspect.isclass):
        if found.__module__ != module.__name__ or not hasattr(found, "default_clk"):
            continue
        device = _device(str(getattr(found, "device", "")))
        if device is None:
            continue
        platform: Any = found()
        resource = platform.resources.get((found.default_clk, 0))
        if resource is None or resource.clock is None:
            return None
        aliases = dict(platform._conn_pins)
        for (kind, number), one in platform.resources.items():
            pins = [pin for io in one.ios for pin in getattr(io, "names", [])]
            if len(one.ios) == 1 and len(pins) == 1:
                aliases[f"{kind}.{number}"] = aliases.get(pins[0], pins[0])
        clock = resource.ios[0].names[0]
        return BoardFacts(
            device=device,
            package=str(platform.package).lower(),
            clock_pin=aliases.get(clock, clock),
            frequency=float(resource.clock.frequency),
            aliases=aliases,
        )
    return None


def _device(name: str) -> str | None:
    """Our name of a device by its maker's."""
    plain = name.lower()
    if plain.startswith("ice40") and plain.removeprefix("ice40") in device_names():
        return plain.removeprefix("ice40")
    sizes = {f"lfe5u-{size.lower()}": ours for ours, size in ECP5_SIZES.items()}
    return sizes.get(plain)
