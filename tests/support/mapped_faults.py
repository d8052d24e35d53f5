"""Mapped netlists of iCE40 (JSON of yosys) with one fault, and ABC's opinion on two of them.

The faults are those of a synthesis that slips: a bit of a table, a connection to another wire, a
register without its enable, a word of a memory block. `blif` is written from the maker's cell
library (Lattice, iCE40 Technology Library) for ABC, and shares nothing with the proof; pads and
memory blocks are cut there, as inputs and outputs of the design.
"""

import json
import re
import subprocess
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

_LUT_PINS = ("I0", "I1", "I2", "I3")
_BROUGHT = {"SB_IO": ("D_IN_0",), "SB_RAM40_4K": ("RDATA",)}
_LANE = (0, 0, 1, 3)
_LINES = 8
"""Address lines of 256 words of 16 bits; one more for each halving of the words."""
_PIN = {"SB_IO": "PACKAGE_PIN"}
_REGISTER = re.compile(r"SB_DFF(E?)(SR|SS)?")


@dataclass(frozen=True)
class Fault:
    """A netlist with a fault; ``what`` says which."""

    what: str
    netlist: str


def faults(netlist: str, count: int, seed: int) -> Iterator[Fault]:
    """So many, drawn by chance."""
    dice, whole = Random(seed), json.loads(netlist)
    cells = whole["modules"]["fpga"]["cells"]
    wires = sorted(
        {
            bit
            for one in cells.values()
            for pin in ("O", "Q")
            for bit in one["connections"].get(pin, [])
        }
    )
    names = [name for name, one in cells.items() if _kinds(one)]
    for _ in range(count):
        name = dice.choice(names)
        cell = deepcopy(cells[name])
        what = _spoil(cell, dice.choice(_kinds(cell)), wires, dice)
        made = {**whole, "modules": {**whole["modules"]}}
        made["modules"]["fpga"] = {
            **whole["modules"]["fpga"],
            "cells": {**cells, name: cell},
        }
        yield Fault(f"{name}: {what}", json.dumps(made))


def _kinds(cell: dict[str, Any]) -> list[str]:
    """Which faults a cell can have."""
    kind = cell["type"]
    if kind == "SB_LUT4":
        return ["table", "table", "connection"]
    if kind in ("SB_CARRY", "SB_RAM40_4K"):
        return ["connection"] if kind == "SB_CARRY" else ["connection", "word"]
    return ["connection"] if _REGISTER.fullmatch(kind) else []


def _spoil(cell: dict[str, Any], fault: str, wires: list[int], dice: Random) -> str:
    if fault == "table":
        digits = cell["parameters"]["LUT_INIT"].zfill(16)
        place = dice.randrange(16)
        digit = "1" if digits[place] == "0" else "0"
        cell["parameters"]["LUT_INIT"] = digits[:place] + digit + digits[place + 1 :]
        return f"bit {15 - place} of its table"
    if fault == "word":
        digits = cell["parameters"]["INIT_0"].zfill(256)
        place = dice.randrange(256)
        digit = "1" if digits[place] == "0" else "0"
        cell["parameters"]["INIT_0"] = digits[:place] + digit + digits[place + 1 :]
        return f"bit {255 - place} of INIT_0"
    pins = [
        (pin, place)
        for pin, bits in cell["connections"].items()
        if pin not in ("O", "Q", "CO", "RDATA") and not pin.endswith(("CLK", "C"))
        for place in range(len(bits))
    ]
    pin, place = dice.choice(pins)
    bits = list(cell["connections"][pin])
    bits[place] = dice.choice([bit for bit in wires if bit != bits[place]])
    cell["connections"][pin] = bits
    return f"{pin}[{place}] at wire {bits[place]}"


def blif(netlist: str) -> str:
    """A mapped netlist for ABC."""
    return _Blif(json.loads(netlist)["modules"]["fpga"]["cells"]).text()


class _Blif:
    def __init__(self, cells: dict[str, Any]) -> None:
        self.cells = cells
        self.inputs: list[str] = []
        self.outputs: list[str] = []
        self.lines: list[str] = []
        self.driven: set[str] = set()
        self.used: set[str] = set()

    def text(self) -> str:
        for name, cell in sorted(self.cells.items()):
            kind = cell["type"]
            if kind == "SB_LUT4":
                self.table(cell)
            elif kind == "SB_CARRY":
                sources = [self.at(cell, pin) for pin in ("I0", "I1", "CI")]
                self.names(self.at(cell, "CO"), sources, ["11-", "1-1", "-11"])
            elif found := _REGISTER.fullmatch(kind):
                self.register(cell, found[1], found[2] or "")
            elif kind in _BROUGHT:
                self.cut(re.sub(r"\W", "_", name), cell)
            else:
                assert kind == "$scopeinfo", kind
        for one in sorted(self.used - self.driven):
            self.names(one, [], [""] if one == "n1" else [])
        head = [".model fpga", ".inputs " + " ".join(self.inputs)]
        head += [".outputs " + " ".join(self.outputs)]
        return "\n".join([*head, *self.lines, ".end", ""])

    def net(self, bit: int | str) -> str:
        self.used.add(f"n{bit}")
        return f"n{bit}"

    def at(self, cell: dict[str, Any], pin: str, otherwise: str = "0") -> str:
        return self.net(cell["connections"].get(pin, [otherwise])[0])

    def names(self, out: str, sources: list[str], rows: list[str]) -> None:
        self.driven.add(out)
        self.lines.append(" ".join([".names", *sources, out]))
        self.lines.extend(f"{row} 1".lstrip() for row in rows)

    def table(self, cell: dict[str, Any]) -> None:
        digits = int(cell["parameters"]["LUT_INIT"], 2)
        sources = [self.at(cell, pin) for pin in _LUT_PINS]
        rows = [f"{row:04b}"[::-1] for row in range(16) if digits >> row & 1]
        self.names(self.at(cell, "O"), sources, rows)

    def register(self, cell: dict[str, Any], enable: str, reset: str) -> None:
        """It comes up low; set and reset wait for the enable, if there is one."""
        q, after = self.at(cell, "Q"), self.at(cell, "D")
        if reset:
            rows = ["10"] if reset == "SR" else ["1-", "-1"]
            self.names(f"r{q}", [after, self.at(cell, reset[-1])], rows)
            after = f"r{q}"
        if enable:
            self.names(f"e{q}", [self.at(cell, "E", "1"), after, q], ["11-", "0-1"])
            after = f"e{q}"
        self.driven.add(q)
        self.lines.append(f".latch {after} {q} 0")

    def cut(self, name: str, cell: dict[str, Any]) -> None:
        """A pad or a memory block: what it shows are inputs, what it is given are outputs."""
        kind = cell["type"]
        for pin, bits in sorted(cell["connections"].items()):
            for place, bit in enumerate(bits):
                if kind == "SB_RAM40_4K" and _overlooked(cell, pin, place):
                    continue
                port = f"{name}__{pin}_{place}"
                if pin in _BROUGHT[kind]:
                    self.inputs.append(port)
                    self.names(self.net(bit), [port], ["1"])
                elif pin != _PIN.get(kind) and not pin.endswith("CLK"):
                    self.outputs.append(port)
                    self.names(port, [self.net(bit)], ["1"])


def _overlooked(cell: dict[str, Any], pin: str, place: int) -> bool:
    """Whether a memory block does not look at a pin: address lines beyond its words, data lines and
    masks of narrow words, and, where nothing is ever written, all that writing takes."""
    write, read = (
        int(cell["parameters"].get(f"{side}_MODE", "0"), 2) for side in ("WRITE", "READ")
    )
    if pin == "RADDR":
        return place >= _LINES + read
    never = any(cell["connections"].get(enable) == ["0"] for enable in ("WE", "WCLKE"))
    if never and pin in ("WADDR", "WDATA", "MASK"):
        return True
    if pin == "WADDR":
        return place >= _LINES + write
    return bool(write) and (
        pin == "MASK" or (pin == "WDATA" and place % (1 << write) != _LANE[write])
    )


def alike(one: str, other: str, abc: str, folder: Path, seconds: int = 5) -> bool:
    """Whether ABC proves two mapped netlists the same from power-up on, in so many seconds: by
    registers that correspond (``scorr``), and what is left by its property-directed search."""
    for name, netlist in (("one", one), ("other", other)):
        (folder / f"{name}.blif").write_text(blif(netlist), encoding="utf-8")
    commands = f"miter one.blif other.blif; scorr; pdr -T {seconds}"
    ran = subprocess.run(
        [abc, "-q", commands], cwd=folder, check=True, capture_output=True, text=True
    )
    return "Property proved." in ran.stdout
