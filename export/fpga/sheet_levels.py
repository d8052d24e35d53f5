"""Levels in a safety sheet: what each logic family needs between it and an FPGA pin."""

from __future__ import annotations

from breadproof.specs.catalogue.families import FAMILIES
from breadproof.specs.catalogue.limits import Family
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.target.mapped import Mapped

V_OH, V_OL = 2.9, 0.4
"""What an FPGA pin gives with its bank at 3.3 V, at the low end of the supply (3.3 V standard of
both device families: V_CCIO - 0.4 V and 0.4 V at 8 mA; data sheets, from memory)."""
DOWN, UP = "LVC", "AHCT"
"""The buffer families: inputs that bear 5 V at a supply of 3.3 V, and TTL inputs at 5 V."""


def levels(netlist: Netlist) -> list[str]:
    """The table of the board's families, and of the buffers."""
    families = {
        part.family.name: part.family
        for part in netlist.parts
        if part.device == "chip" and part.family is not None
    }
    down, up = FAMILIES[DOWN], FAMILIES[UP]
    low, high = down.inputs.thresholds(3.3)
    lines = [
        "## Levels",
        "",
        f"The board in the file runs at {netlist.supply:g} V; the FPGA's pins at 3.3 V. If part "
        "of the machine stays on the breadboard:",
        "",
        "| family on the board | from it into the FPGA | from the FPGA to it |",
        "| --- | --- | --- |",
        *(
            f"| {name} | {_down(netlist, family)} | {_up(netlist, family)} |"
            for name, family in sorted(families.items())
        ),
        "",
        f"- A 74{DOWN}245 at 3.3 V: its inputs bear {down.inputs.bears:g} V ({down.inputs.source}) "
        f"and switch at {low:g} V and {high:g} V, so that 5 V outputs of any family, TTL or CMOS, "
        "may drive it. Its outputs never go above 3.3 V.",
        f"- A 74{UP}245 or 74HCT245 at 5 V: its inputs want {up.inputs.v_ih:g} V for a high "
        f"({up.inputs.source}), and an FPGA pin gives at least {V_OH:g} V.",
        "- One such buffer goes one way: tie DIR. A two-way bus takes one of each, enabled by the "
        "two sides of the same signal.",
        "- Every input of a buffer that is not used goes to ground or to its supply.",
        "- An FPGA pin feeds one LED, through 330 ohm or more (4 mA); bars and displays take a "
        "driver.",
        "",
    ]
    return lines


def _down(netlist: Netlist, family: Family) -> str:
    if netlist.supply <= 3.3 and family.inputs.bears is None:
        return "directly, at a supply of 3.3 V"
    return f"74{DOWN}245 at 3.3 V; never directly"


def _up(netlist: Netlist, family: Family) -> str:
    """What the family's inputs want, against what an FPGA pin gives."""
    v_il, v_ih = family.inputs.thresholds(netlist.supply)
    wants = f"its inputs want {v_ih:g} V and {v_il:g} V"
    if v_ih <= V_OH and v_il >= V_OL:
        return f"directly: {wants}"
    return f"74{UP}245 or 74HCT245 at 5 V: {wants}"


def pull_ups(netlist: Netlist, mapped: Mapped) -> list[str]:
    """Which resistors have to stay, and where they go."""
    lines = ["## Pull-ups to keep", ""]
    inside = [
        pin.pin for c in mapped.controls for pin in c.pins if pin.pull == "up" and not pin.chain
    ]
    outside = [pin.pin for c in mapped.controls for pin in c.pins if pin.pull == "up" and pin.chain]
    none = [
        pin.pin
        for c in mapped.controls
        for pin in c.pins
        if pin.pull == "none" and not pin.chain and c.control.kind not in ("in", "both")
    ]
    if inside:
        lines.append(
            f"- Pins {', '.join(inside)} are pulled up inside, weakly (around 100k in iCE40, 10k "
            "in ECP5): enough for a contact beside the FPGA. With leads longer than a hand "
            "keep a resistor of 10k at each, to **3.3 V**."
        )
    if outside:
        lines.append(
            f"- The inputs {', '.join(outside)} of chains have nothing inside: each needs a "
            "resistor of 10k to 3.3 V. Unused inputs of the chips go to ground."
        )
    if none:
        lines.append(
            f"- Pins {', '.join(none)} have no pull inside: each needs a resistor of 10k to the "
            "level it has while its contact is open."
        )
    lines += [
        f"- The board's own: {text}. Where one of these stays in use, its end at the supply moves "
        "to 3.3 V before it is joined to an FPGA pin."
        for text in _own(netlist)
    ]
    if len(lines) == 2:
        lines.append("- None: nothing but clean levels comes in.")
    return [*lines, ""]


def _own(netlist: Netlist) -> list[str]:
    """The board's resistors between a supply and a net with a contact."""
    contacts = {net for contact in netlist.contacts for net in (contact.a, contact.b)}
    rails = {net.index for net in netlist.nets if net.rail}
    found = {
        resistor.part
        for resistor in netlist.resistors
        if (resistor.a in rails and resistor.b in contacts)
        or (resistor.b in rails and resistor.a in contacts)
    }
    order = [part.name for part in netlist.parts if part.name in found]
    return [f"{', '.join(order)} (from contacts to the supply)"] if order else []
