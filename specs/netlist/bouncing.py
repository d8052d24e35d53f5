"""Contacts that bounce: the finger is the control, and nets see the contact.

A board file's ``bounces: [STORE, MODE]`` splits such a control in two. Formulas go on to read the
*finger*: ``STORE`` while it presses, ``MODE == SET`` where the lever is. Nets are joined by the
*contact*, and this is all that is known of it:

- Until the finger first moves after power-on, the contact is where the finger is.
- In the round in which the finger moves, the contact is where the finger gets to. (The finger's
  move is the moment in which the contact first follows.)
- From then on the world may move the contact in any step: it opens if it was closed and closes if
  it was open. Each such bounce is a step of its own, so that one thing happens at a time, and may
  be in one step with others only as far as ``together`` lets the control be.
- A change-over contact that breaks before it makes goes between the position where the finger is
  (or, while the finger is between them, where it last was) and neither, never back to the other.
- Contacts that move apart from each other, those of a coded switch or of a change-over switch that
  makes before it breaks, bounce each for itself.

How long it bounces is not limited: a contact has come to rest when the world no longer moves it,
and a formula must hold however late that is. It may bounce while the finger is long at rest again
or moves on. So what holds, holds of every real contact, slow or fast; but what rests on the time
that a contact takes (a resistor and a capacitor, a slow clock) fails, since here it may take
longer. In an endless run it comes to rest at last, unless the finger moves.

This is written as a chip of its own for each contact, ``STORE/contact``, so that all that reasons
about chips reasons about it. Its ``finger`` is a net that the control drives, its moment
``bounces`` is the world's choice, and its switch takes the place of the contact. It is drawn so
that the contact itself never pulses: each term that makes it is there until the next one is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from breadproof.specs.catalogue.made import formula
from breadproof.specs.catalogue.part import (
    Latch,
    Output,
    PartType,
    PinKind,
    PinType,
    Register,
    Switch,
)
from breadproof.specs.netlist import model as m
from breadproof.specs.netlist.placing import pins_of_type

HIDDEN = "/contact"
"""What the name of a control's hidden contact ends with, before its number."""
_formula = partial(formula, where=__file__)


def _pin(name: str, kind: PinKind, says: str = "") -> PinType:
    return PinType(number=name, name=name, kind=kind, says=says)


def _inner(name: str, text: str) -> Output:
    return Output(names=(name,), level=_formula(text), when=None)


def _latch(name: str, opened: str, source: str) -> Latch:
    return Latch(
        name=name,
        width=1,
        open=_formula(opened),
        source=_formula(source),
        clear=None,
        preset=None,
    )


_MOVED = Register(
    name="moved",
    width=1,
    clock=_formula("away"),
    rising=True,
    next=_formula("1'b1"),
    clear=None,
    preset=None,
    load=None,
)
"""Whether the finger moved since power-on."""

SINGLE = PartType(
    number="Contact",
    title="Contact that bounces",
    does="contact",
    package="",
    families=(),
    source="common practice",
    analogue=True,
    pins=(
        _pin("finger", PinKind.IN),
        _pin("bounces", PinKind.MOMENT, "it bounces"),
    ),
    inner=(
        _inner("away", "finger ^ seen"),
        _inner("turned", "(bounces ^ counted) & moved & !away"),
        _inner(
            "touches",
            "(finger & !seen) | (finger & !moved) | (turned & !before)"
            " | (closed & (finger | (!seen & moved)) & !(turned & before))",
        ),
    ),
    storage=(
        _latch("closed", "1'b1", "touches"),
        _latch("before", "!(bounces ^ counted)", "closed"),
        _latch("seen", "!(closed ^ finger)", "finger"),
        _latch("counted", "(closed ^ before) | !moved | away", "bounces"),
        _MOVED,
    ),
    switches=(Switch(joins=("1", "2"), when=_formula("touches")),),
    powers_up=(("moved", 0),),
)
"""``closed`` is the contact of the round before. A move of the finger counts (``away``) until the
contact was seen there, a change of ``bounces`` until ``closed`` has turned from ``before``."""

CHANGEOVER = replace(
    SINGLE,
    title="Change-over contact that bounces",
    form="changeover",
    pins=(
        _pin("first", PinKind.IN),
        _pin("second", PinKind.IN),
        SINGLE.pins[1],
    ),
    inner=(
        _inner("away", "(first ^ seen1) | (second ^ seen2)"),
        _inner("turned", "(bounces ^ counted) & moved & !away"),
        _inner("turned1", "turned & (first | (!second & !last))"),
        _inner("turned2", "turned & (second | (!first & last))"),
        _inner(
            "touches1",
            "(first & !seen1) | (first & !moved) | (turned1 & !before)"
            " | (closed1 & (first | (!seen1 & !second & moved)) & !(turned1 & before))",
        ),
        _inner(
            "touches2",
            "(second & !seen2) | (second & !moved) | (turned2 & !before)"
            " | (closed2 & (second | (!seen2 & !first & moved)) & !(turned2 & before))",
        ),
    ),
    storage=(
        _latch("closed1", "1'b1", "touches1"),
        _latch("closed2", "1'b1", "touches2"),
        _latch("before", "!(bounces ^ counted)", "closed1 | closed2"),
        _latch("seen1", "!((closed1 ^ first) | (closed2 ^ second))", "first"),
        _latch("seen2", "!((closed1 ^ first) | (closed2 ^ second))", "second"),
        _latch("last", "first | second", "second"),
        _latch("counted", "((closed1 | closed2) ^ before) | !moved | away", "bounces"),
        _MOVED,
    ),
    switches=(
        Switch(joins=("1", "2"), when=_formula("touches1 & !touches2")),
        Switch(joins=("2", "3"), when=_formula("touches2")),
    ),
)
"""``last`` is the position where the finger last was: 1 is the second."""


def control_of(closing: m.Closing) -> str:
    """The control that closes a contact, bouncing or not; "" for an analogue switch of a chip."""
    if isinstance(closing, m.ControlBit):
        return closing.control
    return finger_of(closing.part)


def finger_of(part: str) -> str:
    """The control whose hidden contact a part is; "" of all other parts."""
    return part.rpartition(HIDDEN)[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """How to tell that a contact is at rest: its moment ``bounces`` does not change, and it is
    where the finger is: each storage bit (``STORE/contact.closed[0]``) is as high as that bit of
    the control."""

    bounces: str
    places: tuple[tuple[str, str, int], ...]


def rests(netlist: m.Netlist) -> tuple[Rest, ...]:
    """One for each hidden contact of a board that `bouncing` made."""
    closed: dict[str, list[str]] = {}
    for part in netlist.parts:
        if finger_of(part.name):
            names = [one.name for one in part.type.storage if one.name.startswith("closed")]
            closed[part.name] = [f"{part.name}.{name}[0]" for name in names]
    bits: dict[str, int] = {}
    found: list[Rest] = []
    for part_name, labels in closed.items():
        finger = finger_of(part_name)
        first = bits.get(finger, 0)
        bits[finger] = first + len(labels)
        places = tuple((label, finger, first + k) for k, label in enumerate(labels))
        found.append(Rest(bounces=f"{part_name}.bounces", places=places))
    return tuple(found)


def bouncing(netlist: m.Netlist) -> m.Netlist:
    """The board with each contact that bounces as a chip; the same netlist if there is none."""
    if not netlist.bounces:
        return netlist
    return _Bouncing(netlist).done()


@dataclass(slots=True)
class _Bouncing:
    netlist: m.Netlist
    parts: list[m.Part] = field(default_factory=list)
    nets: list[m.Net] = field(default_factory=list)
    ports: list[m.Port] = field(default_factory=list)
    controls: list[m.Control] = field(default_factory=list)
    closings: dict[m.ControlBit, m.ChipSwitch] = field(default_factory=dict)
    moments: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def done(self) -> m.Netlist:
        netlist = self.netlist
        for control in netlist.controls:
            if control.name in netlist.bounces:
                self.split(control)
        return replace(
            netlist,
            parts=(*netlist.parts, *self.parts),
            nets=(*netlist.nets, *self.nets),
            ports=(*netlist.ports, *self.ports),
            controls=(*netlist.controls, *self.controls),
            contacts=tuple(
                replace(contact, closing=self.closings[contact.closing])
                if isinstance(contact.closing, m.ControlBit) and contact.closing in self.closings
                else contact
                for contact in netlist.contacts
            ),
            together=netlist.together
            if netlist.together == "all"
            else tuple(self.with_moments(group) for group in netlist.together),
        )

    def with_moments(self, group: Sequence[str]) -> tuple[str, ...]:
        """What may change together with a control may do so with its bounces."""
        return (*group, *(one for name in group for one in self.moments.get(name, ())))

    def split(self, control: m.Control) -> None:
        """The finger's nets, and a chip for each contact that moves apart from the others."""
        count = len(control.bits)
        groups = [tuple(range(count))] if control.exclusive else [(bit,) for bit in range(count)]
        fingers: list[int] = []
        for number, bits in enumerate(groups, start=1):
            name = f"{control.name}{HIDDEN}{number if len(groups) > 1 else ''}"
            fingers += self.contact(control, name, bits)
        part = self.netlist.part(control.part or "")
        if part is None:
            raise AssertionError("what bounces is a part")
        port = m.Port(
            name=control.name, direction="in", nets=tuple(fingers), span=part.span, moment=True
        )
        self.ports.append(port)

    def contact(self, control: m.Control, name: str, bits: tuple[int, ...]) -> list[int]:
        """One hidden chip, with its moment; the nets of its finger."""
        owner = self.netlist.part(control.part or "")
        if owner is None:
            raise AssertionError("what bounces is a part")
        kind = SINGLE if len(bits) == 1 else CHANGEOVER
        pins = pins_of_type(name, kind, owner.span)
        placed: list[m.Pin] = []
        for pin in pins:
            index = len(self.netlist.nets) + len(self.nets)
            placed.append(replace(pin, net=index))
            self.nets.append(
                m.Net(index=index, name=pin.label, pins=(placed[-1],), span=owner.span)
            )
        *fingers, later = placed
        self.parts.append(
            m.Part(
                name=name,
                printed="contact",
                device="chip",
                type=kind,
                family=None,
                pins=tuple(placed),
                span=owner.span,
            )
        )
        self.ports.append(
            m.Port(
                name=later.label,
                direction="in",
                nets=(_net(later),),
                span=owner.span,
                moment=True,
            )
        )
        self.controls.append(
            m.Control(name=later.label, kind="moment", bits=(later.label,), part=name)
        )
        self.moments[control.name] = (*self.moments.get(control.name, ()), later.label)
        for number, bit in enumerate(bits):
            self.closings[m.ControlBit(control.name, bit)] = m.ChipSwitch(name, number)
        return [_net(pin) for pin in fingers]


def _net(pin: m.Pin) -> int:
    if pin.net is None:
        raise AssertionError("its pins are wired")
    return pin.net
