"""Nets of two boards that may be the same, or opposite, whatever they are called: random runs.

Both boards are walked with numbers from where the comparison begins, controls moved alike. Nets
that went alike all the time are guessed to be the same. A guess claims nothing: the proof drops it
as soon as it finds it wrong, and it helps where what a flip-flop holds has another name.
"""

from __future__ import annotations

import re
import time
from collections.abc import Iterator, Mapping, Sequence
from random import Random
from types import MappingProxyType

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.walk import NotQuiet, Walker
from breadproof.specs.netlist.model import Control
from breadproof.verify.revisions.items import Item
from breadproof.verify.revisions.links import Links
from breadproof.verify.revisions.start import Start, begun_alike, moves

RUNS = 8
STEPS = 40
WEIGHTS = (1, 5, 25)
"""In each run some controls move more often than others, so that not every run is cleared again and
again."""
SECONDS = 5.0
"""Longer the boards are not walked."""
EACH, ROWS = 2, 8
"""So many nets of the old board are tried for one of the new board; of those that do not count all
the time (`guesses`) so many."""
FEW = 1000
"""So many pairs of nets that stood still are tried."""
_BIT = re.compile(r"(.+)\[(\d+)\]\Z")
Levels = list[tuple[int, int] | None]
"""(known, level) at each quiet moment; None where it does not count."""


def guesses(
    old: Machine,
    new: Machine,
    links: Links,
    start: Start,
    told: Mapping[int, int] = MappingProxyType({}),
    often: Sequence[str] = (),
    beats: tuple[str, ...] = (),
) -> tuple[Item, ...]:
    """Pairs of nets that went alike, or opposite, in all runs; none that stood still, mostly.

    ``told`` maps nets of the old machine that do not count all the time to the node that tells
    whether they do. Controls that are to move in every other step come ``often``.
    """
    random = Random(0)
    end = time.monotonic() + SECONDS
    seen: tuple[list[Levels], list[Levels]] = ([[] for _ in old.nets], [[] for _ in new.nets])
    for _ in range(RUNS):
        if time.monotonic() > end:
            break
        try:
            _run(old, new, links, start, random, seen, told, often, beats)
        except NotQuiet:
            continue
    found = tuple(_pairs(old, new, seen, told))
    return (*found, *_completed(old, new, seen, found))


def _completed(
    old: Machine, new: Machine, seen: tuple[list[Levels], list[Levels]], pairs: tuple[Item, ...]
) -> Iterator[Item]:
    """The other bits of vectors of which some are paired, as far as they went alike: upper bits of
    a counter stand still in all runs."""
    known = {(item.old, item.new, item.inverted) for item in pairs}
    first, second = _bits(old), _bits(new)
    here, there = (
        {net: bit for bit, net in first.items()},
        {net: bit for bit, net in second.items()},
    )
    stems: dict[str, list[tuple[int, int]]] = {}
    for (stem, number), net in first.items():
        stems.setdefault(stem, []).append((number, net))
    for item in pairs:
        one, two = here.get(int(item.old[0])), there.get(int(item.new[0]))
        if item.when or one is None or two is None:
            continue
        for number, a in stems[one[0]]:
            b = second.get((two[0], number - one[1] + two[1]))
            if b is None or ((a,), (b,), item.inverted) in known:
                continue
            if _alike(seen[0][a], seen[1][b], inverted=item.inverted):
                known.add(((a,), (b,), item.inverted))
                yield _guess(old, new, a, b, {}, inverted=item.inverted)


def _bits(machine: Machine) -> dict[tuple[str, int], int]:
    """The nets that are bits of something, by its name and theirs."""
    found = ((net, _BIT.match(net.name)) for net in machine.netlist.nets)
    return {(bit[1], int(bit[2])): net.index for net, bit in found if bit}


def _alike(one: Levels, two: Levels, *, inverted: bool) -> bool:
    """Whether two nets went alike, or opposite, whenever both counted."""
    return all(
        a is None or b is None or (a[0] == b[0] and (a[1] ^ int(inverted)) * a[0] == b[1] * b[0])
        for a, b in zip(one, two, strict=True)
    )


def _pairs(
    old: Machine, new: Machine, seen: tuple[list[Levels], list[Levels]], told: Mapping[int, int]
) -> Iterator[Item]:
    by_mask: dict[tuple[bool, ...], dict[tuple[tuple[int, int], ...], list[int]]] = {}
    for net, levels in enumerate(seen[0]):
        mask = tuple(one is not None for one in levels)
        by_mask.setdefault(mask, {}).setdefault(_counted(levels), []).append(net)
    for mask, by_levels in by_mask.items():
        for net, levels in enumerate(seen[1]):
            here = _counted([one for one, wanted in zip(levels, mask, strict=True) if wanted])
            if len(set(here)) < 2:
                yield from _still(old, new, by_levels.get(here, []), net, told)
                continue
            turned = tuple((known, level ^ known) for known, level in here)
            for inverted, there in ((False, here), (True, turned)):
                for other in by_levels.get(there, [])[: EACH if all(mask) else ROWS]:
                    yield _guess(old, new, other, net, told, inverted=inverted)


def _still(
    old: Machine, new: Machine, others: list[int], net: int, told: Mapping[int, int]
) -> Iterator[Item]:
    """What stood still tells little: it is tried with a supply, and with what counts no more than
    now and then, where that is not much."""
    rows = [other for other in others if other in told]
    if len(rows) * len(new.nets) <= FEW:
        yield from (_guess(old, new, other, net, told) for other in rows)
    if new.netlist.nets[net].rail is None:
        rails = [k for k in others if k not in told and old.netlist.nets[k].rail is not None]
        yield from (_guess(old, new, rail, net, told) for rail in rails[:1])


def _counted(levels: Levels) -> tuple[tuple[int, int], ...]:
    return tuple(one for one in levels if one is not None)


def _guess(
    old: Machine,
    new: Machine,
    one: int,
    two: int,
    told: Mapping[int, int],
    *,
    inverted: bool = False,
) -> Item:
    return Item(
        name=f"{old.netlist.nets[one].name} and {new.netlist.nets[two].name}",
        kind="net",
        old=(one,),
        new=(two,),
        inverted=inverted,
        when=((told[one], True),) if one in told else (),
    )


def _run(
    old: Machine,
    new: Machine,
    links: Links,
    start: Start,
    random: Random,
    seen: tuple[list[Levels], list[Levels]],
    told: Mapping[int, int],
    often: Sequence[str],
    beats: tuple[str, ...],
) -> None:
    """One run of both; what is seen is added."""
    walkers, _ = begun(old, new, links, start, random, beats)
    moving = movable(old, links)
    weights = [random.choice(WEIGHTS) for _ in moving]
    for step in range(STEPS if moving else 0):
        _note(walkers, seen, told)
        moved(walkers, links, *next_move(walkers, moving, weights, often, step, random))
    _note(walkers, seen, told)


def next_move(
    walkers: Sequence[Walker],
    moving: Sequence[Control],
    weights: Sequence[int],
    often: Sequence[str],
    step: int,
    random: Random,
) -> tuple[str, tuple[int, ...]]:
    """A control of the old machine, and where it gets to; in every other step one of ``often``."""
    control = random.choices(moving, weights)[0]
    chosen = [c for c in moving if c.name in often]
    if chosen and step % 2:
        control = random.choice(chosen)
    return control.name, somewhere(control, walkers[0].controls, random)


def movable(old: Machine, links: Links) -> list[Control]:
    """The controls of the old machine that the new one has a part in."""
    return [c for c in old.netlist.controls if c.name in links.controls or links.reads]


def begun(
    old: Machine, new: Machine, links: Links, start: Start, random: Random, beats: tuple[str, ...]
) -> tuple[list[Walker], list[dict[str, tuple[int, ...]]]]:
    """Both where the comparison begins, with contents by chance, and how the old machine's controls
    stood until then.

    Raises:
        NotQuiet: one of them does not get quiet.
    """
    storage = [
        {store.label: random.getrandbits(1) for store in machine.stores} for machine in (old, new)
    ]
    for machine, content in zip((old, new), storage, strict=True):
        sure = dict(machine.first)
        content.update({s.label: sure[s.leaf] for s in machine.stores if s.leaf in sure})
    labels = {store.leaf: store.label for store in old.stores}
    alike = begun_alike(old, new, links, start).of("store")
    for store in new.stores:
        other = alike.get(store.leaf)
        if other is not None:
            storage[1][store.label] = storage[0][labels[other]]
    rest = {c.name: (0,) * len(c.bits) for c in old.netlist.controls}
    stands = {
        c.name: somewhere(c, rest, random) if random.getrandbits(1) else rest[c.name]
        for c in movable(old, links)
    }
    walkers = [
        Walker(machine, storage=dict(content))
        for machine, content in zip((old, new), storage, strict=True)
    ]
    for number, walker in enumerate(walkers):
        walker.controls.update(_standing(walkers, links, stands) if number else stands)
        walker.power_up()
    stood = [dict(walkers[0].controls)]
    for name, level in moves(old, beats) if start == "reset" else ():
        now = 1 - walkers[0].controls[name][0] if level is None else int(level)
        moved(walkers, links, name, (now,))
        stood.append(dict(walkers[0].controls))
    return walkers, stood


def somewhere(
    control: Control, now: Mapping[str, tuple[int, ...]], random: Random
) -> tuple[int, ...]:
    """Where a control gets to that is moved."""
    if control.exclusive:
        chosen = random.randrange(len(control.bits))
        return tuple(int(place == chosen) for place in range(len(control.bits)))
    if len(control.bits) == 1:
        return (1 - now[control.name][0],)
    return tuple(random.getrandbits(1) for _ in control.bits)


def moved(walkers: list[Walker], links: Links, name: str, bits: tuple[int, ...]) -> None:
    """Move a control of the old machine, and what of the new one moves with it."""
    walkers[0].step({name: bits})
    walkers[1].step(_standing(walkers, links, {name: bits}))


def _standing(
    walkers: list[Walker], links: Links, moved: Mapping[str, tuple[int, ...]]
) -> dict[str, tuple[int, ...]]:
    """How the new machine's controls stand, those of the old one having been moved."""
    if links.reads:
        assert walkers[0].before is not None, "it was walked"
        return links.followed(walkers[1].machine, walkers[0].before.levels)
    return {links.controls[name]: bits for name, bits in moved.items() if name in links.controls}


def _note(
    walkers: list[Walker], seen: tuple[list[Levels], list[Levels]], told: Mapping[int, int]
) -> None:
    for walker, tables, counting in zip(walkers, seen, (told, {}), strict=True):
        assert walker.before is not None, "it was walked"
        levels = walker.before.levels
        for index, (net, table) in enumerate(zip(walker.machine.nets, tables, strict=True)):
            known = levels[net.known]
            counts = index not in counting or levels[counting[index]]
            table.append((known, levels[net.level] if known else 0) if counts else None)
