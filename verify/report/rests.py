"""What every verdict rests on, and what the model leaves out (design.md sections 4 and 9)."""

from __future__ import annotations

from breadproof.specs.formula.syntax import goes_on
from breadproof.specs.netlist.bouncing import finger_of
from breadproof.verify.board import BoardReport
from breadproof.verify.report.page import Page
from breadproof.verify.report.words import count, listed, wrapped

LEFT_OUT = (
    "Left out: analogue levels in motion, noise, bad contacts, a supply that sags, and how fast "
    "the chips are."
)
SAFETY = (
    "A proof about the logic is no safety case. Where the board drives more than LEDs: power off "
    "before you rewire, check polarity before power goes on; local codes and licensed practice "
    "decide."
)


def rests_on(report: BoardReport, page: Page) -> list[str]:
    """The closing section of a listing."""
    lines = [page.paint("What this rests on", "bold")]
    for text in grounds(report):
        lines += wrapped(text, page.width, "  - ", "    ")
    return lines


def grounds(report: BoardReport) -> tuple[str, ...]:
    """What every verdict rests on, what is left out, and the caution, a sentence or two each."""
    told = (*_moments(report), *_bounces(report), *_assumptions(report))
    texts = (_world(report), _rounds(report), *told)
    return (*texts, LEFT_OUT, SAFETY)


def _world(report: BoardReport) -> str:
    together = report.machine.netlist.together
    if together == "all":
        return "Controls may change at the same time; the board settles after each step."
    text = "One control changes at a time, and the board settles in between (fundamental mode)"
    if together:
        groups = "; ".join(listed(group) for group in together)
        return f"{text}, but for those that may change together: {groups}."
    return f"{text}."


def _rounds(report: BoardReport) -> str:
    settled = (
        f"; each step is proved to be over in {count(report.rounds, 'round')}"
        if report.rounds
        else ""
    )
    return (
        "Logic settles in rounds, without delay of its own; what delays could do is checked as "
        f"glitch, race and float{settled}."
    )


def _moments(report: BoardReport) -> list[str]:
    """What no pin decides: ends of pulses, charges, what books leave open."""
    told = [
        f"{part.name} ({'; '.join(moment.says for moment in part.type.moments)})"
        for part in report.machine.netlist.parts
        if part.type.moments and not finger_of(part.name)
    ]
    return [f"The world chooses when, any step of its own: {', '.join(told)}."] if told else []


def _bounces(report: BoardReport) -> list[str]:
    """Contacts that are not where the finger is."""
    names = report.machine.netlist.bounces
    if not names:
        return []
    return [
        f"{listed(names)} {'bounces' if len(names) == 1 else 'bounce'}: once a finger moved it, a "
        "contact may open and close again in any number of steps, each a step of its own, before "
        "it comes to rest. Formulas see the finger, nets the contact."
    ]


def _assumptions(report: BoardReport) -> list[str]:
    """The board's own assumptions, each with its sentence or formula."""
    return [
        f"Assumed{'' if goes_on(formula.expr) else ' of the first moments after power-up alone'}, "
        f"{formula.name}: {formula.says or formula.text.value}"
        for formula in report.machine.netlist.formulas
        if formula.kind == "assume"
    ]
