"""The FPGAs that a target can name: families, packages, pins.

The pins of iCE40 packages that a design can use are in ``pins.csv``: those of the maker's public
pin-out tables, in the form in which the open tools for these devices keep them (the tests compare
with one of them). Of ECP5 only what pins are called is known here; which a package has, the
placing tool knows.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

Architecture = Literal["ice40", "ecp5"]

ECP5_SIZES: Mapping[str, str] = {"ecp5-12k": "12F", "ecp5-25k": "25F", "ecp5-45k": "45F",
                                 "ecp5-85k": "85F"}  # fmt: skip
ECP5_PACKAGES = ("tg144", "mg285", "bg256", "bg381", "bg554", "bg756")
ECP5_PIN = re.compile(r"([A-Z]{1,2})?[1-9][0-9]{0,2}\Z")
OPEN_DRAIN: Mapping[tuple[str, str], frozenset[str]] = {
    ("up5k", "sg48"): frozenset({"39", "40", "41"}),
    ("up5k", "uwg30"): frozenset({"A5", "B5", "C5"}),
}
"""Pins that only pull low, for lamps with their own current (data sheet of the up5k)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """An FPGA in its package. ``pins`` are those a design can use; None where only the form of
    their names is known. ``pulls`` are the resistors that a pin can have inside."""

    name: str
    package: str
    architecture: Architecture
    pins: frozenset[str] | None
    open_drain: frozenset[str]
    pulls: tuple[str, ...]

    def has(self, pin: str) -> bool:
        """Whether there can be such a pin."""
        return ECP5_PIN.match(pin) is not None if self.pins is None else pin in self.pins


def device_names() -> tuple[str, ...]:
    """All devices."""
    return (*dict.fromkeys(name for name, _ in _packages()), *ECP5_SIZES)


def packages_of(name: str) -> tuple[str, ...]:
    """The packages of a device; empty if there is no such device."""
    if name in ECP5_SIZES:
        return ECP5_PACKAGES
    return tuple(package for device, package in _packages() if device == name)


def device(name: str, package: str) -> Device:
    """A device in its package.

    Raises:
        KeyError: there is no such device, or not in that package.
    """
    if name in ECP5_SIZES and package in ECP5_PACKAGES:
        return Device(
            name=name,
            package=package,
            architecture="ecp5",
            pins=None,
            open_drain=frozenset(),
            pulls=("up", "down", "none"),
        )
    return Device(
        name=name,
        package=package,
        architecture="ice40",
        pins=_packages()[name, package],
        open_drain=OPEN_DRAIN.get((name, package), frozenset()),
        pulls=("up", "none"),
    )


@cache
def _packages() -> dict[tuple[str, str], frozenset[str]]:
    text = files("breadproof.specs.target").joinpath("pins.csv").read_text("utf-8")
    rows = csv.DictReader(text.splitlines())
    return {(row["device"], row["package"]): frozenset(row["pins"].split()) for row in rows}
