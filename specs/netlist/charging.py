"""Capacitors that resistors charge: nets whose level follows later.

A net that only resistors move, with a capacitor to a supply, does not follow at once. When it gets
there is the world's choice: a moment of the capacitor (its control), at least one step after what
pulls it changed. Whoever drives the net hard (a button, the discharge transistor of a timer) moves
it at once. So a resistor and a capacitor at a clear pin make one pulse after power-on, a button
with both is free of bounce, and a timer runs freely or once, as its wires say.

This is an abstraction (common practice of gate-level models): exponentials and thresholds become
"some time later". It is written as a chip of its own, so that all that reasons about chips reasons
about it: the resistors of the net are taken to a net of their own, ``C1.target``, and what the
capacitor holds comes back through a resistor as strong as they are.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial

from breadproof.specs.catalogue.made import formula
from breadproof.specs.catalogue.part import (
    Latch,
    Output,
    PartType,
    PinKind,
    PinType,
    Register,
)
from breadproof.specs.netlist import model as m
from breadproof.specs.netlist.drive import Driver, NetPlan
from breadproof.specs.netlist.placing import pins_of_type

SMALLEST = 1e-9
"""Farads. Less only rounds the edges of a logic signal (common practice)."""
HARD = (PinKind.OUT, PinKind.THREE_STATE, PinKind.BIDIRECTIONAL)
"""Outputs that a capacitor does not delay beyond the edge."""

_formula = partial(formula, where=__file__)


def _latch(name: str, opened: str, source: str) -> Latch:
    return Latch(
        name=name,
        width=1,
        open=_formula(opened),
        source=_formula(source),
        clear=None,
        preset=None,
    )


def _counted(name: str, *, rising: bool) -> Register:
    """Changes with every moment in which ``later`` rises, or falls."""
    return Register(
        name=name,
        width=1,
        clock=_formula("later"),
        rising=rising,
        next=_formula(f"!{name}"),
        clear=None,
        preset=None,
        load=None,
    )


_NOW = "(ups ^ downs ^ seen)"
"""In the round after a moment."""


def _pin(name: str, kind: PinKind, says: str = "") -> PinType:
    return PinType(number=name, name=name, kind=kind, says=says)


TO_GROUND = PartType(
    number="Capacitor",
    title="Capacitor that a resistor charges",
    does="capacitor",
    package="",
    families=(),
    source="common practice",
    analogue=True,
    pins=(
        _pin("1", PinKind.PASSIVE),
        _pin("2", PinKind.PASSIVE),
        _pin("net", PinKind.IN),
        _pin("target", PinKind.IN),
        _pin("level", PinKind.OUT),
        _pin("later", PinKind.MOMENT, "its resistor has moved it"),
    ),
    logic=(Output(names=("level",), level=_formula("charge"), when=None),),
    storage=(
        _latch("charge", f"(net ^ charge) | {_NOW}", "(net ^ charge) ? net : target"),
        _counted("ups", rising=True),
        _counted("downs", rising=False),
        _latch("seen", "1'b1", "ups ^ downs"),
    ),
    powers_up=(("charge", 0), ("ups", 0), ("downs", 0), ("seen", 0)),
)
"""``charge`` is the level it holds. What differs from it on the net is driven hard, and moves it;
else, in the round after the moment ``later``, it gets where its resistors pull it. At power-on it
is empty, and the net at its other end's level."""
TO_SUPPLY = replace(
    TO_GROUND,
    form="high",
    powers_up=(("charge", 1), *TO_GROUND.powers_up[1:]),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge:
    """A capacitor with the net that it slows down; ``high_first``: its other end is at a supply, so
    that the net begins there."""

    part: m.Part
    net: int
    high_first: bool


def charges(netlist: m.Netlist) -> Iterator[Charge]:
    """The capacitors of a board that slow a net down, in its order; one a net."""
    resistors: dict[int, list[int]] = {}
    for resistor in netlist.resistors:
        resistors.setdefault(resistor.a, []).append(resistor.b)
        resistors.setdefault(resistor.b, []).append(resistor.a)
    ported = {net for port in netlist.ports if port.direction != "out" for net in port.nets}
    done: set[int] = set()
    for part in netlist.parts:
        if part.device != "capacitor" or (part.value or SMALLEST) < SMALLEST:
            continue
        ends = [pin.net for pin in part.pins]
        for here, there in (ends, ends[::-1]):
            if here is None or there is None or here in done or here in ported:
                continue
            net, rail = netlist.nets[here], netlist.nets[there].rail
            kinds = {pin.kind for pin in net.pins}
            if net.rail is not None or rail is None or here not in resistors:
                continue
            if not any(kind.reads for kind in kinds) or kinds & set(HARD):
                continue
            done.add(here)
            yield Charge(part=part, net=here, high_first=rail > 0.0)


def charging(netlist: m.Netlist, plans: tuple[NetPlan, ...]) -> m.Netlist:
    """The board with each such capacitor as a chip; the same netlist if there is none.

    ``plans`` are those of the netlist as it is.
    """
    found = tuple(charges(netlist))
    for charge in found:
        netlist = _slowed(netlist, charge, plans[charge.net])
    return netlist


def _keeps(driver: Driver, *, high: bool) -> bool:
    """Whether a driver can only hold the level that a capacitor begins with.

    Another one may have moved it before the first quiet moment.
    """
    if driver.kind == "rail":
        return driver.high == high
    collector = driver.pin is not None and driver.pin.kind.sinks
    return collector and not high


def _alone(netlist: m.Netlist, plan: NetPlan) -> bool:
    """Whether no resistor moves the net but those right at it, which the capacitor slows down.

    One behind a contact or a diode opposes what the capacitor holds, and the net has no level.
    """
    here = plan.net
    beside = {
        (r.part, r.b if r.a == here else r.a) for r in netlist.resistors if here in (r.a, r.b)
    }
    return all(
        (pull.parts[0], (*pull.through, pull.end)[0]) in beside and pull.passes == "both"
        for pull in plan.pulls
    )


def _slowed(netlist: m.Netlist, charge: Charge, plan: NetPlan) -> m.Netlist:
    name, span = charge.part.name, charge.part.span
    first = len(netlist.nets)
    hidden = {"net": charge.net, "target": first, "level": first + 1, "later": first + 2}
    kind = TO_SUPPLY if charge.high_first else TO_GROUND
    ohms = _back(netlist, plan)
    keeps = all(_keeps(driver, high=charge.high_first) for driver in plan.drivers)
    if not (keeps and ohms == 0.0 and _alone(netlist, plan)):
        kind = replace(kind, powers_up=kind.powers_up[1:])
    pins = tuple(
        replace(pin, net=hidden[pin.name])
        for pin in pins_of_type(name, kind, span)
        if pin.name in hidden
    )
    part = replace(charge.part, device="chip", type=kind, pins=(*charge.part.pins, *pins))
    added = tuple(
        m.Net(
            index=hidden[pin.name],
            name=f"{name}.{pin.name}",
            pins=(pin,),
            span=span,
        )
        for pin in pins[1:]
    )
    nets = tuple(
        replace(net, pins=(*net.pins, pins[0])) if net.index == charge.net else net
        for net in netlist.nets
    )
    back = m.Resistor(
        a=charge.net,
        b=hidden["level"],
        ohms=ohms,
        part=name,
    )
    moment = f"{name}.later"
    return replace(
        netlist,
        parts=tuple(part if one.name == name else one for one in netlist.parts),
        nets=(*nets, *added),
        resistors=(
            *(_moved(one, charge.net, hidden["target"]) for one in netlist.resistors),
            back,
        ),
        ports=(
            *netlist.ports,
            m.Port(name=moment, direction="in", nets=(hidden["later"],), span=span, moment=True),
        ),
        controls=(
            *netlist.controls,
            m.Control(name=moment, kind="moment", bits=(moment,), part=name),
        ),
    )


def _back(netlist: m.Netlist, plan: NetPlan) -> float:
    """Ohms through which the capacitor moves its net.

    It holds what it has against any input; where it gets to counts only if its resistors are strong
    enough for the inputs, so one that is too weak for them stands here as it is.
    """
    weak = [0.0]
    for pull in plan.pulls:
        rail = netlist.nets[pull.end].rail
        enough = (pull.high or rail == 0.0) and (pull.low or (rail or 0.0) > 0.0)
        weak += [] if enough else [pull.ohms]
    return max(weak)


def _moved(resistor: m.Resistor, net: int, target: int) -> m.Resistor:
    """A resistor whose end is at the net, with that end at its target."""
    return replace(
        resistor,
        a=target if resistor.a == net else resistor.a,
        b=target if resistor.b == net else resistor.b,
    )
