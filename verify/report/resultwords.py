"""What is said of a result, wherever it is printed: how it was reached, and what it rests on."""

from __future__ import annotations

from collections.abc import Sequence

from breadproof.specs.machine.trace import Trace
from breadproof.verify.prove.verdict import Kind, Result
from breadproof.verify.report.groundtext import ground_text
from breadproof.verify.report.words import count

GROUPS = {
    "fights": ("net", "it is never driven by two at once", "none is ever driven by two at once"),
    "floats": ("net", "nothing is read while it floats", "none is read while it floats"),
    "glitch": ("pin", "it may not pulse", "none may pulse"),
    "race": ("pin", "what it takes in stands still", "what they take in stands still"),
    "float": ("pin", "it never reads a floating net", "none reads a floating net"),
    "program": ("pin", "it never programs its chip", "none programs its chip"),
    "known": ("place", "it is known after the reset", "all are known after the reset"),
    "dead": ("pin, bit or control", "it does something", "none is dead"),
}
"""What a group of standing checks is about, and what is said of one that holds and of several."""
PLURALS = {"dead": "pins, bits and controls"}


def group_text(name: str, good: int, every: int) -> str:
    """``glitch: 24 pins, none may pulse``."""
    noun, one, several = GROUPS[name]
    many = PLURALS.get(name, "")
    number = count(good, noun, many)
    if good != every:
        number = f"{good} of {count(every, noun, many)}"
    return f"{name}: {number}, {one if good == 1 else several}"


def how(result: Result) -> str:
    """How a verdict was reached: ``breaks in step 3``, ``proved: ...``; "" if not known."""
    match result.verdict:
        case "holds" | "unreachable":
            proved = "proved" if result.verdict == "holds" else "proved that no run gets there"
            return f"{proved}: {result.method}" if result.method else proved
        case "fails" if result.trace is not None and result.trace.loop is not None:
            return f"{goes_round(result.trace.loop, len(result.trace.steps) - 1)}, for ever"
        case "fails":
            return f"breaks {after(result.steps)}" if result.trace is not None else ""
        case "covered":
            return f"reached {after(result.steps)}"
        case "undecided":
            if result.method:
                return f"over levels alone it holds ({result.method})"
            if result.steps == 0:
                return ""
            if result.kind == "cover" or result.name.startswith("dead:"):
                return f"no run of up to {count(result.steps, 'step')} gets there"
            return f"no counterexample in the first {count(result.steps, 'step')}"


def run_ends(kind: Kind, trace: Trace) -> str:
    """How a run ends: ``goes wrong in step 3``, ``steps 2 to 4 come again and again``."""
    last = len(trace.steps) - 1
    if trace.loop is not None:
        return goes_round(trace.loop, last)
    return f"{'reached' if kind == 'cover' else 'goes wrong'} {after(last)}"


def goes_round(loop: int, last: int) -> str:
    """What a run does that never gets to what is awaited."""
    if last == loop + 1:
        return f"step {last} comes again and again"
    to = "and" if last == loop + 2 else "to"
    return f"steps {loop + 1} {to} {last} come again and again"


def grounds_of(result: Result) -> list[str]:
    """The sentence about what a proof rests on, if that was looked for."""
    return [] if result.grounds is None else [ground_text(result.grounds)]


def after(steps: int) -> str:
    """When something comes to pass."""
    return "at the first quiet moment after power-up" if steps == 0 else f"in step {steps}"


def shortened(assumes: Sequence[str]) -> list[str]:
    """``open-high:U3.5`` and its like as one phrase."""
    named = [name for name in assumes if not name.startswith("open-high:")]
    pins = [name.partition(":")[2] for name in assumes if name.startswith("open-high:")]
    if pins:
        more = f" and {len(pins) - 3} more" if len(pins) > 3 else ""
        what = "open input" if len(pins) == 1 else "open inputs"
        shown = ", ".join(pins[:3])
        named.append(f"that {what} {shown}{more} {'reads' if len(pins) == 1 else 'read'} high")
    return named
