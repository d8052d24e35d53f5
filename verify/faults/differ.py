"""Whether a fault makes any difference to what the board does, and in which run first.

Parts, pins and nets keep their names, so the two boards are matched by these; all the rest is the
comparison of two revisions (`revisions.behaviour`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import Trace
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.faults.fault import Fault
from breadproof.verify.faults.judged import Apart
from breadproof.verify.prove.assumptions import check_assumptions
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.report.words import listed, moved, standing
from breadproof.verify.revisions.apart import Difference
from breadproof.verify.revisions.behaviour import Found, Task, behaviour, rests_on
from breadproof.verify.revisions.changes import Change
from breadproof.verify.revisions.items import Item, items_of
from breadproof.verify.revisions.links import link
from breadproof.verify.revisions.matching import Matching
from breadproof.verify.revisions.walked import Walked


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """``same`` is proved for runs of any length; ``rests`` are the checks of pins of both boards
    that it rests on. ``apart`` shows a difference; without both ``because`` tells why."""

    same: bool
    apart: Apart | None = None
    because: str = ""
    rests: tuple[str, ...] = ()


def compared(sound: Machine, faulty: Machine, fault: Fault, seconds: float) -> Compared:
    """Compare both boards' behaviour; the machines are those `sound.for_comparison` makes.

    Raises:
        TraceMismatch: a difference that was found does not show (our error).
    """
    matching = by_name(sound.wired, faulty.wired)
    links = link(sound, faulty, matching)
    items = items_of(sound, faulty, matching, links)
    outside = tuple(item for item in items if item.outside)
    items = outside or items
    gone = tuple(lamp for lamp in sound.lamps if lamp not in faulty.lamps)
    if gone:
        told = tuple((lamp, "lit or dark", "not in any circuit") for lamp in gone)
        return Compared(same=False, apart=Apart(steps=0, moves=(), items=told))
    change = Change(
        group="wiring",
        kind="fault",
        text=fault.says,
        parts=(tuple(sorted(fault.parts)),) * 2,
        pins=(fault.pins, fault.pins),
    )
    task = Task(
        matching=matching,
        machines=(sound, faulty),
        links=links,
        items=items,
        changes=(change,),
        start="power-up",
        when=None,
        seconds=seconds,
    )
    found = behaviour(task)
    if found.answered is None:
        return Compared(same=False, because=_here(found.because))
    assumptions = check_assumptions(sound, Deadline(seconds))
    if found.answered.difference is not None and found.runs is not None:
        if not assumptions.lasting:
            return Compared(same=False, because=assumptions.because)
        return Compared(same=False, apart=_apart(found, found.answered.difference, items))
    if assumptions.verdict != "holds":
        return Compared(same=False, because=assumptions.because)
    if any(fate != "same" for fate in found.answered.fates.values()):
        because = found.answered.because or "the comparison of behaviour has no answer"
        return Compared(same=False, because=_here(because))
    rests = (*rests_on(sound, items, 0), *rests_on(faulty, items, 1))
    return Compared(same=True, rests=tuple(dict.fromkeys(rests)))


def _here(because: str) -> str:
    """Why there is no answer, of these two boards."""
    told = because.replace("the old board", "the board without the fault")
    return told.replace("the new board", "the board with the fault")


def by_name(old: Netlist, new: Netlist) -> Matching:
    """The board without and with a fault: everything is what it is called."""
    names = {net.name: net.index for net in new.nets} | dict(new.aliases)
    pins = {pin.label for pin in new.pins()}
    index = {pin.label: pin for pin in new.pins()}
    nets = {net.index: names[net.name] for net in old.nets if net.name in names}
    other_net = [
        (pin, index[pin.label])
        for pin in old.pins()
        if pin.label in pins
        and (None if pin.net is None else nets.get(pin.net)) != index[pin.label].net
    ]
    return Matching(
        old=old,
        new=new,
        parts={part.name: part.name for part in old.parts},
        pins={pin.label: pin.label for pin in old.pins() if pin.label in pins},
        nets=nets,
        gates=(),
        moved=tuple(other_net),
        anew=frozenset(),
    )


def _apart(found: Found, difference: Difference, items: tuple[Item, ...]) -> Apart:
    assert found.runs is not None, "there is a difference"
    by = {item.name: item for item in items}
    told = [
        (name, _value(by[name], found.runs[0], 0), _value(by[name], found.runs[1], 1))
        for name in difference.items
    ]
    where = found.parting
    return Apart(
        steps=difference.steps,
        moves=tuple(_moves(found.runs[0].machine.netlist, difference.old)),
        runs=(difference.old, difference.new),
        items=tuple(told),
        pin=where.pins[0] if where is not None else "",
        levels=where.levels if where is not None else (None, None),
    )


def _moves(netlist: Netlist, trace: Trace) -> Iterator[str]:
    """How the controls stand that are not at rest, then what is done, step by step."""
    first = trace.steps[0]
    yield (
        listed(
            [
                standing(netlist, control, bits)
                for control in netlist.controls
                if any(bits := first.controls[control.name])
            ]
        )
        or "nothing is pressed or closed"
    )
    for before, after in pairwise(trace.steps):
        yield moved(netlist, before, after)


def _value(item: Item, run: Walked, side: int) -> str:
    """What an item shows at the end of a run."""
    what = (item.old, item.new)[side]
    levels = run.last.levels
    if item.kind == "lamp":
        return "lit" if levels[run.machine.lamps[str(what[0])]] else "dark"
    if item.kind == "memory":
        return "another word"
    bits = ""
    for net in what:
        level = run.machine.nets[int(net)]
        mark = "Z" if not levels[level.driven] else "X"
        bits += str(int(levels[level.level])) if levels[level.known] else mark
    return bits if len(bits) == 1 else f"{len(bits)}'b{bits}"
