"""Nets of two boards that may be the same, or opposite, whatever they are called: random runs.

Both boards are walked with numbers from where the comparison begins, controls moved alike. Nets
that went alike all the time are guessed to be the same. A guess claims nothing: the proof drops it
as soon as it finds it wrong, and it helps where what a flip-flop holds has another name.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from random import Random

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.walk import NotQuiet, Walker
from breadproof.specs.netlist.model import Control
from breadproof.verify.revisions.items import Item
from breadproof.verify.revisions.links import Links
from breadproof.verify.revisions.start import Start, held

RUNS = 6
STEPS = 40
SECONDS = 5.0
"""Longer the boards are not walked."""
EACH = 2
"""So many nets of the old board are tried for one of the new board."""
Levels = list[tuple[int, int]]
"""(known, level) at each quiet moment."""


def guesses(old: Machine, new: Machine, links: Links, start: Start) -> tuple[Item, ...]:
    """Pairs of nets that went alike, or opposite, in all runs; none that stood still."""
    random = Random(0)
    end = time.monotonic() + SECONDS
    seen: tuple[list[Levels], list[Levels]] = ([[] for _ in old.nets], [[] for _ in new.nets])
    for _ in range(RUNS):
        if time.monotonic() > end:
            break
        try:
            _run(old, new, links, start, random, seen)
        except NotQuiet:
            continue
    return tuple(_pairs(old, new, seen))


def _pairs(old: Machine, new: Machine, seen: tuple[list[Levels], list[Levels]]) -> list[Item]:
    by_levels: dict[tuple[tuple[int, int], ...], list[int]] = {}
    for net, levels in enumerate(seen[0]):
        by_levels.setdefault(tuple(levels), []).append(net)
    found: list[Item] = []
    for net, levels in enumerate(seen[1]):
        if len(set(levels)) < 2:
            continue
        turned = [(known, level ^ known) for known, level in levels]
        for inverted, wanted in ((False, levels), (True, turned)):
            for other in by_levels.get(tuple(wanted), [])[:EACH]:
                name = f"{old.netlist.nets[other].name} and {new.netlist.nets[net].name}"
                found.append(
                    Item(name=name, kind="net", old=(other,), new=(net,), inverted=inverted)
                )
    return found


def _run(
    old: Machine,
    new: Machine,
    links: Links,
    start: Start,
    random: Random,
    seen: tuple[list[Levels], list[Levels]],
) -> None:
    """One run of both; what is seen is added."""
    storage = [
        {store.label: random.getrandbits(1) for store in machine.stores} for machine in (old, new)
    ]
    labels = {store.leaf: store.label for store in old.stores}
    for store in new.stores:
        other = links.of("store").get(store.leaf)
        if other is not None and start == "power-up":
            storage[1][store.label] = storage[0][labels[other]]
    walkers = [
        Walker(machine, storage=dict(content))
        for machine, content in zip((old, new), storage, strict=True)
    ]
    for walker in walkers:
        walker.power_up()
    for released in (False, True) if start == "reset" else ():
        for one in held(old):
            _move(walkers, links, one.name, (int(one.level != released),))
    controls = [c for c in old.netlist.controls if c.name in links.controls]
    for _ in range(STEPS if controls else 0):
        _note(walkers, seen)
        control = random.choice(controls)
        _move(walkers, links, control.name, _somewhere(control, walkers[0].controls, random))
    _note(walkers, seen)


def _somewhere(
    control: Control, now: Mapping[str, tuple[int, ...]], random: Random
) -> tuple[int, ...]:
    if control.exclusive:
        chosen = random.randrange(len(control.bits))
        return tuple(int(place == chosen) for place in range(len(control.bits)))
    if len(control.bits) == 1:
        return (1 - now[control.name][0],)
    return tuple(random.getrandbits(1) for _ in control.bits)


def _move(walkers: list[Walker], links: Links, name: str, bits: tuple[int, ...]) -> None:
    walkers[0].step({name: bits})
    walkers[1].step({links.controls[name]: bits})


def _note(walkers: list[Walker], seen: tuple[list[Levels], list[Levels]]) -> None:
    for walker, tables in zip(walkers, seen, strict=True):
        assert walker.before is not None, "it was walked"
        levels = walker.before.levels
        for net, table in zip(walker.machine.nets, tables, strict=True):
            known = levels[net.known]
            table.append((known, levels[net.level] if known else 0))
