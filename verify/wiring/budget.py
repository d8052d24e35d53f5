"""What a board takes from its supply at most, and the rule that holds it against a stated current.

Counted: I_CC of every chip (`specs.catalogue.supplycurrent`), every LED and segment lit through its
resistors, every pull resistor pulled. Not counted: what CMOS takes for each switching and for an
input between the rails (HCT driven by LS), what is fed through ports and connectors, input
currents, motors, relays and the like. What is not known is named, and never taken for nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.catalogue.supplycurrent import supply_current
from breadproof.specs.netlist.model import Lamp, Net, Resistor
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, listed, milliamps, ohms, volts
from breadproof.verify.wiring.survey import Survey

HIGHEST = 1.05
"""The highest a supply may be, as a part of what it should be (5 %, data books)."""
V_F = 2.0
"""What is lost in an LED, about, in volts: common practice for red, amber and green ones."""
POWERED = ("oscillator", "supervisor")
"""Parts that are no chips of the catalogue and take current all the same."""
NAMED = 6
"""So many parts a message names."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What some parts of a kind take.

    ``names``: the parts, lamps or resistors; ``each``: amperes of one, None if that is not known;
    ``how``: the source, or what it was worked out from.
    """

    kind: str
    what: str
    names: tuple[str, ...]
    each: float | None
    how: str

    @property
    def amperes(self) -> float | None:
        """Of all of them."""
        return None if self.each is None else self.each * len(self.names)


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """All that is taken; ``stated``: what the board file says that the supply gives."""

    taken: tuple[Taken, ...]
    stated: float | None

    @property
    def known(self) -> float:
        """The sum of what is known, in amperes."""
        return sum(one.amperes for one in self.taken if one.amperes is not None)

    @property
    def unknown(self) -> tuple[str, ...]:
        """The parts of which it is not known what they take."""
        return tuple(name for one in self.taken if one.each is None for name in one.names)


def budget_of(survey: Survey) -> Budget:
    """The current budget of a board."""
    found: dict[tuple[str, str, float | None, str], list[str]] = {}
    for kind, what, name, each, how in (
        *_chips(survey), *_Currents(survey).lamps(), *_Currents(survey).pulls()
    ):  # fmt: skip
        found.setdefault((kind, what, each, how), []).append(name)
    return Budget(
        taken=tuple(
            Taken(kind=kind, what=what, names=tuple(names), each=each, how=how)
            for (kind, what, each, how), names in found.items()
        ),
        stated=survey.netlist.supply_current,
    )


_Line = tuple[str, str, str, float | None, str]


def _chips(survey: Survey) -> Iterator[_Line]:
    for part in survey.netlist.parts:
        if part.device == "chip" and part.family is not None:
            known = supply_current(part.type, part.family)
            each, how = (None, "") if known is None else (known.amperes, known.source)
            yield "chip", part.printed, part.name, each, how
        elif part.device in POWERED:
            yield "chip", part.printed, part.name, None, ""


class _Currents:
    """Where a current comes from and goes to, without and with resistors on the way."""

    def __init__(self, survey: Survey) -> None:
        self.survey = survey
        self.netlist = survey.netlist
        count = len(self.netlist.nets)
        self.joined: list[list[int]] = [[] for _ in range(count)]
        self.towards: dict[bool, list[list[int]]] = {
            up: [[] for _ in range(count)] for up in (True, False)
        }
        self.lit: dict[bool, list[list[tuple[Lamp, int]]]] = {
            up: [[] for _ in range(count)] for up in (True, False)
        }
        self.resistors: list[list[tuple[Resistor, int]]] = [[] for _ in range(count)]
        joined = [(contact.a, contact.b) for contact in self.netlist.contacts]
        joined += [(link.a, link.b) for link in self.netlist.links]
        for a, b in joined:
            self.joined[a].append(b)
            self.joined[b].append(a)
        for diode in self.netlist.diodes:
            self.towards[True][diode.cathode].append(diode.anode)
            self.towards[False][diode.anode].append(diode.cathode)
        for lamp in self.netlist.lamps:
            self.lit[True][lamp.cathode].append((lamp, lamp.anode))
            self.lit[False][lamp.anode].append((lamp, lamp.cathode))
        for resistor in self.netlist.resistors:
            self.resistors[resistor.a].append((resistor, resistor.b))
            self.resistors[resistor.b].append((resistor, resistor.a))

    def lamps(self) -> Iterator[_Line]:
        """What each lamp takes that can be lit at all."""
        for lamp in self.netlist.lamps:
            high = self.side(lamp.anode, lamp, up=True)
            low = self.side(lamp.cathode, lamp, up=False)
            if high is None or low is None:
                continue
            limits = [each for each in (high.ohms, low.ohms) if each is None or each > 0]
            if not limits or None in limits:
                yield "lamp", "LED", lamp.name, None, ""
                continue
            total = sum(each for each in limits if each is not None)
            each = max(0.0, high.volts - V_F) / total
            how = f"({volts(high.volts)} - {volts(V_F)}) / {ohms(total)}"
            yield "lamp", f"LED at {ohms(total)}", lamp.name, each, how

    def side(self, net: int, lamp: Lamp, *, up: bool) -> _Side | None:
        """What lies between one end of a lamp and the supply or ground; None: there is no way.

        Resistors side by side count together, so that no more can flow than this says.
        """
        here = self.around(net, lamp, up=up)
        stiff = [v for v in (self.holds(one, up=up) for one in here) if v is not None]
        if stiff:
            return _Side(volts=max(stiff), ohms=0.0)
        conductance, reached = 0.0, []
        for resistor, end in ((r, e) for one in here for r, e in self.resistors[one]):
            level = self.reaches(end, resistor, lamp, up=up)
            if end in here or level is None:
                continue
            if not resistor.ohms:
                return _Side(volts=level, ohms=None)
            reached.append(level)
            conductance += 1 / resistor.ohms
        return _Side(volts=max(reached), ohms=1 / conductance) if reached else None

    def pulls(self) -> Iterator[_Line]:
        """What each resistor takes that stands between a supply and what can be low."""
        for resistor in self.netlist.resistors:
            ways = (
                self.pulled(resistor, resistor.a, resistor.b),
                self.pulled(resistor, resistor.b, resistor.a),
            )
            levels = [level for level in ways if level is not None]
            if not levels:
                continue
            if not resistor.ohms:
                yield "pull", "resistor with no value", resistor.part, None, ""
                continue
            how = f"{volts(max(levels))} / {ohms(resistor.ohms)}"
            name = self.name_of(resistor)
            yield "pull", f"pull of {ohms(resistor.ohms)}", name, max(levels) / resistor.ohms, how

    def pulled(self, resistor: Resistor, high: int, low: int) -> float | None:
        """The volts across it, if one end gets a high with nothing between and the other a low."""
        sources = [self.holds(net, up=True) for net in self.around(high, None, up=True)]
        levels = [level for level in sources if level is not None]
        if not levels or self.reaches(low, resistor, None, up=False) is None:
            return None
        return max(levels)

    def name_of(self, resistor: Resistor) -> str:
        """``R1``; of a network with the net that is pulled: ``RN1 (bus[3])``."""
        part = self.survey.parts[resistor.part]
        if part.device == "resistor":
            return part.name
        nets = (self.netlist.nets[net] for net in (resistor.a, resistor.b))
        ends = [net.name for net in nets if net.rail is None]
        return f"{part.name} ({listed(ends)})" if ends else part.name

    def around(self, net: int, lamp: Lamp | None, *, up: bool) -> tuple[int, ...]:
        """The nets that are reached with no resistor between; with a lamp, through others too."""
        return self.walk(net, lamp, None, up=up, passing=False)

    def reaches(self, net: int, but: Resistor, lamp: Lamp | None, *, up: bool) -> float | None:
        """The highest level that is reached, through other resistors too; None if none is."""
        nets = self.walk(net, lamp, but, up=up, passing=True)
        levels = [v for v in (self.holds(one, up=up) for one in nets) if v is not None]
        return max(levels, default=None)

    def walk(
        self, start: int, lamp: Lamp | None, but: Resistor | None, *, up: bool, passing: bool
    ) -> tuple[int, ...]:
        seen: dict[int, None] = {}
        stack = [start]
        while stack:
            here = stack.pop()
            if here in seen:
                continue
            seen[here] = None
            if self.netlist.nets[here].rail is not None:
                continue
            stack += self.joined[here]
            stack += self.towards[up][here]
            if lamp is not None:
                stack += [end for other, end in self.lit[up][here] if other is not lamp]
            if passing:
                stack += [end for one, end in self.resistors[here] if one is not but]
        return tuple(seen)

    def holds(self, index: int, *, up: bool) -> float | None:
        """The volts at which a net can be held high, or 0 if it can be held low; None if not."""
        net: Net = self.netlist.nets[index]
        if net.rail is not None:
            if (net.rail > 0) != up:
                return None
            return net.rail * HIGHEST if up else 0.0
        levels = [
            self.netlist.volts(self.survey.part(pin))
            for pin in net.pins
            if pin.kind.drives and not (up and pin.kind.sinks)
        ]
        port = self.survey.ports.get(index)
        if self.survey.leaves_board(net) and (port is None or port.direction != "out"):
            levels.append(self.netlist.supply)
        if not levels:
            return None
        return max(levels) * HIGHEST if up else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Side:
    """A level that is reached, and the resistance on the way; None: not known."""

    volts: float
    ohms: float | None


def current_budget(survey: Survey) -> Iterator[Finding]:
    """More current than the board file says that the supply gives; or it is not known."""
    netlist = survey.netlist
    if netlist.supply_current is None or netlist.supply_span is None:
        return
    budget = budget_of(survey)
    over = budget.known > netlist.supply_current
    if not over and not budget.unknown:
        return
    sums = {
        kind: sum(one.amperes for one in budget.taken if one.kind == kind and one.amperes)
        for kind in ("chip", "lamp", "pull")
    }
    words = {"chip": "chips", "lamp": "LEDs", "pull": "pulls"}
    parts = [f"{words[kind]} {milliamps(amperes)}" for kind, amperes in sums.items() if amperes]
    message = (
        f"the board may take {milliamps(budget.known)}"
        f"{f' ({listed(parts)})' if parts else ''}, and the supply gives "
        f"{milliamps(netlist.supply_current)}"
    )
    hint = "Use a stronger supply, or larger resistors at the LEDs; "
    if budget.unknown:
        one = len(budget.unknown) == 1
        shown = [*budget.unknown[:NAMED]]
        if len(budget.unknown) > NAMED:
            shown.append(f"{len(budget.unknown) - NAMED} more")
        message += f"; what {listed(shown)} {'takes' if one else 'take'} "
        message += "comes on top" if over else "is not known"
        hint = hint if over else "Look up I_CC in the data sheet and leave room for it; "
    yield Finding(
        code="current-budget",
        severity=Severity.ERROR if over else Severity.WARNING,
        message=message,
        net=next((net.name for net in netlist.nets if net.rail == netlist.supply), None),
        pins=tuple(_supply_pins(survey, None if over else budget.unknown)),
        span=netlist.supply_span,
        hint=f"{hint}'breadproof parts --of {netlist.file}' shows the sum.",
    )


def _supply_pins(survey: Survey, names: tuple[str, ...] | None) -> Iterator[str]:
    """The supply pins of the parts of those names; None: of all chips."""
    for part in survey.netlist.parts:
        if part.device == "chip" if names is None else part.name in names:
            yield from (pin.label for pin in part.pins if pin.kind is PinKind.SUPPLY)
