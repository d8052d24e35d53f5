"""Scripts by chance, for any board."""

import random
from typing import Any

from breadproof.specs.netlist.model import Control, Netlist


def _value(netlist: Netlist, control: Control, dice: random.Random) -> str:
    if control.kind == "changeover":
        part = netlist.part(control.part or "")
        assert part is not None
        return dice.choice([*part.positions, "between"])
    width = len(control.bits) - (control.kind == "both")
    if control.kind == "both" and dice.random() < 0.4:
        return "released"
    return str(dice.getrandbits(width))


def entries(netlist: Netlist, dice: random.Random, count: int) -> list[dict[str, Any]]:
    """So many entries, all kinds of them; clocks are run more often than others are moved."""
    controls = [one for one in netlist.controls if one.kind not in ("rotary",)]
    clocks = [one.name for one in controls if one.kind == "oscillator"] or [
        one.name for one in controls if one.kind == "in" and len(one.bits) == 1
    ]
    buttons = [one.name for one in controls if one.kind == "button"]
    found: list[dict[str, Any]] = []
    while len(found) < count:
        kind = dice.choice(["drive", "drive", "press", "clock", "clock", "repeat"])
        if kind == "drive":
            some = dice.sample(controls, min(len(controls), dice.randint(1, 3)))
            found.append({"drive": {one.name: _value(netlist, one, dice) for one in some}})
        elif kind == "press" and buttons:
            found.append({"press": dice.sample(buttons, min(len(buttons), 2))})
        elif kind == "clock" and clocks:
            found.append({"clock": {dice.choice(clocks): dice.randint(1, 4)}})
        elif kind == "repeat" and count > 3:
            inner = entries(netlist, dice, 3)
            found.append({"repeat": {"times": dice.randint(0, 3), "stimulus": inner}})
    return found
