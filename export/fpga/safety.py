"""The safety sheet that goes with a bitstream (Markdown)."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.export.fpga.sheet_levels import levels, pull_ups
from breadproof.export.header import Proofs
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.target.mapped import Mapped, MappedPin


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What is known of a bitstream beside its files.

    ``round_clocks`` are the clocks of a round, ``rounds`` the proved number of rounds of a step
    (None: not proved). ``equal`` is one
    sentence about the proof that the mapped netlist does what the board does.
    """

    proofs: Proofs | None
    round_clocks: int
    rounds: int | None
    equal: str


def safety_sheet(netlist: Netlist, mapped: Mapped, known: Known) -> str:
    """The sheet; the same board and target give the same text."""
    from breadproof import __version__

    device = mapped.device
    lines = [
        f"# Safety sheet: {netlist.board} on {device.name} ({device.package})",
        "",
        f"Written by breadproof {__version__} with the bitstream for the target "
        f"`{mapped.target.name}`. Read it before anything is wired.",
        "",
        *_first(),
        *levels(netlist),
        *pull_ups(netlist, mapped),
        *_buses(mapped, known),
        *_pins(mapped),
        *_behaviour(netlist, mapped, known),
        *_limits(),
    ]
    return "\n".join(lines) + "\n"


def _first() -> list[str]:
    return [
        "## Before you touch a wire",
        "",
        "- Take power off both the FPGA board and the breadboard before you rewire anything, and "
        "let large capacitors discharge.",
        "- Check polarity and look for shorts with a meter before power comes on again.",
        "- Join the grounds first, and take them apart last. Two supplies never meet: 3.3 V and "
        "5 V are two rails.",
        "- **5 V never into an FPGA pin.** Its inputs bear the 3.3 V of their bank and hardly "
        "more; a pull-up to 5 V is 5 V too.",
        "- Nothing may drive an FPGA pin while the FPGA has no power. Switch it on first and off "
        "last.",
        "",
    ]


def _buses(mapped: Mapped, known: Known) -> list[str]:
    """Ports that both halves drive."""
    both = [control for control in mapped.controls if control.control.kind == "both"]
    lines = ["## Bus hand-over", ""]
    if not [control for control in both if control.pins]:
        return [
            *lines,
            "No pin of this design is driven from both sides. If you let half of the machine stay "
            "on the breadboard, make the bus between a port `both` in the board file, so that the "
            "proof looks at both sides.",
            "",
        ]
    proved = known.proofs.proved if known.proofs else ()
    for control in both:
        if not control.pins:
            continue
        name = control.control.name
        pins = ", ".join(pin.pin for pin in control.pins[1:])
        told = control.pins[0]
        lines += [
            f"- `{name}` (pins {pins}) is driven by the FPGA or by the other half, never by both: "
            f"while pin {told.pin} is {told.active} the other half drives, and the FPGA has let go "
            "within nanoseconds; it takes the bus again only after that pin has told otherwise, "
            "and the board has come to rest.",
            "  Make the other half's output enable and this pin one signal, so that it drives "
            "only while it tells so; and let a bus-hold or a pull-up of 10k to 3.3 V keep the bus "
            "while nobody drives.",
        ]
        if name in proved:
            lines.append(
                f"  Proved: on `{name}` no two drivers meet at any quiet moment, the other half "
                "included, under the board's assumptions."
            )
        else:
            lines.append(
                f"  **NOT PROVED** that no two drivers meet on `{name}`: put 220 ohm in series "
                "with every line before you try."
            )
    return [*lines, ""]


def _pins(mapped: Mapped) -> list[str]:
    lines = [
        "## What is at the pins", "",
        "| pin | way | what | active | pull inside |", "| --- | --- | --- | --- | --- |",
        f"| {mapped.clock_pin} | in | clock, {_hertz(mapped.frequency)} | | none |",
    ]  # fmt: skip
    for chain in mapped.chains:
        lines += [
            f"| {chain.load.pin} | out | chain {chain.name}, load (165: SH/LD_n) | low | |",
            f"| {chain.clock.pin} | out | chain {chain.name}, clock (165: CLK) | rises | |",
            f"| {chain.data.pin} | in | chain {chain.name}, data (165: QH of the first chip) | "
            "| none |",
        ]
    for control in mapped.controls:
        both = control.control.kind == "both"
        for place, pin in enumerate(control.pins):
            what = control.control.name if len(control.pins) == 1 else control.control.bits[place]
            way = "in, out" if both and place else "in"
            lines.append(f"| {pin.pin} | {way} | {what} | {pin.active} | {_pull(pin)} |")
    for out in (*mapped.lamps, *mapped.ports):
        for place, pin in enumerate(out.pins):
            what = out.name if len(out.pins) == 1 else f"{out.name}, line {place + 1}"
            lines.append(f"| {pin.pin} | out | {what} | {pin.active} | |")
    return [*lines, ""]


def _pull(pin: MappedPin) -> str:
    return "at the chain's chip" if pin.chain else pin.pull


def _behaviour(netlist: Netlist, mapped: Mapped, known: Known) -> list[str]:
    """What the FPGA does, and what is known of it."""
    round_time = known.round_clocks / mapped.frequency
    lines = [
        "## What it does",
        "",
        "- One control is handed to the board at a time, and only while the board is quiet; others "
        "wait. Contacts have to lie still first, as long as the target says.",
        f"- A round takes {known.round_clocks} clocks, {round_time * 1e6:.3g} us.",
        "- At power-on all registers, latches and read-write memories hold 0 (a chip may come up "
        "holding anything), read-only memories their contents; controls stand where their "
        "switches are.",
        "- Lamps and ports change when the board has come to rest, not in between.",
    ]
    if known.rounds is None:
        lines.append("- **NOT PROVED** that the board always comes to rest.")
    else:
        lines.append(
            f"- Proved: after any change the board is at rest within {known.rounds} rounds."
        )
    assumed = [formula.name for formula in netlist.formulas if formula.kind == "assume"]
    if assumed:
        lines.append(
            f"- What is proved rests on the board's assumptions: {', '.join(assumed)}. The FPGA "
            "does not see to it that they are kept."
        )
    lines += [f"- {_fights(known)}", f"- {known.equal}"]
    fixed = [control for control in mapped.controls if control.source == "fixed"]
    if fixed:
        lines.append(
            "- These controls are at no pin and stay as they are: "
            + ", ".join(control.control.name for control in fixed)
            + "."
        )
    if mapped.unseen:
        lines.append(f"- At no pin: {', '.join(mapped.unseen)}.")
    return [*lines, ""]


def _fights(known: Known) -> str:
    proofs = known.proofs
    if proofs is None:
        return "**NOT PROVED** that no two drivers of the board fight."
    if not proofs.proved:
        return "No net of the board has two drivers that could fight."
    return f"Proved: at no quiet moment do two drivers fight on {', '.join(proofs.proved)}."


def _limits() -> list[str]:
    return [
        "## What this is not",
        "",
        "A proof about logic is no safety case. If anything beyond LEDs hangs on these pins "
        "(mains, motors, heaters, batteries, stage lamps), it needs its own isolation and its own "
        "way to be safe when the FPGA does anything at all; follow your local codes, and have "
        "somebody licensed do it.",
    ]


def _hertz(value: float) -> str:
    for scale, unit in ((1e6, "MHz"), (1e3, "kHz")):
        if value >= scale:
            return f"{value / scale:g} {unit}"
    return f"{value:g} Hz"
