"""The FPGA with its pins as an Amaranth platform, through the vendor classes of Amaranth."""

from __future__ import annotations

from typing import Any

from amaranth.build import Attrs, Clock, Pins, PinsN, Resource
from amaranth.vendor import LatticeECP5Platform, LatticeICE40Platform

from breadproof.export.fpga.top import resource_of
from breadproof.specs.target.devices import ECP5_SIZES, Device
from breadproof.specs.target.mapped import Mapped, MappedPin

_ICE40 = {"hx1k": "iCE40HX1K", "hx8k": "iCE40HX8K", "up5k": "iCE40UP5K"}


def platform_of(mapped: Mapped) -> Any:
    """A platform that has exactly the pins of a target."""
    device = mapped.device
    resources = [
        Resource(
            "clock", 0, Pins(mapped.clock_pin, dir="i"), Clock(mapped.frequency),
            _attributes(device, "none"),
        ),
        *_pins(mapped),
    ]  # fmt: skip
    base = LatticeICE40Platform if device.architecture == "ice40" else LatticeECP5Platform
    members: dict[str, Any] = {
        "package": device.package.upper(),
        "connectors": [],
        "resources": resources,
    }
    if device.architecture == "ice40":
        members["device"] = _ICE40[device.name]
    else:
        members |= {"device": f"LFE5U-{ECP5_SIZES[device.name]}", "speed": "6"}
        members["package"] = device.package.upper()
    return type("TargetPlatform", (base,), members)()


def _pins(mapped: Mapped) -> list[Resource]:
    uses: list[tuple[MappedPin, str]] = []
    for control in mapped.controls:
        ways = ["i"] * len(control.pins)
        if control.control.kind == "both":
            ways[1:] = ["io"] * (len(control.pins) - 1)
        uses += zip(control.pins, ways, strict=True)
    for chain in mapped.chains:
        uses += [(chain.data, "i"), (chain.load, "o"), (chain.clock, "o")]
    uses += [(pin, "o") for out in (*mapped.lamps, *mapped.ports) for pin in out.pins]
    return [
        Resource(
            resource_of(pin),
            0,
            (PinsN if pin.active == "low" else Pins)(pin.pin, dir=way),
            _attributes(mapped.device, pin.pull),
        )
        for pin, way in uses
        if not pin.chain
    ]


def _attributes(device: Device, pull: str) -> Attrs:
    """How a pin is set up: 3.3 V levels and its pull."""
    if device.architecture == "ice40":
        return Attrs(IO_STANDARD="SB_LVCMOS", PULLUP=int(pull == "up"))
    return Attrs(IO_TYPE="LVCMOS33", PULLMODE=pull.upper())
