"""A counterexample in words: what to do, where to probe, and the chain of chips; no layout yet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from breadproof.specs.machine.trace import Trace, TraceStep, vector_text
from breadproof.specs.netlist.bouncing import finger_of
from breadproof.specs.netlist.model import Control, Net, Netlist
from breadproof.verify.report.chain import Chain, Link
from breadproof.verify.report.culprits import Story
from breadproof.verify.report.replay import FLOAT
from breadproof.verify.report.starting import Start
from breadproof.verify.report.timing import Diagram, Row, shown_controls
from breadproof.verify.report.words import called, change, listed, moved, pin_called, standing

MAX_PROBES = 12
MAX_HELD = 12
"""No more words of storage are told of at the start; the trace (``--json``) has all."""
ALIKE = 3
"""So many steps in which the same is done are told of as one."""

Said = tuple[str, str]
"""A head, such as ``step 3``, and what is said under it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkWords:
    """One link of a chain: the round (``5.2``), the way through a chip, and what it does."""

    at: str
    via: str
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A story in words.

    ``steps`` begin with ``start``; ``probes`` are a diagram's row and its pins; ``loose`` tells of
    pins that are open or read what floats; ``chains`` go with `Story.chains`; ``cause`` is what
    starts a pulse, or which clocks have a race; "" if that is not the story.
    """

    steps: tuple[Said, ...]
    probes: tuple[Said, ...]
    loose: tuple[Said, ...]
    chains: tuple[tuple[LinkWords, ...], ...]
    cause: str


def told(story: Story, trace: Trace, picture: Diagram) -> Told:
    """The words of a story; ``picture`` is its diagram."""
    netlist = story.run.machine.netlist
    return Told(
        steps=tuple(_steps(story, trace, netlist)),
        probes=tuple(_probes(story, picture)),
        loose=tuple(_floating(story, netlist)),
        chains=tuple(tuple(_chain(story, chain)) for chain in story.chains),
        cause=_cause(story),
    )


# ------------------------------------------------------------------------- steps


def _steps(story: Story, trace: Trace, netlist: Netlist) -> list[Said]:
    names = {control.name: control for control in shown_controls(story)}
    first = trace.steps[0]
    run = story.run
    # What matters at the start is more than what the chains go by. Where nobody looked for what
    # does not matter, it may be all of a large board.
    start = names.values() if trace.dont_care is None else netlist.controls
    words = _standing(netlist, [c for c in start if not run.idle(c.name, 0)], first)
    held = _held(story, trace)
    if held:
        rest = " and else with 0" if trace.dont_care is None else ""
        words.append(f"the chips come up with {', '.join(held)}{rest}")
    said = [("start", "; ".join(words) or "power goes on")]
    for number in range(1, len(trace.steps)):
        before, after = trace.steps[number - 1], trace.steps[number]
        text = moved(netlist, before, after)
        others = [
            standing(netlist, c, after.controls[name])
            for name, c in names.items()
            if before.controls[name] == after.controls[name]
            and _stays(c)
            and not run.idle(name, number)
        ]
        if others:
            text = f"{text} while {listed(others)}"
        said.append((f"step {number}", text))
    return [*_joined(said), *_after_all(trace)]


def _joined(said: list[Said]) -> list[Said]:
    """Steps in which the same is said as one: ``2 to 45``."""
    found: list[Said] = []
    for text, some in groupby(said, key=lambda one: one[1]):
        heads = [head for head, _ in some]
        if len(heads) < ALIKE:
            found += [(head, text) for head in heads]
        else:
            first, last = (head.removeprefix("step ") for head in (heads[0], heads[-1]))
            found.append((f"{first} to {last}", text))
    return found


def _after_all(trace: Trace) -> list[Said]:
    said: list[Said] = []
    if trace.fewest is False:
        said.append(("also", "a run that is as short but moves fewer controls may do"))
    if trace.loop is not None:
        text = f"all that matters is as after step {trace.loop}"
        if trace.loop == 0:
            text = "all that matters is as at the start"
        said.append(("again", f"{text}; and so on from step {trace.loop + 1}"))
    return said


def _standing(netlist: Netlist, controls: list[Control], step: TraceStep) -> list[str]:
    """How controls stand, the ways of one DIP switch in one phrase."""
    words: list[str] = []
    switches: dict[str, list[str]] = {}
    for control in controls:
        if finger_of(control.part or "") or control.kind == "moment":
            continue  # when power comes on, no contact bounces; of a moment only the changes count
        if control.kind != "way" or control.part is None:
            words.append(standing(netlist, control, step.controls[control.name]))
            continue
        closed = switches.setdefault(control.part, [])
        if step.controls[control.name][0]:
            closed.append(control.name.partition("[")[2].removesuffix("]"))
    for part, closed in switches.items():
        ways = f"{'way' if len(closed) == 1 else 'ways'} {listed(closed)}" if closed else "no way"
        words.append(f"{ways} of {part} {'is' if len(closed) < 2 else 'are'} closed")
    return words


def _stays(control: Control) -> bool:
    """Controls that stay where they are put: worth saying where they stand."""
    return control.kind in ("changeover", "button", "rotary", "jumper")


def _held(story: Story, trace: Trace) -> list[str]:
    """What storage holds at power-up: all that matters, or, where nobody looked for that, the words
    that the story tells of and those that do not hold 0; and the words of memories that a formula
    names."""
    run, controls = story.run, story.run.machine.controls
    told = {label for chain in story.chains for link in chain for label in _contents(link)}
    names = {label.partition("[")[0] for label in told} | set(story.cast.stores)
    words: dict[str, dict[int, int]] = {}
    for store in run.machine.stores:
        name = f"{store.part}.{store.storage}"
        hidden = finger_of(store.part) or f"{store.part}.later" in controls  # no chip has it
        matters = name in names or not hidden
        if matters and store.label not in run.dont_care.storage:
            words.setdefault(name, {})[store.bit] = run.level(store.leaf, 0)
    widths = _widths(story)
    if trace.dont_care is None:
        words = {name: bits for name, bits in words.items() if name in names or any(bits.values())}
    held = [one for name, bits in words.items() for one in word_text(name, bits, widths[name])]
    for memory in run.machine.memories:
        found = trace.words.get(memory.label, {})
        named = [address for name, address in story.cast.words if name == memory.label]
        held += [
            f"{memory.label}[{k}] = {vector_text(memory.bits, found[k])}"
            for k in named
            if k in found
        ]
    more = len(held) - MAX_HELD
    return [*held[:MAX_HELD], f"{more} more"] if more > 1 else held


def word_text(name: str, bits: dict[int, int], width: int) -> Iterator[str]:
    """What storage holds, as far as its bits are told: ``U3.R = 4'hA``, ``U3.R[2] = 0``."""
    for _, some in groupby(enumerate(sorted(bits, reverse=True)), key=lambda one: one[0] + one[1]):
        run = [bit for _, bit in some]
        levels = "".join(str(bits[bit]) for bit in run)
        if width == 1:
            yield f"{name} = {levels}"
        elif len(run) == width:
            yield f"{name} = {vector_text(width, int(levels, 2))}"
        elif len(run) == 1:
            yield f"{name}[{run[0]}] = {levels}"
        else:
            yield f"{name}[{run[0]}:{run[-1]}] = {len(run)}'b{levels}"


def _widths(story: Story) -> dict[str, int]:
    """The number of bits of each storage (``U3.R``) of the board."""
    widths: dict[str, int] = {}
    for store in story.run.machine.stores:
        name = f"{store.part}.{store.storage}"
        widths[name] = widths.get(name, 0) + 1
    return widths


def _bit(label: str, widths: dict[str, int]) -> str:
    """``U3.R[2]``; a storage of one bit without its number."""
    name = label.partition("[")[0]
    return name if widths.get(name) == 1 else label


def _contents(link: Link) -> list[str]:
    return link.start.split(", ") if link.kind == "content" else []


# ------------------------------------------------------------------------- probes


def _probes(story: Story, picture: Diagram) -> list[Said]:
    readers = dict.fromkeys(link.into for chain in story.chains for link in chain)
    readers.update(story.cast.pins)
    rows = [row for row in picture.rows if row.nets][:MAX_PROBES]
    return [(row.label, _probe(row, story, readers)) for row in rows]


def _probe(row: Row, story: Story, readers: dict[str, None]) -> str:
    netlist = story.run.machine.netlist
    if len(row.nets) > 1:
        return _vector_pins(row, story)
    net = netlist.nets[row.nets[0]]
    drivers = [called(pin) for pin in net.pins if pin.kind.drives]
    if not drivers:
        switches = ("push-button", "spdt", "dip-switch", "rotary-dip", "jumper", "connector")
        devices = {part.name: part.device for part in netlist.parts}
        drivers = [called(pin) for pin in net.pins if devices[pin.part] in switches]
    readings = [called(pin) for pin in net.pins if pin.label in readers]
    ends = [", ".join(drivers), ", ".join(name for name in readings if name not in drivers)]
    return " -> ".join(end for end in ends if end) or _any_pin(net)


def _any_pin(net: Net) -> str:
    return called(net.pins[0]) if net.pins else "no pin"


def _vector_pins(row: Row, story: Story) -> str:
    """A pin for each net of a vector, by chips: of one that drives now, or else of one that can."""
    run, netlist = story.run, story.run.machine.netlist
    by_part: dict[str, list[str]] = {}
    for index in row.nets:
        drivers = [pin for pin in netlist.nets[index].pins if pin.kind.drives]
        drives = run.machine.drives
        active = [
            p for p in drivers if p.label in drives and run.level(drives[p.label].when, story.at)
        ]
        for pin in active or (drivers or list(netlist.nets[index].pins))[:1]:
            by_part.setdefault(pin.part, []).append(pin.number)
    groups = [f"{part}.[{', '.join(numbers)}]" for part, numbers in by_part.items()]
    return "; ".join(groups)


def _floating(story: Story, netlist: Netlist) -> list[Said]:
    """The pins of the story that read nets which nobody drives, or are open."""
    loose = [
        called(pin) for pin in netlist.pins() if pin.label in story.cast.pins and pin.net is None
    ]
    said: list[Said] = []
    if loose:
        text = f"{listed(loose)} {'is' if len(loose) == 1 else 'are'} connected to nothing"
        said.append(("open", text))
    pins = [
        called(pin)
        for pin in netlist.pins()
        if pin.label in story.cast.pins
        and pin.net is not None
        and story.run.net(pin.net, story.at) == FLOAT
    ]
    if pins:
        text = f"{listed(pins)} {'reads a net' if len(pins) == 1 else 'read nets'} that nobody "
        said.append(("floats", f"{text}drives: any level, another one each time"))
    return said


# ------------------------------------------------------------------------- causes


def _cause(story: Story) -> str:
    """What starts a pulse, or what changes right behind the edge that takes it in."""
    if story.start is not None:
        return _of_pulse(story, story.start)
    if not story.behind:
        return ""
    netlist = story.run.machine.netlist
    pins = listed([pin_called(netlist, label) for label in story.behind])
    changes = "changes" if len(story.behind) == 1 else "change"
    late = story.at + 1
    nodes = [story.run.machine.pins[label].level for label in story.behind]
    if all(story.run.level(node, late) == story.run.level(node, story.at) for node in nodes):
        changes = "may pulse"
    return (
        f"{pins} {changes} right behind this edge, by way of another net: which of the two nets is "
        "sooner decides whether the old level or the new one is taken in"
    )


def _of_pulse(story: Story, start: Start) -> str:
    """What starts a pulse: one change, or the fewest that it takes."""
    widths = _widths(story)
    bits = [_bit(label, widths) for label in start.stores]
    what = listed([*start.controls, *bits])
    after = f", after {listed(list(start.moved))}" if bits and start.moved else ""
    if not what:
        return "what floats is read another way"
    if len(start.controls) + len(bits) == 1:
        return f"the change of {what}{after}; nothing else has to change with it"
    return f"it takes the changes of {what} together{after}; one of them less, and nothing pulses"


# ------------------------------------------------------------------------- chains


def _chain(story: Story, chain: Chain) -> list[LinkWords]:
    netlist = story.run.machine.netlist
    table = [
        LinkWords(at=_round(story, link.spot.at), via=_via(link, story), what=_what(story, link))
        for link in chain
    ]
    end = chain[-1].spot
    suffering = [
        pin_called(netlist, pin.label)
        for pin in netlist.nets[end.net].pins
        if pin.label in story.cast.pins and pin.label != chain[-1].out
    ]
    if suffering and not end.pin:
        last = table[-1]
        what = f"{last.what} -> {', '.join(suffering)}"
        table[-1] = LinkWords(at=last.at, via=last.via, what=what)
    return table


def _round(story: Story, at: int) -> str:
    """``start``, ``1``, or ``1.2`` where a step takes several rounds."""
    run, here = story.run, story.run.instants[at]
    step = "start" if here.step == 0 else str(here.step)
    several = run.last[here.step] > run.first[here.step]
    return f"{step}.{here.round + 1}" if several else step


def _via(link: Link, story: Story) -> str:
    netlist = story.run.machine.netlist
    into = pin_called(netlist, link.into) if link.into else ""
    out = pin_called(netlist, link.out) if link.out else ""
    match link.kind:
        case "control":
            ports = {port.name for port in netlist.ports if not port.moment}
            return f"{link.start}, from outside" if link.start in ports else link.start
        case "rail":
            return link.start
        case "always":
            return f"{out}, always on"
        case "content":
            widths = _widths(story)
            return f"{', '.join(_bit(one, widths) for one in _contents(link))} -> {out}"
        case "float":
            return f"{into} is open -> {out}"
        case "pass":
            return " -> ".join(end for end in (into, out) if end)


def _what(story: Story, link: Link) -> str:
    run, spot = story.run, link.spot
    name = run.machine.netlist.nets[spot.net].name
    if spot.pin:
        drives = run.level(run.machine.drives[spot.pin].when, spot.at)
        return f"{'drives' if drives else 'lets go of'} net {name}"
    before = run.net(spot.net, spot.at - 1) if spot.at > 0 else None
    now = run.net(spot.net, spot.at)
    if before == now:
        return f"net {name} {'does not settle' if story.restless else 'may pulse'}"
    if story.start is not None and run.pulses(run.machine.nets[spot.net].level, spot.at):
        return f"net {name} {change(before, now)} and may pulse on its way"
    return f"net {name} {change(before, now)}"
