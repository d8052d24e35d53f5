"""Rules of signals: outputs that switches join, buses that may float, strobes that gates make."""

from __future__ import annotations

from collections.abc import Iterator

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.drive import Driver
from breadproof.specs.netlist.model import BETWEEN, ControlBit, Net, Pin, board_of, written
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, called, listed
from breadproof.verify.wiring.survey import Survey

LET_GO = (PinKind.THREE_STATE, PinKind.BIDIRECTIONAL)


def outputs_switched(survey: Survey) -> Iterator[Finding]:
    """A switch or button that, closed, joins two outputs which always drive."""
    told: set[frozenset[str]] = set()
    for net in survey.netlist.nets:
        own = survey.outputs(net, PinKind.OUT)
        for driver in survey.drivers(net) if own else ():
            other, controls = driver.pin, _controls(driver)
            if other is None or other.kind is not PinKind.OUT or driver.wired or not controls:
                continue
            pair = frozenset((own[0].label, other.label))
            if pair in told:
                continue
            told.add(pair)
            first, second = sorted((own[0], other), key=lambda pin: pin.label)
            yield Finding(
                code="outputs-switched",
                severity=Severity.ERROR,
                message=f"{listed(controls)} joins outputs {called(first)} and {called(second)}, "
                "and each always drives",
                net=net.name,
                pins=(first.label, second.label),
                span=second.span,
                hint="A switch between two signals wants a common pin that only reads: outputs to "
                "the outer contacts, the input to the middle one.",
            )


def _controls(driver: Driver) -> list[str]:
    """The controls of a way that only switches close."""
    for path in driver.paths:
        if path and all(isinstance(one, ControlBit) for one in path):
            return list(dict.fromkeys(one.control for one in path if isinstance(one, ControlBit)))
    return []


def bus_floats(survey: Survey) -> Iterator[Finding]:
    """Nets that only three-state outputs drive, with readers and nothing to pull them."""
    groups: dict[tuple[bool, str], list[tuple[Net, list[Pin]]]] = {}
    for net in survey.netlist.nets:
        pins = [driver.pin for driver in survey.drivers(net)]
        drivers = [pin for pin in pins if pin is not None and pin.kind in LET_GO]
        if not drivers or len(drivers) < len(pins) or any(_held_on(survey, p) for p in drivers):
            continue
        if survey.plans[net.index].pulls or survey.leaves_board(net):
            continue
        readers = [pin for pin in survey.readers(net) if pin.kind is PinKind.IN]
        families = [survey.family(pin) for pin in readers]
        cmos = any(family is not None and not family.bipolar for family in families)
        if readers:
            groups.setdefault((cmos, board_of(net.name)), []).append((net, readers))
    for (cmos, _), found in groups.items():
        nets = [net for net, _ in found]
        yield Finding(
            code="bus-floats",
            severity=Severity.NOTE,
            message=f"{_named(nets)} {'has' if len(nets) == 1 else 'have'} no pull resistor: while "
            "none of the three-state outputs there is enabled, what reads "
            f"{'it' if len(nets) == 1 else 'them'} reads "
            f"{'anything' if cmos else 'high, with no margin'}",
            net=nets[0].name,
            nets=tuple(net.name for net in nets),
            pins=tuple(pin.label for _, readers in found for pin in readers),
            span=nets[0].span,
            hint="Prove that somebody always drives it, "
            f"'always drivers({written(nets[0].name)}) == 1', or pull it with 1k to 10k.",
        )


def _held_on(survey: Survey, output: Pin) -> bool:
    """Whether a three-state output is enabled for good by its supplies and grounds."""
    part = survey.part(output)
    if part.device != "chip":
        return False
    chip = survey.chip(part)
    graph = chip.graph
    tied: dict[int, int] = {}
    for pin in part.pins:
        net = survey.net(pin)
        if net is not None and net.rail is not None and pin.name in chip.leaves:
            tied[chip.leaves[pin.name]] = graph.TRUE if net.rail else graph.FALSE
    when = chip.drives[output.number].when
    graph.substitute([when], tied)
    return tied[when] == graph.TRUE


def _named(nets: list[Net]) -> str:
    """``net bus[0]``, ``nets addr[5:0] and bus[7:0]``: a run of one vector in one word."""
    if len(nets) == 1:
        return f"net '{nets[0].name}'"
    runs: dict[str, list[str]] = {}
    for net in nets:
        stem, _, bit = net.name.partition("[")
        runs.setdefault(stem, []).append(bit.removesuffix("]"))
    words = [
        f"{stem}[{bits[0]}:{bits[-1]}]"
        if len(bits) > 1
        else f"{stem}[{bits[0]}]" * bool(bits[0]) or stem
        for stem, bits in runs.items()
    ]
    return f"nets {_few(words)}"


def strobe_gated(survey: Survey) -> Iterator[Finding]:
    """Clock, clear, preset, load, latch and write pins that gates of several signals feed."""
    found: dict[str, list[tuple[Net, Pin]]] = {}
    for net in survey.netlist.nets:
        strobes = [pin for pin in survey.readers(net) if _is_strobe(survey, pin)]
        if strobes and any(_gated(survey, pin) for pin in survey.outputs(net, PinKind.OUT)):
            for pin in strobes:
                found.setdefault(board_of(pin.part), []).append((net, pin))
    for group in found.values():
        nets, pins = [net for net, _ in group], [pin for _, pin in group]
        yield Finding(
            code="strobe-gated",
            severity=Severity.NOTE,
            message=f"{listed([called(pin) for pin in pins])} "
            f"{'is' if len(pins) == 1 else 'are'} fed by gates of several signals, which may pulse "
            "when these change together",
            net=nets[0].name,
            nets=tuple(dict.fromkeys(net.name for net in nets)),
            pins=tuple(pin.label for pin in pins),
            span=pins[0].span,
            hint="'breadproof verify' proves whether they can: see its glitch checks.",
        )


def _is_strobe(survey: Survey, pin: Pin) -> bool:
    return pin.number in survey.chip(survey.part(pin)).strobes()


def _gated(survey: Survey, output: Pin) -> bool:
    """Whether an output follows two or more inputs at once that move."""
    part = survey.part(output)
    if part.device != "chip":
        return False
    moving = set()
    for number in survey.chip(part).through_logic(output.number):
        pin = part.pin(number)
        net = survey.net(pin) if pin is not None else None
        if net is not None and net.rail is None:
            moving.add(net.index)
    return len(moving) > 1


def grounds_parted(survey: Survey) -> Iterator[Finding]:
    """Boards of one machine that share signals and no ground."""
    netlist = survey.netlist
    grounds = [net for net in netlist.nets if net.rail == 0.0 and net.pins]
    if len(grounds) < 2:
        return
    boards_of = {net.index: {board_of(pin.part) for pin in net.pins} for net in netlist.nets}
    for place, one in enumerate(grounds):
        for other in grounds[place + 1 :]:
            here, there = boards_of[one.index], boards_of[other.index]
            shared = [
                net.name
                for net in netlist.nets
                if net.rail is None and boards_of[net.index] & here and boards_of[net.index] & there
            ]
            if shared and not here & there:
                yield Finding(
                    code="grounds-parted",
                    severity=Severity.ERROR,
                    message=f"'{one.name}' and '{other.name}' are not joined, though "
                    f"{_boards(sorted(here | there))} share {_few(shared)}",
                    net=one.name,
                    pins=(),
                    span=other.span,
                    hint=f"Join them: '{_end(one)} to {_end(other)}'.",
                )


def _boards(names: list[str]) -> str:
    """``boards a and b``; "" is the file that joins them."""
    boards = [name for name in names if name]
    several = f"board{'s' if len(boards) > 1 else ''} {listed(boards)}"
    return several if len(boards) == len(names) else f"this file's own parts and {several}"


def _end(net: Net) -> str:
    """How a join names a net: what is on no board by one of its pins."""
    return written(net.name if BETWEEN in net.name else net.pins[0].label)


def _few(names: list[str]) -> str:
    more = f" and {len(names) - 3} more" if len(names) > 3 else ""
    return f"{', '.join(names[:3])}{more}" if more else listed(names)
