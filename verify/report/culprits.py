"""The story of a run: where it goes wrong, who has a part in it, and the chains to them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.drive import Driver, plan_drives
from breadproof.specs.netlist.model import NetlistNames, Pin
from breadproof.specs.netlist.ways import controls_of
from breadproof.specs.reading.diagnostics import Problems
from breadproof.verify.prove.verdict import Result
from breadproof.verify.report.chain import Chain, Link, Spot, Tracer
from breadproof.verify.report.insides import Insides
from breadproof.verify.report.named import Cast, Named
from breadproof.verify.report.replay import FIGHT, FLOAT, Replay
from breadproof.verify.report.starting import Start, started_by

MAX_CHAINS = 4
"""More chains than this in one story help nobody."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """A counterexample with what is told of it.

    ``at`` is the round in which it goes wrong; ``restless``: the board does not get quiet;
    ``start``: what starts the pulse, if it is one; ``behind``: pins that change a round after it
    goes wrong, in a race that two clocks have with each other.
    """

    run: Replay
    cast: Cast
    chains: tuple[Chain, ...]
    at: int
    restless: bool
    start: Start | None = None
    behind: tuple[str, ...] = ()


def tell(result: Result, run: Replay) -> Story:
    """The story of a result's run."""
    machine = run.machine
    kind, _, what = result.name.partition(":")
    cast = Cast()
    at, behind = len(run.instants) - 1, tuple[str, ...]()
    if result.kind != "standing":
        formula = next((f for f in machine.netlist.formulas if f.name == result.name), None)
        if formula is not None:
            Named(machine, cast).expression(formula.expr)
    elif kind == "fights":
        _of_fight(run, what, at, cast)
    elif kind == "floats":
        at = _of_reading(run, result.name, what, cast)
    elif what:
        at = run.broken_at(result.name)
        behind = _of_pin(run, machine, kind, what, at, cast)
    elif result.name == "quiet":
        at = _of_unrest(run, cast)
    chains = _chains(result, run, cast, at + 1 if behind else at)
    start = None
    if kind == "glitch" and result.kind == "standing" and result.trace is not None:
        start = started_by(machine, result.trace, result.name, run.instants[at].round)
    return Story(
        run=run,
        cast=cast,
        chains=chains,
        at=at,
        restless=result.name == "quiet",
        start=start,
        behind=behind,
    )


def tell_of(run: Replay, nets: Iterable[int], at: int) -> Story:
    """The story of how nets come to show in round ``at`` what they show then."""
    cast = Cast(nets=dict.fromkeys(nets))
    chains = _to_nets(Tracer(run), list(cast.nets), at)
    trimmed = _trimmed([chain for chain in chains if chain])
    return Story(run=run, cast=cast, chains=trimmed, at=at, restless=False)


# ------------------------------------------------------------------------- standing checks


def _of_fight(run: Replay, what: str, at: int, cast: Cast) -> None:
    """The nets that fight, and the outputs that drive them."""
    machine = run.machine
    nets = NetlistNames(machine.netlist).nets_of(what) or ()
    fighting = [net for net in nets if run.level(machine.nets[net].fights, at)]
    cast.nets.update(dict.fromkeys(fighting))
    plans = plan_drives(machine.netlist, Problems())
    for driver in plans[fighting[0]].drivers if fighting else ():
        closed = [
            path
            for path in driver.paths
            if all(run.level(machine.closed(closing), at) for closing in path)
        ]
        if not closed or not _active(run, driver, at):
            continue
        if driver.pin is not None:
            cast.drives[driver.pin.label] = None
        elif driver.kind == "outside":
            cast.controls[driver.port] = None
        cast.controls.update(dict.fromkeys(bit.control for bit in controls_of(closed[0])))


def _of_reading(run: Replay, name: str, what: str, cast: Cast) -> int:
    """The nets that float when they are read, with all that reads them; the round in which."""
    netlist = run.machine.netlist
    nets = NetlistNames(netlist).nets_of(what) or ()
    at = run.broken_at(name)
    taken = run.broken(name, at)
    if taken:
        at -= 1  # what storage takes in is what floated before
    loose = [net for net in nets if run.net(net, at) == FLOAT]
    cast.nets.update(dict.fromkeys(loose))
    readers = [pin.label for net in loose for pin in netlist.nets[net].pins if pin.kind.reads]
    cast.pins.update(dict.fromkeys(readers))
    return at


def _active(run: Replay, driver: Driver, at: int) -> bool:
    """Whether something drives, and diodes on the way do not keep its level back."""
    machine = run.machine
    match driver.kind:
        case "rail":
            when, level = True, driver.high
        case "outside":
            bits = [bool(run.level(node, at)) for node in machine.controls[driver.port]]
            when = driver.always or bits[0]
            level = bits[driver.bit + (0 if driver.always else 1)]
        case "pin":
            if driver.pin is None:
                raise AssertionError("a pin driver without a pin")
            drive = machine.drives[driver.pin.label]
            when, level = bool(run.level(drive.when, at)), bool(run.level(drive.level, at))
    return when and (driver.passes == "both" or (driver.passes == "high") == level)


def _of_pin(
    run: Replay, machine: Machine, kind: str, what: str, at: int, cast: Cast
) -> tuple[str, ...]:
    """The pin that suffers; in a race also what moves in the same round on the same chip.

    If nothing does, two clocks have a race with each other: then it is what moves a round later,
    and those pins are given back.
    """
    part_name, _, number = what.partition(".")
    part = machine.netlist.part(part_name)
    pin = part.pin(number) if part else None
    if part is None or pin is None:
        return ()
    _name(pin, cast)
    if kind != "race":
        return ()
    taken: dict[str, None] = {}
    for strobe in machine.strobes:
        if strobe.part == part.name and pin.label in strobe.pins:
            stores = tuple(machine.stores[index].label for index in strobe.stores)
            taken.update(dict.fromkeys(Insides(part).taken(stores)))
    others = [one for one in part.pins if one.name in taken and one.label != pin.label]
    moving = [one for one in others if _moves(run, one, at)]
    behind: list[Pin] = []
    if not moving and at + 1 < len(run.instants):
        behind = [one for one in others if _moves(run, one, at + 1)]
    for other in (*moving, *behind):
        _name(other, cast)
    return tuple(one.label for one in behind)


def _name(pin: Pin, cast: Cast) -> None:
    """Give a pin and its net a part in the story."""
    cast.pins[pin.label] = None
    if pin.net is not None:
        cast.nets[pin.net] = None


def _moves(run: Replay, pin: Pin, at: int) -> bool:
    """Whether what a pin reads changes in a round or may pulse; floating ones included."""
    if pin.label not in run.machine.pins or at == 0:
        return False
    node = run.machine.pins[pin.label].level
    return run.swings(node, at) or run.level(node, at) != run.level(node, at - 1)


def _of_unrest(run: Replay, cast: Cast) -> int:
    """The nets of loops that find no level, and those that still move; where it begins."""
    last = len(run.instants) - 1
    rounds = range(run.first[-1], last + 1)
    begin = next((at for at in rounds if run.instants[at].levels.unsettled), last)
    names = {net.name: net.index for net in run.machine.netlist.nets}
    for loop in run.machine.loops:
        ends = zip(loop.leaves, loop.functions, strict=True)
        if any(run.level(leaf, last) != run.level(function, last) for leaf, function in ends):
            loose = [names[name] for name in loop.variables if name in names]
            cast.nets.update(dict.fromkeys(loose))
    for net in run.machine.netlist.nets:
        if any(run.moved(net.index, at) for at in range(max(1, last - 2), last + 1)):
            cast.nets[net.index] = None
    return begin


# ------------------------------------------------------------------------- chains


def _chains(result: Result, run: Replay, cast: Cast, at: int) -> tuple[Chain, ...]:
    tracer = Tracer(run)
    found: list[Chain] = []
    if result.name.startswith("glitch:"):
        # Not trimmed: the short way and the long one are the story.
        return tuple(tracer.to_hazard(next(iter(cast.nets)), at)) if cast.nets else ()
    if result.name == "quiet" and cast.nets and run.instants[at].levels.unsettled:
        found += tracer.to_pulse(next(iter(cast.nets)), at)
    elif result.name.startswith("fights:") and cast.nets:
        net = next(iter(cast.nets))
        found += [tracer.to_drive(tracer.pins[label], at) for label in cast.drives]
        found += [_from_control(run, name, net, at) for name in cast.controls]
    else:
        found += _to_nets(tracer, [*cast.nets, *cast.shows], at)
        if result.name.startswith("race:"):
            found += _to_pulsing(tracer, list(cast.nets)[1:], at)  # the first is the clock's
    return _trimmed([chain for chain in found if chain])


def _to_nets(tracer: Tracer, named: list[int], at: int) -> list[Chain]:
    """Chains to those of the nets that moved in the last step, or else last."""
    run = tracer.run
    rails = {net.index for net in run.machine.netlist.nets if net.rail is not None}
    nets = [net for net in named if net not in rails]
    late = [net for net in nets if tracer.last_move(net, at) >= run.first[-1] > 0]
    return [tracer.to_net(net, at) for net in late or _latest(tracer, nets, at)]


def _to_pulsing(tracer: Tracer, nets: list[int], at: int) -> list[Chain]:
    """A chain to one of the nets that stay as they are in a round, but may pulse in it, if none of
    them moves: what is taken in from it is as uncertain."""
    run, level = tracer.run, tracer.machine.nets
    if any(run.moved(net, at) for net in nets):
        return []
    pulsing = [net for net in nets if run.swings(level[net].level, at)]
    return sorted(tracer.to_pulse(pulsing[0], at), key=len)[:1] if pulsing else []


def _latest(tracer: Tracer, nets: list[int], at: int) -> list[int]:
    """Of each vector the bit that is fought over or floats, or else the one that moved last."""
    vector_of = {net: v.name for v in tracer.netlist.vectors for net in v.nets}
    latest: dict[str, int] = {}

    def weight(net: int) -> tuple[bool, int]:
        return tracer.run.net(net, at) in (FIGHT, FLOAT), tracer.last_move(net, at)

    for net in nets:
        name = vector_of.get(net, tracer.netlist.nets[net].name)
        before = latest.setdefault(name, net)
        if weight(net) > weight(before):
            latest[name] = net
    return list(latest.values())


def _from_control(run: Replay, control: str, net: int, at: int) -> Chain:
    """The chain of one link from a port or contact that joins in a fight."""
    nodes = run.machine.controls[control]
    began = at
    while began > 0 and all(run.level(n, began) == run.level(n, began - 1) for n in nodes):
        began -= 1
    return (Link(spot=Spot(net=net, at=began), start=control, kind="control"),)


def _trimmed(chains: list[Chain]) -> tuple[Chain, ...]:
    """Without those that another one contains, bits of one vector aside; a few at most."""
    kept: list[Chain] = []
    for chain in sorted(chains, key=len, reverse=True):
        spots = {(link.spot.net, link.spot.at, link.spot.pin) for link in chain}
        inside = any(
            spots <= {(link.spot.net, link.spot.at, link.spot.pin) for link in other}
            for other in kept
        )
        same_way = any(
            len(other) == len(chain)
            and other[:-1] == chain[:-1]
            and other[-1].into == chain[-1].into
            and other[-1].source == chain[-1].source is not None
            for other in kept
        )
        if not inside and not same_way:
            kept.append(chain)
    ordered = [chain for chain in chains if any(chain is other for other in kept)]
    return tuple(ordered[:MAX_CHAINS])
