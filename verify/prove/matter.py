"""Whether each control matters: what moves with it, step by step, until something shows.

Two runs differ in one control alone. What differs after a step may differ before the next one, and
so on until nothing is added: if no end of the board is among it, the control never matters, in
runs of any length. Otherwise it is not cut off: each single step can carry its move on to an end,
or into a memory.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Literal

from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.bouncing import control_of
from breadproof.specs.netlist.model import Control, Netlist
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.ends import Ends
from breadproof.verify.prove.pairs import Pair
from breadproof.verify.prove.second import asked_again, refuted
from breadproof.verify.prove.solver import Deadline, Solver

Matters = Literal["yes", "no", "loose", "held", "unknown"]
"""``loose``: only over nets that float or fight, or what a loop of gates chooses; ``held``: the
assumptions never let it move."""

Answer = tuple[Matters, tuple[str, ...]]
"""Whether a control matters; if not, the reading pins that its move gets to."""


def controls_wired(netlist: Netlist) -> tuple[Control, ...]:
    """Those that somebody can move and that are connected to something."""
    return tuple(c for c in netlist.controls if c.kind != "moment" and _wired(netlist, c))


def _wired(netlist: Netlist, control: Control) -> bool:
    """Whether wires lead from it: a way of a switch with an open leg is none."""
    part = netlist.part(control.part or "")
    if part is None or part.device in ("oscillator", "chip"):
        return True
    mine = [c for c in netlist.contacts if control_of(c.closing) == control.name]
    return any(
        any(pin.part != part.name for pin in netlist.nets[contact.a].pins)
        and any(pin.part != part.name for pin in netlist.nets[contact.b].pins)
        for contact in mine
    )


@dataclass(slots=True)
class _Work:
    """Two moments and a step between them, with a switch for all that may differ."""

    machine: Machine
    ends: Ends
    controls: list[Control]
    pair: Pair
    solver: Solver
    chosen: dict[str, int]
    """The literal that says that the runs differ in this control."""
    moved: dict[str, list[int]] = field(default_factory=dict)
    """That they really do, at one of the two moments."""
    may_differ: dict[int, int] = field(default_factory=dict)
    """By leaf of storage or of a loop: the switch that lets it differ at first."""
    differs: dict[int, int] = field(default_factory=dict)
    """By leaf: whether it differs after the step."""
    shows: int = Aig.false
    """Whether an end differs, or what is written."""

    compared: list[tuple[list[int], list[int]]] = field(default_factory=list)
    """Levels of both runs at both moments."""
    asked: dict[str, list[tuple[str, str]]] | None = None
    """Collects by control the question that settled it and its answer, and one with "sat" beside
    one with "unsat": the same without what is excluded."""

    def build(self) -> None:
        machine, pair, ends = self.machine, self.pair, self.ends
        controls, store, loops = (pair.inputs(kind) for kind in ("control", "store", "loop"))
        bits = [bit.leaf for bit in machine.stores]
        held = [leaf for loop in machine.loops if loop.holds for leaf in loop.leaves]
        inside = {machine.stores[number].leaf for number in ends.stores}
        inside |= {leaf for number in ends.loops for leaf in machine.loops[number].leaves}
        self.may_differ = {leaf: pair.aig.input() for leaf in (*bits, *held) if leaf in inside}
        for number in sorted(ends.memories):
            pair.share_memory(number)
        pair.begin(
            (controls, self.others(controls)),
            (store, self.loosened(store)),
            (loops, self.loosened(loops)),
        )
        self.compare()
        controls = pair.inputs("control")
        pair.step((controls, self.others(controls)))
        self.compare()
        one, two = pair.runs
        for leaf in self.may_differ:
            a, b = (run.store.get(leaf, run.loops.get(leaf, 0)) for run in (one, two))
            self.differs[leaf] = pair.aig.xor(a, b)
        self.shows = pair.aig.or_([self.shows, pair.writes_differ(ends.memories)])
        for literal in pair.take():
            self.solver.require(literal)

    def others(self, controls: dict[int, int]) -> dict[int, int]:
        """The controls of the second run: the chosen one may stand elsewhere."""
        aig, changed = self.pair.aig, dict(controls)
        for control in self.controls:
            for leaf in self.machine.controls[control.name]:
                changed[leaf] = aig.mux(self.chosen[control.name], aig.input(), controls[leaf])
                moved = aig.xor(changed[leaf], controls[leaf])
                self.moved.setdefault(control.name, []).append(moved)
        return changed

    def loosened(self, levels: dict[int, int]) -> dict[int, int]:
        """Levels of the second run: what leads to no end is free, the rest has a switch."""
        aig = self.pair.aig
        return {
            leaf: aig.mux(self.may_differ.get(leaf, Aig.true), aig.input(), level)
            for leaf, level in levels.items()
        }

    def compare(self) -> None:
        """Note whether an end differs; a port is not shown to differ by driving it from outside."""
        machine, pair, aig = self.machine, self.pair, self.pair.aig
        own: dict[int, list[int]] = {}
        for port in machine.netlist.ports:
            if port.name in self.chosen:
                for net in port.nets:
                    own.setdefault(net, []).append(self.chosen[port.name])
        one, two = pair.runs
        self.compared.append((one.now.levels, two.now.levels))
        found = [self.shows, pair.levels_differ([machine.lamps[name] for name in self.ends.lamps])]
        for net in self.ends.nets:
            differ = pair.levels_differ([machine.nets[net].level, machine.nets[net].driven])
            found.append(aig.and_([differ, *(one ^ 1 for one in own.get(net, ()))]))
        self.shows = aig.or_(found)

    def at_once(self, deadline: Deadline) -> list[str]:
        """The controls that show in a single step."""
        fixed = [self.pair.loose ^ 1, *(switch ^ 1 for switch in self.may_differ.values())]
        found = []
        for name, literal in self.chosen.items():
            wanted = [literal, *fixed, self.shows]
            if self.solver.check(wanted, deadline.left) == "sat":
                found.append(name)
                self.note(name, ("sat", wanted))
        return found

    def note(self, name: str, *questions: tuple[str, list[int]]) -> None:
        """Keep the questions that settled a control, if they are collected."""
        if self.asked is not None:
            self.asked[name] = [(answer, self.solver.question(q)) for answer, q in questions]

    def follow(self, name: str, deadline: Deadline) -> Answer:
        """Whether a control matters that shows nothing at once."""
        chosen, aig = self.chosen[name], self.pair.aig
        moves = [chosen, aig.or_(self.moved[name])]
        answer = refuted(self.solver, moves, deadline.left)
        if answer != "sat":
            self.note(name, ("unsat", moves), ("sat", moves[:1]))
            return ("held" if answer == "unsat" else "unknown"), ()
        found = self.spread(name, [chosen, self.pair.loose ^ 1], deadline)
        if found[0] == "no" and self.spread(name, [chosen, self.pair.loose], deadline)[0] != "no":
            return "loose", found[1]
        return found

    def spread(self, name: str, wanted: list[int], deadline: Deadline) -> Answer:
        """What moves, until something shows or nothing is added."""
        aig, loose = self.pair.aig, set[int]()
        while True:
            switches = [s ^ (leaf not in loose) for leaf, s in self.may_differ.items()]
            answer = self.solver.check([*wanted, *switches, self.shows], deadline.left)
            if answer != "unsat":
                return ("yes" if answer == "sat" else "unknown"), ()
            more = {leaf: d for leaf, d in self.differs.items() if leaf not in loose}
            anything = aig.or_([*more.values()])
            answer = self.solver.check([*wanted, *switches, anything], deadline.left)
            if answer == "unsat":
                question = [*wanted, *switches, aig.or_([self.shows, anything])]
                answer = asked_again(self.solver, question, deadline.left)
                moves = [*wanted, *switches, aig.or_(self.moved[name])]
                self.note(name, ("unsat", question), ("sat", moves))
            if answer == "unsat":
                return "no", self.moving([*wanted, *switches], deadline)
            if answer == "unknown":
                return "unknown", ()
            values = self.solver.values(sorted(set(more.values())))
            loose |= {leaf for leaf, literal in more.items() if values[literal]}

    def moving(self, wanted: list[int], deadline: Deadline) -> tuple[str, ...]:
        """The reading pins that differ at a quiet moment, as far as time allows."""
        aig = self.pair.aig
        left = {
            label: aig.or_([aig.xor(one[pin.level], two[pin.level]) for one, two in self.compared])
            for label, pin in self.machine.pins.items()
        }
        found: set[str] = set()
        while self.solver.check([*wanted, aig.or_([*left.values()])], deadline.left) == "sat":
            values = self.solver.values(sorted(set(left.values())))
            found |= {label for label, literal in left.items() if values[literal]}
            left = {label: literal for label, literal in left.items() if label not in found}
        return tuple(label for label in self.machine.pins if label in found)


def what_matters(
    machine: Machine,
    rounds: int,
    ends: Ends,
    seconds: float,
    asked: dict[str, list[tuple[str, str]]] | None = None,
    only: Collection[str] | None = None,
) -> dict[str, Answer]:
    """The answer for each of `controls_wired`, by name, or for those in ``only``.

    ``rounds`` is what a step takes. ``asked`` collects by control the questions that settled it, as
    SMT-LIB 2, each with its answer: "sat" for two runs that show the control, "unsat" if nothing
    does, and then beside it "sat" for two runs that differ in the control alone.
    """
    wired = [c for c in controls_wired(machine.netlist) if only is None or c.name in only]
    live = list(wired)
    answers: dict[str, Answer] = {control.name: ("no", ()) for control in wired}
    if not live:
        return answers
    deadline = Deadline(seconds)
    pair = Pair(machine, rounds)
    code = [pair.aig.input() for _ in range(len(live).bit_length())]
    chosen = {
        control.name: pair.aig.and_([bit ^ 1 ^ ((k >> n) & 1) for n, bit in enumerate(code)])
        for k, control in enumerate(live)
    }
    work = _Work(machine, ends, live, pair, Solver(pair.aig), chosen, asked=asked)
    work.build()
    found = work.at_once(deadline)
    for name in chosen:
        answers[name] = ("yes", ()) if name in found else work.follow(name, deadline)
    return answers
