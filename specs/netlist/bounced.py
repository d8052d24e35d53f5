"""What a board file says bounces: ``bounces: [STORE, "SW1[2]"]``."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from breadproof.specs.netlist import model as m
from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.yamltree import Text, near

KINDS = ("button", "changeover", "way", "rotary")
"""Controls with a contact that a finger moves."""
_OTHERS = {
    "oscillator": "an oscillator, which has no contact",
    "in": "an input port: what bounces is on the board that drives it",
    "both": "a port: what bounces is on the board that drives it",
    "jumper": "a jumper, which is plugged while power is off",
}


def bounced(
    entries: Sequence[Text],
    controls: Sequence[m.Control],
    parts: Sequence[m.Part],
    problems: Problems,
    called: Callable[[str], str] = lambda name: name,
    before: Sequence[str] = (),
) -> Iterator[str]:
    """The names of the controls that bounce, each once it was checked.

    A DIP switch stands for all its ways. ``called`` gives the names of a machine of several boards;
    ``before`` are what their own files say bounces.
    """
    jumpers = {part.name for part in parts if part.device == "jumper"}
    known: dict[str, list[str]] = {}
    others: dict[str, str] = {}
    for control in controls:
        if control.part in jumpers:
            others[control.name] = _OTHERS["jumper"]
        elif control.kind in KINDS:
            known[control.name] = [control.name]
            if control.kind == "way" and control.part is not None:
                known.setdefault(control.part, []).append(control.name)
        elif control.kind in _OTHERS:
            others[control.name] = _OTHERS[control.kind]
    first: dict[str, Span] = {}
    for entry in entries:
        name = called(entry.value)
        if name not in known:
            _refuse(entry, name, list(known), others, problems)
            continue
        for one in known[name]:
            if one in first or one in before:
                _twice(entry, one, first.get(one), problems)
                break
            first[one] = entry.span
            yield one


def _refuse(
    entry: Text, name: str, known: list[str], others: dict[str, str], problems: Problems
) -> None:
    message = f"'{entry.value}' is no button or switch"
    if name in others:
        message = f"'{entry.value}' is {others[name]}"
    known = [m.written(one) for one in known]
    choices = f"There are {', '.join(known)}." if known else "This board has no button or switch."
    hint = near(m.written(name), known) or choices
    problems.error("control-missing", message, entry.span, hint=hint)


def _twice(entry: Text, name: str, first: Span | None, problems: Problems) -> None:
    problems.error(
        "name-twice",
        f"'{m.written(name)}' is said to bounce twice",
        entry.span,
        hint="Name it once; a DIP switch stands for all its ways."
        if first
        else "Its own board says so already: take it out here.",
        related=(("first here", first),) if first else (),
    )
