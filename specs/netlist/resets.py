"""What a board file calls a reset: what is pressed or pulled, and what it leaves alone."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import networkx as nx

from breadproof.specs.netlist import model as m
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import Text, near

KINDS = {"press": "button", "low": "input port of one bit", "high": "input port of one bit"}
SAID = ("first", "clocks")
"""Keys whose values are no names."""
MAX_CLOCKS = 64
HINT = "Write 'reset: {press: CLEAR}', 'reset: {low: clear_n}' or 'reset: {first: power-on}'."


def resets(
    entries: Sequence[tuple[Text, Text]],
    controls: Sequence[m.Control],
    parts: Sequence[m.Part],
    problems: Problems,
    called: Callable[[str], str] = lambda name: name,
) -> Iterator[tuple[str, str]]:
    """The entries of ``reset:``, each once it was checked; ``called`` gives the names of a machine
    of several boards.

    ``press`` names a button, ``low`` and ``high`` an input port that is pulled to that level and
    back, ``first`` is ``power-on``, ``clocks`` how often each oscillator changes while the reset is
    held (none if it is left out), and ``keeps`` names parts whose content is not reset: those with
    storage, and gates that may be latches, each other's or their own.
    """
    allowed = {
        "press": [one.name for one in controls if one.kind == "button"],
        "low": [one.name for one in controls if one.kind == "in" and len(one.bits) == 1],
        "high": [one.name for one in controls if one.kind == "in" and len(one.bits) == 1],
        "first": ["power-on"],
        "keeps": [part.name for part in parts if part.type.storage] + latching(parts),
        "clocks": [str(number) for number in range(1, MAX_CLOCKS + 1)],
    }
    for key, value in entries:
        names = allowed.get(key.value)
        name = value.value if key.value in SAID else called(value.value)
        said = [m.written(one) for one in names or ()]
        if names is None:
            problems.error("key-unknown", f"a reset has no '{key.value}'", key.span, hint=HINT)
        elif name in names:
            yield key.value, name
        elif key.value == "keeps":
            problems.error(
                "part-missing",
                f"'{value.value}' is no part that keeps anything",
                value.span,
                hint=near(m.written(name), said)
                or "Name registers, counters and latches, or the gates that latches are made of.",
            )
        elif key.value == "clocks":
            problems.error(
                "reset-clocks",
                f"'{value.value}' is no number of changes",
                value.span,
                hint=f"Write a number from 1 to {MAX_CLOCKS}.",
            )
        else:
            kind = KINDS.get(key.value, "power-on")
            problems.error(
                "control-missing",
                f"'{value.value}' is nothing to {key.value}",
                value.span,
                hint=near(m.written(name), said)
                or (f"There is {', '.join(said)}." if said else f"The board has no {kind}."),
            )


def latching(parts: Sequence[m.Part]) -> list[str]:
    """The chips without storage whose outputs come back to their inputs, by way of such chips
    alone: gates of latches are among them. A chip's gates are not told apart here."""
    ways: nx.DiGraph[tuple[str, str | int]] = nx.DiGraph()
    gates = [part for part in parts if part.family is not None and not part.type.storage]
    for part in gates:
        for pin in part.pins:
            if pin.net is not None and pin.kind.reads:
                ways.add_edge(("net", pin.net), ("part", part.name))
            if pin.net is not None and pin.kind.drives:
                ways.add_edge(("part", part.name), ("net", pin.net))
    rings = [ring for ring in nx.strongly_connected_components(ways) if len(ring) > 1]
    return [part.name for part in gates if any(("part", part.name) in ring for ring in rings)]
