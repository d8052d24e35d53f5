"""Whether a board's clock leaves the rounds that it causes the time they take."""

from __future__ import annotations

from breadproof.export.fpga.rounds import EXTRA_ROUNDS
from breadproof.export.fpga.top import feed
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.target.mapped import Mapped, MappedControl


def step_clocks(round_clocks: int, rounds: int) -> int:
    """The clocks from the change of a control to the next change that can be handed over."""
    return (rounds + EXTRA_ROUNDS) * round_clocks


def check_rates(
    mapped: Mapped, round_clocks: int, rounds: int | None, problems: Problems
) -> tuple[str, ...]:
    """Hold each clock that is made against the time of a step; a line about each.

    A step of another control may just have begun when a divider changes, and other dividers may
    have their turn before; so half a period has to last for a step of each divider, and one more.
    ``round_clocks`` are the clocks of a round; ``rounds`` None: not proved, and then nothing is
    refused.
    """
    dividers = [control for control in mapped.controls if control.source == "divider"]
    lines: list[str] = []
    for control in mapped.controls:
        if control.source == "divider":
            lines.append(_divider(mapped, round_clocks, control, rounds, len(dividers), problems))
        elif control.source == "free" and rounds is not None:
            fastest = mapped.frequency / 2 / step_clocks(round_clocks, rounds)
            lines.append(f"{control.control.name} runs freely, at {hertz(fastest)} or faster")
        elif control.source in ("free", "step"):
            how = "runs freely" if control.source == "free" else "a clock for each press"
            lines.append(f"{control.control.name}: {how}")
    return tuple(lines)


def _divider(
    mapped: Mapped,
    round_clocks: int,
    control: MappedControl,
    rounds: int | None,
    dividers: int,
    problems: Problems,
) -> str:
    name = control.control.name
    half = feed(control, mapped.frequency).half
    needed = 1 if rounds is None else (dividers + 1) * step_clocks(round_clocks, rounds)
    if half < needed:
        fastest = mapped.frequency / 2 / needed
        problems.error(
            "clock-too-fast",
            f"'{name}' at {hertz(control.frequency)} is too fast: a half of its period is {half} "
            f"clocks of {hertz(mapped.frequency)}, and the rounds that follow a change take up to "
            f"{needed}",
            control.span,
            hint=f"Write 'frequency: {_round_down(fastest)}' or less, or take a faster clock.",
        )
        return ""
    real = mapped.frequency / 2 / half
    if rounds is None:
        return f"{name} at {hertz(real)}; not proved that this leaves time enough"
    return f"{name} at {hertz(real)}; up to {hertz(mapped.frequency / 2 / needed)} would do"


def hertz(value: float) -> str:
    """A frequency in words."""
    for scale, unit in ((1e6, "MHz"), (1e3, "kHz")):
        if value >= scale:
            return f"{value / scale:.4g} {unit}"
    return f"{value:.4g} Hz"


def _round_down(value: float) -> str:
    """A frequency in whole kHz or Hz that is not above another."""
    return f"{int(value / 1e3)} kHz" if value >= 1e3 else f"{int(value)} Hz"
