"""A design for an FPGA, before or after synthesis, as plain gates between its pads.

Yosys's JSON of a module goes in, with cells of an FPGA's maker in it, and the same module comes out
with one-bit gates, registers and memories that are read at once, as `readback.circuit_of` takes it.
Pads are cut: what they bring in is an input, what they are given an output, and what they are
themselves (`Pad`) is compared word for word.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from breadproof.verify.equal.readback import Bit, Unreadable

Cell = Mapping[str, Any]
"""A cell in yosys's JSON."""


@dataclass(frozen=True, slots=True)
class Pad:
    """What a pad is: its kind, the pin it leads to, and how it is set up."""

    kind: str
    pin: str
    settings: tuple[tuple[str, str], ...]


@dataclass(slots=True)
class Plain:
    """A module that is being made plain.

    ``orders`` has for each memory block which bit of a word's number each bit of its address is;
    of the blocks in ``certain`` it is known what they show where they are read and written at once
    (the word of before); the others show anything then. ``clocks`` are all bits by which registers
    advance.
    """

    module: Mapping[str, Any]
    cells: dict[str, Any] = field(default_factory=dict)
    ports: dict[str, Any] = field(default_factory=dict)
    names: dict[str, Any] = field(default_factory=dict)
    pads: dict[str, Pad] = field(default_factory=dict)
    orders: dict[str, tuple[int, ...]] = field(default_factory=dict)
    certain: set[str] = field(default_factory=set)
    clocks: set[Bit] = field(default_factory=set)
    count: int = 0

    def __post_init__(self) -> None:
        """Number new bits after all that there are."""
        self.names = dict(self.module["netnames"])
        used = [bit for net in self.names.values() for bit in net["bits"] if isinstance(bit, int)]
        for cell in self.module["cells"].values():
            for bits in cell["connections"].values():
                used += [bit for bit in bits if isinstance(bit, int)]
        self.count = max(used, default=1)

    def fresh(self) -> int:
        """A new bit."""
        self.count += 1
        return self.count

    def gate(self, kind: str, **pins: Bit) -> int:
        """The output of a new gate."""
        out = self.fresh()
        connections = {name: [bit] for name, bit in pins.items()} | {"Y": [out]}
        self.cells[f"$plain${out}"] = {"type": kind, "connections": connections}
        return out

    def drive(self, out: Bit, level: Bit) -> None:
        """Make a bit follow another."""
        pins = {"A": [level], "Y": [out]}
        self.cells[f"$plain${self.fresh()}"] = {"type": "$_BUF_", "connections": pins}

    def not_(self, a: Bit) -> Bit:
        """Inversion."""
        if a in ("0", "1"):
            return "0" if a == "1" else "1"
        return self.gate("$_NOT_", A=a)

    def and_(self, a: Bit, b: Bit) -> Bit:
        """Conjunction."""
        if a == "1":
            return b
        return a if b == "1" else self.gate("$_AND_", A=a, B=b)

    def mux(self, test: Bit, then: Bit, other: Bit) -> Bit:
        """``test ? then : other``."""
        if then == other or test == "0":
            return other
        return then if test == "1" else self.gate("$_MUX_", A=other, B=then, S=test)

    def table(self, digits: int, inputs: Sequence[Bit]) -> Bit:
        """Bit ``i`` of a table, where input k is bit k of i."""
        if not inputs:
            return str(digits & 1)
        half = 1 << (len(inputs) - 1)
        low, high = digits & ((1 << half) - 1), digits >> half
        if low == high:
            return self.table(low, inputs[:-1])
        then, other = (self.table(part, inputs[:-1]) for part in (high, low))
        return self.mux(inputs[-1], then, other)

    def register(self, q: Bit, d: Bit, clock: Bit, initial: int | None) -> None:
        """A register that advances at a clock's rising edge."""
        self.clocks.add(clock)
        name = f"$plain${self.fresh()}"
        pins = {"C": [clock], "D": [d], "Q": [q]}
        self.cells[name] = {"type": "$_DFF_P_", "connections": pins}
        if initial is not None:
            self.names[name] = {"bits": [q], "attributes": {"init": str(initial)}}

    def memory(
        self,
        name: str,
        words: Sequence[int],
        width: int,
        *,
        clock: Bit,
        address: Sequence[Bit],
        order: Sequence[int],
        write: tuple[Sequence[Bit], Sequence[Bit], Sequence[Bit]] | None,
    ) -> list[int]:
        """A memory's data at an address; ``write`` has the enable of each bit, address, data."""
        data = [self.fresh() for _ in range(width)]
        enables, to, word = write or ((), (), ())
        self.clocks |= {clock} if write else set()
        numbers = {
            "SIZE": len(words), "WIDTH": width, "ABITS": len(address), "OFFSET": 0,
            "RD_PORTS": 1, "RD_CLK_ENABLE": 0, "WR_PORTS": int(write is not None),
            "WR_CLK_ENABLE": int(write is not None), "WR_CLK_POLARITY": int(write is not None),
        }  # fmt: skip
        parameters = {key: format(value, "b") for key, value in numbers.items()}
        parameters["INIT"] = "".join(format(one, f"0{width}b") for one in reversed(words))
        self.cells[name] = {
            "type": "$mem_v2",
            "attributes": {},
            "parameters": parameters,
            "connections": {
                "RD_ADDR": [*address], "RD_DATA": data, "WR_CLK": [clock] if write else [],
                "WR_EN": [*enables], "WR_ADDR": [*to], "WR_DATA": [*word],
            },
        }  # fmt: skip
        self.orders[name] = tuple(order)
        return data

    def pad(
        self,
        name: str,
        kind: str,
        cell: Cell,
        pin: str,
        brings: Sequence[str],
        otherwise: Mapping[str, Bit],
    ) -> None:
        """Cut a pad: pins that it brings in are inputs, all other connected ones outputs.

        ``otherwise`` has the levels of pins that are left open.
        """
        at = {name: [level] for name, level in otherwise.items()} | cell["connections"]
        (leads,) = at.get(pin, ["nowhere"])
        settings = {key: number(value) for key, value in cell.get("parameters", {}).items()}
        found = tuple(sorted((key, str(value)) for key, value in settings.items()))
        self.pads[name] = Pad(kind, self.pin(leads), found)
        for one, bits in at.items():
            if one == pin:
                continue
            way = "input" if one in brings else "output"
            self.ports[f"{name}.{one}"] = {"direction": way, "bits": bits}

    def pin(self, bit: Bit) -> str:
        """The port of the module that a bit is."""
        for name, port in self.module["ports"].items():
            for place, one in enumerate(port["bits"]):
                if one == bit:
                    return f"{name}[{place}]"
        raise Unreadable("a pad leads to no pin")

    def clock(self) -> str:
        """The pad that brings the one clock; empty if there is none.

        Raises:
            Unreadable: there are several clocks, or the clock is not what a pad brings in.
        """
        for cell in self.cells.values():
            if cell["type"] == "$_DFF_P_":
                self.clocks.add(cell["connections"]["C"][0])
            elif cell["type"] == "$mem_v2":
                self.clocks |= {*cell["connections"]["WR_CLK"]} - {"x"}
        if not self.clocks:
            return ""
        found = [
            name
            for name, port in self.ports.items()
            if port["direction"] == "input" and {*port["bits"]} == self.clocks
        ]
        if not found:
            raise Unreadable("its registers do not all advance by one pad's clock")
        return found[0]

    def plain(self) -> dict[str, Any]:
        """The module."""
        return {"ports": self.ports, "cells": self.cells, "netnames": self.names}


def number(value: Any) -> Any:
    """A parameter: a number if it is one, else text."""
    if isinstance(value, str) and value and set(value) <= {*"01"}:
        return int(value, 2)
    return value.strip() if isinstance(value, str) else value
