"""What would mend a property that fails: a tied pin, tied the other way, or a wire less.

Each pin that is tied to a supply, and decides about the property, is tried: first the run that was
found is walked on the board with that pin tied the other way, and if it goes wrong there too, that
is no way out. What is left is proved from the beginning, as a board of its own, quiet moments and
clean pins included; nothing else is said to help. So it is with wires, if no tie helps: a pin that
reads a net and decides is taken off it and tied to a supply. Controls are tried as assumptions
(`supposing`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from breadproof.specs.machine.build import build_machine
from breadproof.specs.machine.influence import closure
from breadproof.specs.machine.loose import Holder, let_loose
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.walk import NotQuiet
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.diagnostics import Problems
from breadproof.verify.prove.keeper import chosen, walked
from breadproof.verify.prove.properties import property_named
from breadproof.verify.prove.prover import Prover
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.supposing import supposings
from breadproof.verify.prove.verdict import Result, failing
from breadproof.verify.prove.witness import confirms

MAX_PINS = 40
"""Pins beyond this are not tried."""
MAX_WIRES = 3
"""When so many wires are found no more are looked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescue:
    """Tied to ``level`` instead ("low" or "high") pin ``pin`` makes the property hold; it is taken
    off net ``net``, unless it was tied before.

    ``broken`` are the standing checks that hold on the board as it is, and then fail.
    """

    pin: str
    level: str
    broken: tuple[str, ...] = ()
    net: str = ""

    @property
    def text(self) -> str:
        """``with U7.15 tied high instead, it holds``; ``with U3.4 off we_n and tied high …``."""
        but = f", but {', '.join(self.broken)} then fails" if self.broken else ""
        if self.net:
            return f"with {self.pin} off {self.net} and tied {self.level}, it holds{but}"
        return f"with {self.pin} tied {self.level} instead, it holds{but}"


def with_rescues(
    machine: Machine,
    results: Sequence[Result],
    seconds: float,
    progress: Callable[[str], None] = lambda text: None,
) -> tuple[Result, ...]:
    """The results; asserted formulas that fail with notes of what would mend them: another tie,
    or an assumption.

    ``seconds`` is the limit for each of the two, of each formula.
    """
    good = {one.name for one in results if not failing(one)}
    found: list[Result] = []
    for one in results:
        if one.kind == "assert" and one.verdict == "fails" and one.trace is not None:
            deadline = Deadline(seconds)
            notes = [rescue.text for rescue in rescues(machine, one, good, deadline, progress)]
            notes += [other.text for other in supposings(machine, one, Deadline(seconds), progress)]
            one = replace(one, notes=(*one.notes, *notes))
        found.append(one)
    return tuple(found)


def rescues(
    machine: Machine,
    result: Result,
    good: set[str],
    deadline: Deadline,
    progress: Callable[[str], None] = lambda text: None,
) -> Iterator[Rescue]:
    """The pins that make a failing formula hold when tied the other way, as far as time allows.

    ``good`` names the results that do not fail on the board as it is.
    """
    count = 0
    for holder in tied_pins(machine, result.name)[:MAX_PINS]:
        level = "high" if holder.level == "low" else "low"
        progress(f"{result.name}: {holder.name} tied the other way")
        found = _tried(machine, result, good, deadline, Rescue(pin=holder.name, level=level))
        count += found is not None
        yield from () if found is None else (found,)
    wires = () if count else wired_pins(machine, result.name)[:MAX_PINS]
    for pin, net in wires:
        for level in ("low", "high"):
            progress(f"{result.name}: {pin} off {net}")
            found = _tried(machine, result, good, deadline, Rescue(pin=pin, level=level, net=net))
            count += found is not None
            yield from () if found is None else (found,)
            if count == MAX_WIRES:
                return


def _tried(
    machine: Machine, result: Result, good: set[str], deadline: Deadline, way: Rescue
) -> Rescue | None:
    """A way out, if it is one and there is time to find that out, with what it breaks."""
    if deadline.left <= 0:
        return None
    other = retied(machine.wired, way.pin, high=way.level == "high")
    if other is None:
        return None
    mended = build_machine(other, Problems())
    if goes_wrong(mended, result) or deadline.left <= 0:
        return None
    prover = Prover(mended, seconds=deadline.left)
    (answer,) = prover.run((result.name,))
    if prover.interrupted:
        raise KeyboardInterrupt
    if answer.verdict != "holds" or answer.vacuous:
        return None
    outcomes = prover.known.outcomes.items()
    broken = tuple(n for n, o in outcomes if o.verdict == "reached" and n in good)
    return replace(way, broken=broken)


def wired_pins(machine: Machine, name: str) -> list[tuple[str, str]]:
    """(pin, net) of the chips' pins that read a net which no supply feeds, and that may decide
    about a formula, in the order of the board."""
    node = property_named(machine, name).node
    behind = closure(machine, [node])[0]
    found = []
    for part in machine.wired.parts:
        for pin in part.pins if part.device == "chip" else ():
            read = machine.pins.get(pin.label)
            if pin.net is None or read is None or not pin.kind.reads or pin.kind.drives:
                continue
            net = machine.wired.nets[pin.net]
            if net.rail is None and read.level in behind:
                found.append((pin.label, net.name))
    return found


def tied_pins(machine: Machine, name: str) -> list[Holder]:
    """The pins tied to a supply that may decide about a formula, in the order of the board."""
    loose = let_loose(machine.netlist)
    node = property_named(loose.machine, name).node
    behind = closure(loose.machine, [node])[0]
    deciding = {holder for leaf, holder in loose.any.items() if leaf in behind}
    return [h for h in loose.held if h in deciding and h.kind == "pin" and h.level != "open"]


def retied(netlist: Netlist, label: str, *, high: bool) -> Netlist | None:
    """The board with a pin at the other supply; None if there is no net for that."""
    target = next(
        (net for net in netlist.nets if net.rail is not None and (net.rail > 0) == high), None
    )
    pin = next((pin for pin in netlist.pins() if pin.label == label), None)
    if target is None or pin is None:
        return None
    moved = replace(pin, net=target.index)
    parts = tuple(
        replace(part, pins=tuple(moved if one.label == label else one for one in part.pins))
        for part in netlist.parts
    )
    nets = [
        replace(net, pins=tuple(one for one in net.pins if one.label != label))
        for net in netlist.nets
    ]
    nets[target.index] = replace(target, pins=(*nets[target.index].pins, moved))
    return replace(netlist, parts=parts, nets=tuple(nets))


def goes_wrong(machine: Machine, result: Result) -> bool:
    """Whether the run of a result, walked on another board, shows it there too."""
    if result.trace is None or result.trace.loop is not None:
        return False
    try:
        trace = walked(machine, chosen(result.trace))
    except (NotQuiet, KeyError):
        return False
    return confirms(machine, result.name, trace)
