"""Whether storage is known after the declared reset, whatever it held before.

Two runs of the board begin at any two quiet moments at which the controls stand alike; storage,
memories, what loops hold, and the levels of nets that float differ as they like. In both the
reset's buttons are pressed one after the other, each until the board is quiet, and then released in
the same order, and nothing else moves: no clock, unless the board file says how often each
oscillator changes while the reset is held (``clocks: 8``). Only a capacitor that such a button or a
supervisor behind it charges gets where its resistors pull it, once after the presses and once after
the releases. A bit of storage is known if it is the same in both runs whatever they began with (a
synchronizing sequence of the machine: Z. Kohavi, Switching and Finite Automata Theory, 1970, with
the two runs for the pairs of its states).

A button whose contact bounces (`bouncing`) is pressed and released once here. That covers every
bounce if the reset is that button alone, with no clocks and no capacitors: whatever the bounces
before the last closing did, that closing comes at some moment, and the two runs may begin at any;
the release that follows is the last. With more in the reset a proof would leave bounces out, and
is none. Contacts stand alike in both runs, as controls do, that of the reset's button with the
finger.

``first: power-on`` asks for the first quiet moment after power-up instead. Memories keep what they
had; parts that the board file lists under ``keeps`` are not asked for, nor latches of gates that
are on such parts alone.

That a bit is not known is shown by two runs from power-up. Where there are such runs only from some
other moments, of which nobody knows whether a run gets there, it is left open.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from breadproof.specs.machine.machine import Loop, Machine
from breadproof.specs.netlist.bouncing import finger_of
from breadproof.specs.netlist.model import Netlist, Part, written
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.pairs import Pair
from breadproof.verify.prove.second import refuted
from breadproof.verify.prove.solver import Answer, Deadline, Solver
from breadproof.verify.prove.verdict import Result

METHOD = "two runs from any two pasts are alike then"
NEVER = "the assumptions never let it be pressed and released"
ELSEWHERE = "known from power-up; from other moments not, and whether a run gets there is open"
LATE = "no answer in time"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """Storage of a part, or a loop of gates: ``known:U3.R``. ``bits`` are names and leaves, and
    ``parts`` the chips that hold them."""

    name: str
    what: str
    bits: tuple[tuple[str, int], ...]
    parts: tuple[str, ...]


def reset_units(machine: Machine) -> tuple[Unit, ...]:
    """What has to be known after the reset; nothing if the board has none."""
    netlist, kept = machine.netlist, kept_leaves(machine)
    if not any(how in ("press", "low", "high", "first") for how, _ in netlist.reset):
        return ()
    grouped: dict[str, list[tuple[str, int]]] = {}
    parts: dict[str, tuple[str, ...]] = {}
    for store in machine.stores:
        part = netlist.part(store.part)
        if part is None or store.leaf in kept or part.type.analogue or _supervises(part):
            continue
        name = f"{store.part}.{store.storage}"
        grouped.setdefault(name, []).append((store.label, store.leaf))
        parts[name] = (store.part,)
    for loop in machine.loops:
        floats = any(name.startswith("known(") for name in loop.variables)
        if loop.holds and not floats and kept.isdisjoint(loop.leaves):
            grouped[loop.name] = list(zip(loop.variables, loop.leaves, strict=True))
            parts[loop.name] = drivers_of(netlist, loop)
    return tuple(
        Unit(name=f"known:{what}", what=what, bits=tuple(bits), parts=parts[what])
        for what, bits in grouped.items()
    )


def drivers_of(netlist: Netlist, loop: Loop) -> tuple[str, ...]:
    """The chips that drive the nets of a loop."""
    nets = [net for net in netlist.nets if net.name in loop.variables]
    return tuple(dict.fromkeys(pin.part for net in nets for pin in net.pins if pin.kind.drives))


def kept_leaves(machine: Machine) -> set[int]:
    """The bits of storage, and of loops of gates, that the reset leaves alone: of a loop all, if
    all chips that drive its nets are named."""
    netlist = machine.netlist
    keeps = {name for how, name in netlist.reset if how == "keeps"}
    found = {store.leaf for store in machine.stores if store.part in keeps}
    for loop in machine.loops:
        driving = drivers_of(netlist, loop)
        if driving and keeps.issuperset(driving):
            found.update(loop.leaves)
    return found


def called(machine: Machine) -> str:
    """What is done for a reset, as a builder says it."""
    said = {"press": "pressing {}", "low": "pulling {} low", "high": "pulling {} high"}
    done = [said[how].format(name) for how, name in machine.netlist.reset if how in said]
    return " and ".join(done) or "power-on"


def unit_says(machine: Machine, unit: Unit) -> str:
    """The claim."""
    return f"{unit.what} is known after {called(machine)}, whatever it held before."


def reset_results(
    machine: Machine, rounds: int, seconds: float, assumes: tuple[str, ...]
) -> list[Result]:
    """One result for each of `reset_units`; ``rounds`` is the proved number that a step takes."""
    units = reset_units(machine)
    if not units:
        return []
    pair = Pair(machine, rounds)
    _play(machine, pair)
    solver = Solver(pair.aig)
    for literal in pair.take():
        solver.require(literal)
    work = _Work(machine, pair, solver, Deadline(seconds))
    possible = work.ask(work.begun)
    results: list[Result] = []
    for unit in units:
        work.deadline = Deadline(seconds / len(units))  # a hard one leaves the others their time
        results.append(work.result(unit, possible, assumes))
    return results


# the two runs -------------------------------------------------------------------------------------


def _play(machine: Machine, pair: Pair) -> None:
    """Both runs, up to the moment at which they are compared."""
    controls = pair.inputs("control")
    stores, loops = ((pair.inputs(kind), pair.inputs(kind)) for kind in ("store", "loop"))
    pair.begin((controls, controls), _with_contacts(machine, *stores), loops)
    for leaf, level in moves(machine):
        controls = {**controls, leaf: controls[leaf] ^ 1 if level is None else level}
        pair.step((controls, controls))


def _with_contacts(
    machine: Machine, one: dict[int, int], two: dict[int, int]
) -> tuple[dict[int, int], dict[int, int]]:
    """Storage of both runs, but contacts that bounce stand alike; that of a button that is pressed
    did not move yet."""
    pressed = {name for how, name in machine.netlist.reset if how == "press"}
    shared: dict[int, int] = {}
    for store in machine.stores:
        finger = finger_of(store.part)
        if finger:
            still = finger in pressed and store.storage == "moved"
            shared[store.leaf] = Aig.false if still else one[store.leaf]
    return {**one, **shared}, {**two, **shared}


def _left_out(machine: Machine) -> str:
    """Why nothing is proved: bounces that the two runs do not cover; "" if they cover all."""
    held = list(_held(machine))
    bouncing = [
        name
        for how, name in machine.netlist.reset
        if how == "press" and name in machine.netlist.bounces
    ]
    more = len(held) > 1 or any(_ticking(machine)) or any(_moments(machine, [x for x, _ in held]))
    if not bouncing or not more:
        return ""
    return (
        f"{bouncing[0]} bounces, and with clocks, capacitors or more buttons in the reset what "
        "that does is not looked at"
    )


def moves(machine: Machine, beats: Sequence[int] = ()) -> Iterator[tuple[int, int | None]]:
    """What the reset moves, step by step: the leaf of a control, and its new level (None: it
    changes). Nothing where it is power-on that resets. ``beats`` change, too, while it is held."""
    held = list(_held(machine))
    ticking = list(_ticking(machine))
    later = list(_moments(machine, [leaf for leaf, _ in held]))
    for released in (False, True) if held else ():
        yield from ((leaf, int(level != released)) for leaf, level in held)
        yield from ((leaf, None) for leaf in later)
        yield from () if released else ((leaf, None) for leaf in (*ticking, *beats))


def _held(machine: Machine) -> Iterator[tuple[int, bool]]:
    """(leaf, level while it is held) of all that is pressed or pulled."""
    for how, name in machine.netlist.reset:
        if how in ("press", "low", "high"):
            yield machine.controls[name][0], how != "low"


def _ticking(machine: Machine) -> Iterator[int]:
    """The oscillators, in turn, as often as each is to change."""
    netlist = machine.netlist
    clocks = max((int(count) for how, count in netlist.reset if how == "clocks"), default=0)
    for _ in range(clocks):
        for control in netlist.controls:
            if control.kind == "oscillator":
                yield machine.controls[control.name][0]


def _moments(machine: Machine, held: Sequence[int]) -> Iterator[int]:
    """The moments of capacitors and supervisors that the reset moves, by logic alone or through
    other such parts."""
    slow = {one.part for one in machine.netlist.controls if one.kind == "moment"}
    slow = {part for part in slow if not finger_of(part or "")}
    beyond = machine.through_loops()
    beyond |= {store.leaf: (store.next,) for store in machine.stores if store.part in slow}
    for control in machine.netlist.controls:
        if control.kind != "moment" or finger_of(control.part or ""):
            continue
        roots = [store.next for store in machine.stores if store.part == control.part]
        behind = machine.graph.cone(roots, through_was=False, beyond=beyond)
        if not set(held).isdisjoint(behind):
            yield machine.controls[control.name][0]


def _supervises(part: Part) -> bool:
    return part.type.number == "supervisor"


@dataclass(slots=True)
class _Work:
    """``begun`` says that both runs begin with power-up and nothing they have in common."""

    machine: Machine
    pair: Pair
    solver: Solver
    deadline: Deadline

    @property
    def begun(self) -> list[int]:
        return [self.pair.loose, self.pair.initial]

    @property
    def anywhere(self) -> list[int]:
        """From any moment; for a question about power-on there is but one."""
        return [self.pair.loose] if any(_held(self.machine)) else self.begun

    def ask(self, wanted: Sequence[int]) -> Answer:
        return self.solver.check(list(wanted), self.deadline.left)

    def differ(self, leaf: int) -> int:
        one, two = self.pair.runs
        levels = [run.store[leaf] if leaf in run.store else run.loops[leaf] for run in (one, two)]
        return self.pair.aig.xor(*levels)

    def open_bits(self, unit: Unit) -> tuple[Answer, list[str]]:
        """("unsat", bits that may differ) once that is known for all; else "unknown"."""
        left = {name: self.differ(leaf) for name, leaf in unit.bits}
        found: list[str] = []
        while True:
            anything = self.pair.aig.or_([*left.values()])
            answer = self.ask([*self.begun, anything])
            if answer != "sat":
                return answer, found
            values = self.solver.values(sorted(set(left.values())))
            found += [name for name, literal in left.items() if values[literal]]
            left = {name: literal for name, literal in left.items() if name not in found}

    def result(self, unit: Unit, possible: Answer, assumes: tuple[str, ...]) -> Result:
        verdict: Literal["holds", "fails", "undecided"] = "undecided"
        because = LATE if possible == "unknown" else NEVER
        if possible == "sat":
            verdict, because = self.verdict(unit)
        notes: list[str] = []
        if verdict == "fails":
            names = ", ".join(map(written, unit.parts))
            notes.append(f"if the reset is to leave it alone: 'keeps: [{names}]' under 'reset:'")
            if any(memory.contents is None for memory in self.machine.memories):
                notes.append("memories keep what they had")
        return Result(
            name=unit.name,
            kind="standing",
            verdict=verdict,
            says=unit_says(self.machine, unit),
            method=METHOD if verdict == "holds" else "",
            steps=0,
            seconds=0.0,
            assumes=assumes,
            because=because,
            notes=tuple(notes),
        )

    def verdict(self, unit: Unit) -> tuple[Literal["holds", "fails", "undecided"], str]:
        answer, unknown = self.open_bits(unit)
        if unknown:
            names = [name for name, _ in unit.bits if name in unknown]
            rest = "" if answer == "unsat" else ", and maybe more"
            return "fails", f"not known after it: {', '.join(names)}{rest}"
        if answer == "unknown":
            return "undecided", LATE
        anything = self.pair.aig.or_([self.differ(leaf) for _, leaf in unit.bits])
        match refuted(self.solver, [*self.anywhere, anything], self.deadline.left):
            case "unsat":
                left_out = _left_out(self.machine)
                return ("undecided", left_out) if left_out else ("holds", "")
            case "sat":
                return "undecided", ELSEWHERE
            case "unknown":
                return "undecided", LATE
