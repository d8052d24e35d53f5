"""Synchronous hardware against its board: a tick is a period of the board's clock, proved.

What is claimed. The board is looked at in its quiet moments with the clock low. Let it be in any of
them (which includes all that it can reach, and any content at power-up), let the hardware's
registers hold what the board's storage holds, and let their controls, the clock aside, be the same;
``tick_rst`` is low. Then

- every net, lamp and outgoing port has the same level in both;
- whichever control changes to whatever level, the clock aside (or several that may together in one
  step), the board gets quiet and its storage is as before: between edges nothing moves but what
  follows from the controls;
- after one step in which the clock rises, and one in which it falls, the board is quiet, and what
  its storage then holds the hardware's registers hold after one tick.

So by induction the two are the same after any number of periods, the controls changing only while
the clock is low. Where the board leaves a choice (a net that floats or fights), the board is taken
in which it reads low: the hardware is one of the board's behaviours.

Not offered, and told before: boards with nets that hold each other (their levels are no storage),
and with memories that are written by level. What else there is, such as a clear that acts without
the clock, a register that captures on the other edge, a latch, breaks one of the three.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from breadproof.export.lowering.board import Lowered
from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round
from breadproof.verify.equal.matching import Matched, Unmatched, matched
from breadproof.verify.equal.proof import Equality, Tell, wrong_word
from breadproof.verify.equal.readback import Circuit
from breadproof.verify.equal.tick import Levels, evaluated
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.frames import Frames
from breadproof.verify.prove.second import asked_again
from breadproof.verify.prove.solver import Deadline, Solver

MOST_ROUNDS = 16
"""A board that takes more rounds in one step is not proved to be synchronous."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What is to be proved, in words that say what is wrong if it does not hold; ``broken`` is the
    literal that must never hold."""

    says: str
    broken: int


def equal_period(
    machine: Machine,
    lowered: Lowered,
    circuit: Circuit,
    names: dict[str, str],
    clock: str,
    seconds: float,
    tell: Tell = lambda text: None,
) -> Equality:
    """Whether synchronous hardware does what the board does.

    ``names``: see `matching.matched`; ``clock`` is the control that is the board's clock.

    Raises:
        SolversDisagree: two solvers disagree; no verdict is given.
    """
    refused = _refused(machine)
    if refused:
        return Equality(verdict="differs", because=refused)
    try:
        match = matched(machine, lowered, circuit, names, without=clock)
    except Unmatched as error:
        return Equality(verdict="undecided", because=str(error))
    if match.ticks != 1 or set(circuit.registers) != set(match.stores.values()):
        because = "the hardware has registers that are no storage of the board"
        return Equality(verdict="undecided", because=because)
    wrong = wrong_word(machine, circuit, match)
    if wrong:
        return Equality(verdict="differs", because=wrong)
    return _Period(machine, circuit, match, clock, Deadline(seconds), tell).run()


def _refused(machine: Machine) -> str:
    """What a synchronous board must not have, in words; empty: nothing of that."""
    if machine.loops:
        nets = ", ".join(machine.loops[0].variables)
        return f"nets hold each other without storage between: {nets}"
    for unit in machine.memories:
        if unit.write != Graph.FALSE:
            return f"{unit.label} is a memory that is written by level, not at the clock's edge"
    return ""


@dataclass(slots=True)
class _Period:
    machine: Machine
    circuit: Circuit
    match: Matched
    clock: str
    deadline: Deadline
    tell: Tell
    frames: Frames = field(init=False)
    solver: Solver = field(init=False)
    asked: list[int] = field(default_factory=list)
    compared: int = 0

    def __post_init__(self) -> None:
        self.frames = Frames(self.machine, checks=False)
        self.solver = Solver(self.frames.aig)

    def run(self) -> Equality:
        frames, machine = self.frames, self.machine
        self.tell("comparing a quiet moment")
        controls, store = frames.inputs("control"), frames.inputs("store")
        (clock,) = machine.controls[self.clock]
        controls[clock] = Aig.false
        low = frames.settle({**controls, **store}, self.until(), None)
        frames.constraints += [frames.still(store, low), low.levels[machine.legal]]
        levels = self.levels(controls, store)
        answer = self.all_hold(self.at_rest(low, levels))
        if answer is not None:
            return answer
        # Of what never is anything could be proved.
        if self.solver.check([], self.deadline.left) != "sat":
            return Equality(
                verdict="undecided", because="no quiet moment with the clock low is found"
            )
        self.tell("changing controls while the clock is low")
        answer = self.controls_change(controls, store, low, clock)
        if answer is not None:
            return answer
        self.tell("comparing a period of the clock")
        return self.period(controls, store, low, clock, levels)

    def until(self) -> list[int]:
        """No memory is ever written."""
        return [0] * len(self.machine.memories)

    def levels(self, controls: dict[int, int], store: dict[int, int]) -> Levels:
        """All bits of the hardware."""
        aig, match = self.frames.aig, self.match
        known = {bit: store[leaf] for leaf, bit in match.stores.items()}
        known |= {bit: controls[leaf] for leaf, bit in match.controls.items()}
        reset = self.circuit.names.get("tick_rst", ())
        known |= {bit: Aig.false for bit in reset if isinstance(bit, int)}
        known |= {bit: aig.input() for bit in self.circuit.inputs if bit not in known}
        number = {name: index for index, name in enumerate(match.memories)}

        def read(name: str, address: Sequence[int]) -> Sequence[int]:
            return self.frames.memories[number[name]].read(tuple(reversed(address)), 0)

        return evaluated(aig, self.circuit, known, read)

    # the three claims -------------------------------------------------------------------------

    def at_rest(self, low: Round[int], levels: Levels) -> list[Wish]:
        """All that can be seen, at a quiet moment with the clock low."""
        machine, match, xor = self.machine, self.match, self.frames.aig.xor
        wishes: list[Wish] = []
        for net, bit in zip(machine.netlist.nets, match.nets, strict=True):
            level = low.levels[machine.nets[net.index].level]
            wishes.append(Wish(says=f"net {net.name} differs", broken=xor(level, levels.at(bit))))
        for name, node in machine.lamps.items():
            broken = xor(low.levels[node], levels.at(match.lamps[name]))
            wishes.append(Wish(says=f"lamp {name} differs", broken=broken))
        for name in match.memories:
            for enables, _, _ in self.circuit.memories[name].writes:
                broken = self.frames.aig.or_(levels.row(enables))
                wishes.append(Wish(says=f"memory {name} is written", broken=broken))
        for port in machine.netlist.ports:
            bits = match.outputs.get(port.name, ())
            for index, bit in zip(reversed(port.nets), bits, strict=bool(bits)):
                broken = xor(low.levels[machine.nets[index].level], levels.at(bit))
                wishes.append(Wish(says=f"port {port.name} differs", broken=broken))
        return wishes

    def controls_change(
        self, controls: dict[int, int], store: dict[int, int], low: Round[int], clock: int
    ) -> Equality | None:
        """A control changes, the clock aside, or those that may together."""
        changed = self.frames.inputs("control") | {clock: Aig.false}
        self.frames.one_at_a_time(controls, changed)
        result = self.step(changed, store, low)
        if isinstance(result, Equality):
            return result
        after, _ = result
        says = "{} changes while the clock stays low, when a control does"
        return self.all_hold(self.stores(store, after, says))

    def period(
        self,
        controls: dict[int, int],
        store: dict[int, int],
        low: Round[int],
        clock: int,
        levels: Levels,
    ) -> Equality:
        """The clock rises and falls."""
        now, before = store, low
        for level in (Aig.true, Aig.false):
            result = self.step(controls | {clock: level}, now, before)
            if isinstance(result, Equality):
                return result
            now, before = result
        hardware = {
            leaf: levels.at(self.circuit.registers[bit].following)
            for leaf, bit in self.match.stores.items()
        }
        says = "{} is not the same after a period of the clock"
        answer = self.all_hold(self.stores(now, hardware, says))
        return answer or self.confirmed()

    def stores(self, one: dict[int, int], other: dict[int, int], says: str) -> list[Wish]:
        """That storage is the same."""
        xor = self.frames.aig.xor
        return [
            Wish(says=says.format(unit.label), broken=xor(one[unit.leaf], other[unit.leaf]))
            for unit in self.machine.stores
        ]

    def step(
        self, controls: dict[int, int], store: dict[int, int], before: Round[int]
    ) -> tuple[dict[int, int], Round[int]] | Equality:
        """Rounds until the board is proved to be quiet: storage, and the last round."""
        frames = self.frames
        before = frames.settler.at_rest(before)
        for _ in range(MOST_ROUNDS):
            now = frames.settle({**controls, **store}, self.until(), before)
            frames.constraints.append(now.levels[self.machine.legal])
            store, changes = frames.advance(store, now)
            before = now
            answer = self.ask(changes)
            if answer == "unsat":
                return store, before
            if answer == "unknown":
                return self.undecided()
        because = f"a step may take more than {MOST_ROUNDS} rounds"
        return Equality(verdict="undecided", because=because)

    # answers ----------------------------------------------------------------------------------

    def ask(self, broken: int) -> str:
        """Whether a literal can hold; what cannot is remembered, to be asked again."""
        for literal in self.frames.take_constraints():
            self.solver.require(literal)
        if broken == Aig.false:
            return "unsat"
        answer: str = self.solver.check([broken], self.deadline.left)
        if answer == "unsat":
            self.asked.append(broken)
        return answer

    def all_hold(self, wishes: list[Wish]) -> Equality | None:
        """None if all do; else what does not."""
        self.compared += len(wishes)
        for wish in wishes:
            answer = self.ask(wish.broken)
            if answer == "sat":
                return Equality(verdict="differs", because=wish.says)
            if answer == "unknown":
                return self.undecided()
        return None

    def undecided(self) -> Equality:
        return Equality(verdict="undecided", because=self.solver.reason or "out of time")

    def confirmed(self) -> Equality:
        """All that was found again, by a second solver and in one question."""
        fresh = Solver(self.frames.aig)
        for literal in self.solver.asserted:
            fresh.require(literal)
        broken = self.frames.aig.or_(self.asked)
        question = fresh.question([broken])
        if broken != Aig.false and asked_again(fresh, [broken], self.deadline.left) != "unsat":
            return self.undecided()
        return Equality(verdict="equal", compared=self.compared, questions=(question,))
