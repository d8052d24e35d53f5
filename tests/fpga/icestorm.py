"""Bitstreams of iCE40 as another program reads them: iceunpack, and the tables of its icebox.py."""

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

TABLES = "/usr/share/fpga-icestorm/python"
"""Where Debian's fpga-icestorm has icebox.py."""

_SCRIPT = """
import json, sys, icebox
asc, package = sys.argv[1:]
chip = icebox.iceconfig()
chip.read_file(asc)
enables = {entry[:3]: entry[3:] for entry in chip.ieren_db()}
found = {}

def bits(x, y, block, wanted):
    tile = chip.tile(x, y)
    for places, *name in chip.tile_db(x, y):
        if name[0] == block and len(name) == 2 and name[1] in wanted:
            row, _, column = places[0].strip("!B]").partition("[")
            yield name[1], int(tile[int(row)][int(column)])

for pin, x, y, z in icebox.pinloc_db[package]:
    kind = dict(bits(x, y, f"IOB_{z}", [f"PINTYPE_{k}" for k in range(6)]))
    if (x, y, z) in enables:
        ex, ey, ez = enables[x, y, z]
        more = dict(bits(ex, ey, "IoCtrl", [f"REN_{ez}", f"IE_{ez}"]))
        type_ = sum(kind[f"PINTYPE_{k}"] << k for k in range(6))
        reads = more[f"IE_{ez}"] != (chip.device == "1k")
        found[pin] = [type_, more[f"REN_{ez}"], reads]
print(json.dumps(found))
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PinUse:
    """How a pin is set up: which way (in, out, both), and whether it is pulled up."""

    way: str
    pulled_up: bool


def unpacked(bitstream: bytes, package: str, folder: Path) -> dict[str, PinUse]:
    """Every pin of a package that is used (``8k-ct256``, as icebox calls it).

    PIN_TYPE is that of the maker's cell library (SB_IO): the lower two bits are the input, 01 being
    a plain one; the upper four the output: 0000 none, 1010 three-state. A low REN bit turns the
    pull-up on; IE turns the input on, and is active low in the 1k alone (documentation of the
    bitstream format, "IO tile").
    """
    packed, text = folder / "pins.bin", folder / "pins.asc"
    packed.write_bytes(bitstream)
    subprocess.run(["iceunpack", str(packed), str(text)], check=True)
    ran = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", _SCRIPT, str(text), package],
        env=os.environ | {"PYTHONPATH": TABLES}, check=True, capture_output=True, text=True,
    )  # fmt: skip
    ways = {0b000001: "in", 0b101001: "out", 0: "unused"}
    found: dict[str, PinUse] = {}
    for pin, (kind, off, reads) in json.loads(ran.stdout).items():
        way = ways.get(kind, f"PIN_TYPE {kind:06b}")
        way = "both" if way == "out" and reads else way
        if way != "unused":
            found[pin] = PinUse(way=way, pulled_up=not off)
    return found


def packages() -> dict[str, set[str]]:
    """The pins of all packages that icebox knows."""
    script = (
        "import icebox, json; "
        "print(json.dumps({k: [p[0] for p in v] for k, v in icebox.pinloc_db.items()}))"
    )
    ran = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", script],
        env=os.environ | {"PYTHONPATH": TABLES}, check=True, capture_output=True, text=True,
    )  # fmt: skip
    return {name: set(pins) for name, pins in json.loads(ran.stdout).items()}
