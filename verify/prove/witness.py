"""A trace is believed only after it was walked from itself alone, and shows what it is said to.

The solver's model went through the and-inverter graph; here the same machine runs on numbers. A
trace that does not confirm is our own error and never a verdict (design.md section 8).
"""

from __future__ import annotations

from breadproof.specs.machine.influence import Influence, assumed, influence
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round
from breadproof.specs.machine.steplogic import CompiledFormula
from breadproof.specs.machine.trace import Trace, TraceStep
from breadproof.specs.machine.walk import NotQuiet
from breadproof.specs.machine.watch import Watcher
from breadproof.specs.netlist.bouncing import rests
from breadproof.verify.prove.checks import (
    Check,
    RoundChecks,
    count_roots,
    standing_checks,
    swing_roots,
)


def confirms(machine: Machine, name: str, trace: Trace) -> bool:
    """Whether ``trace`` is a run that the assumptions allow and whose last step shows ``name``.

    ``name`` is that of a formula (it is violated; a cover: reached), of a standing check (it is
    broken), or ``quiet`` (the last step never ends). A trace with a ``loop`` shows instead that
    what the formula awaits never comes if the steps behind ``loop`` come again for ever.
    """
    try:
        return _Replay(machine, trace).confirms(name)
    except NotQuiet:
        return False


def coming_again(machine: Machine, name: str, trace: Trace) -> int | None:
    """The latest step from which on the run can go round for ever and violates formula ``name``;
    None if there is none."""
    work = _Replay(machine, trace)
    work.observe(name)
    try:
        if not work.is_run(name):
            return None
    except NotQuiet:
        return None
    return next((k for k in reversed(range(len(trace.steps) - 1)) if work.comes_again(k)), None)


def rounds_of(machine: Machine, trace: Trace) -> list[list[Round[int]]] | None:
    """The rounds of each step of a run, walked anew; None if the assumptions do not allow it, or it
    is none. Of power-up only the last round is there."""
    work = _Replay(machine, trace)
    try:
        return work.kept if work.is_run("") else None
    except NotQuiet:
        return None


class _Replay:
    def __init__(self, machine: Machine, trace: Trace) -> None:
        self.kept: list[list[Round[int]]] = []
        self.machine = machine
        self.trace = trace
        self.place = 0
        self.before: Round[int] | None = None
        self.formula: CompiledFormula | None = None
        self.part: Influence | None = None
        self.states: list[list[int]] = []
        self.waits: list[list[int]] = []
        self.unfair: list[list[int]] = []
        self.contacts: list[tuple[list[int], list[bool]]] = []
        self.watcher = Watcher(
            machine,
            free=self.free,
            choice=self.choice,
            storage=dict(trace.storage),
            controls=dict(trace.steps[0].controls),
            swing_of=swing_roots(machine),
            count_of=count_roots(machine),
        )
        for unit, words in zip(machine.memories, self.watcher.memories, strict=True):
            for address, word in trace.words.get(unit.label, {}).items():
                words[address] = word

    def free(self, reader: str) -> int:
        return self.trace.steps[self.place].free[reader]

    def choice(self, loop: str, cut: int) -> int:
        rounds = self.trace.steps[self.place].rounds
        number = self.watcher.round_number
        return rounds[number].choices[f"{loop}.{cut}"] if number < len(rounds) else 0

    def comes_up(self) -> bool:
        """Whether storage begins as parts are made to come up."""
        labels = {store.leaf: store.label for store in self.machine.stores}
        return all(
            self.trace.storage.get(labels[leaf], 0) == level for leaf, level in self.machine.first
        )

    def confirms(self, name: str) -> bool:
        loop = self.trace.loop
        if loop is not None:
            self.observe(name)
            within = 0 <= loop < len(self.trace.steps) - 1
            return within and self.is_run(name) and self.comes_again(loop)
        if not self.is_run(name):
            return False
        if name == "quiet":
            return self.goes_on()
        if name in self.watcher.said:
            return bool(self.watcher.said[name])
        check = next(one for one in standing_checks(self.machine) if one.name == name)
        return self.broken(check, self.before)

    # loops ------------------------------------------------------------------------------------

    def observe(self, name: str) -> None:
        """Keep what a loop of the formula needs after each step."""
        formulas = self.machine.logic.formulas
        self.formula = next(one for one in formulas if one.formula.name == name)
        self.part = influence(self.machine, [self.formula, *assumed(self.machine)])

    def note(self) -> None:
        if self.formula is None or self.part is None:
            return
        machine, watcher, leaves = self.machine, self.watcher, self.part.leaves
        levels = watcher.rounds[-1].levels
        state = [watcher.storage[one.label] for one in machine.stores if one.leaf in leaves]
        for name, bits in machine.controls.items():
            both = zip(bits, watcher.controls[name], strict=True)
            state += [level for leaf, level in both if leaf in leaves]
        state += [watcher.free_now[n] for n, leaf in machine.free.items() if leaf in leaves]
        held = [leaf for loop in machine.loops for leaf in loop.leaves]
        state += [levels[leaf] for leaf in held if leaf in leaves]
        state += [watcher.at(one.next) for one in machine.logic.monitors if one.leaf in leaves]
        for index in self.part.memories:
            state += watcher.memories[index]
        self.states.append(state)
        self.contacts.append(self.bouncing())
        self.waits.append([watcher.at(one.node) for one in self.formula.awaited])
        assumes = [one for one in machine.logic.formulas if one.kind == "assume"]
        self.unfair.append([watcher.at(one.node) for f in assumes for one in f.awaited])

    def comes_again(self, loop: int) -> bool:
        """Whether the steps behind ``loop`` can come for ever, and something awaited does not."""
        never = [all(column) for column in zip(*self.waits[loop + 1 :], strict=True)]
        unfair = [all(column) for column in zip(*self.unfair[loop + 1 :], strict=True)]
        contacts = self.contacts[loop:]
        rest = all(contacts[0][1]) and all(one[0] == contacts[0][0] for one in contacts)
        return self.states[loop] == self.states[-1] and any(never) and not any(unfair) and rest

    def bouncing(self) -> tuple[list[int], list[bool]]:
        """How the moments of bouncing contacts stand, and which contacts are with their fingers."""
        watcher, found = self.watcher, rests(self.machine.netlist)
        return (
            [watcher.controls[one.bounces][0] for one in found],
            [
                watcher.storage[label] == watcher.controls[control][bit]
                for one in found
                for label, control, bit in one.places
            ],
        )

    # runs -------------------------------------------------------------------------------------

    def is_run(self, name: str) -> bool:
        """Whether the trace is a run that the assumptions allow."""
        if not self.comes_up():
            return False
        last = len(self.trace.steps) - 1
        for place, wanted in enumerate(self.trace.steps):
            self.place = place
            endless = name == "quiet" and self.place == last
            if self.place and not self.one_at_a_time():
                return False
            self.before = None
            if self.watcher.rounds:
                self.before = self.watcher.settler.at_rest(self.watcher.rounds[-1])
            found = self.run(wanted, endless)
            if [one.nets for one in found.rounds] != [one.nets for one in wanted.rounds]:
                return False
            if found.writes != wanted.writes:
                return False
            if not endless and not self.allowed():
                return False
            self.kept.append(self.watcher.rounds[0 if place else -1 :])
            self.note()
        return True

    def run(self, wanted: TraceStep, endless: bool) -> TraceStep:
        limit = len(wanted.rounds) if endless else None
        if not self.place:
            return self.watcher.power_up(limit)
        return self.watcher.step(wanted.controls, limit)

    def one_at_a_time(self) -> bool:
        """Whether only controls changed that may change together."""
        together = self.machine.netlist.together
        if together == "all":
            return True
        old, new = self.watcher.controls, self.trace.steps[self.place].controls
        changed = {name for name, bits in new.items() if bits != old[name]}
        return len(changed) <= 1 or all(
            any({a, b} <= set(group) for group in together) for a in changed for b in changed
        )

    def allowed(self) -> bool:
        """Whether the controls stand as switches can, and no assumption is violated."""
        watcher = self.watcher
        assumes = [f.formula.name for f in self.machine.logic.formulas if f.kind == "assume"]
        legal = watcher.rounds[-1].levels[self.machine.legal]
        return bool(legal) and not any(watcher.said[name] for name in assumes)

    def broken(self, check: Check, before: Round[int] | None) -> bool:
        """Whether a standing check is broken in the last step."""
        rounds = self.watcher.rounds
        checks = RoundChecks(self.machine, self.watcher.settler, (check,))
        if check.kind == "fights":
            return bool(checks.one(check, [], [], rounds[-1]))
        if before is None:
            if check.kind not in ("floats", "float", "program"):
                return False
            return bool(checks.one(check, [], [], self.watcher.settler.steady(rounds[-1])))
        for now in rounds:
            if checks.round(before, now)[check.name]:
                return True
            before = now
        steady = self.watcher.settler.steady(rounds[-1])
        return check.kind == "floats" and bool(checks.one(check, [], [], steady))

    def goes_on(self) -> bool:
        """Whether the last round found no level, or is one that the step has been in before."""
        machine, rounds = self.machine, self.watcher.rounds
        if rounds[-1].unsettled:
            return True
        if any(one.levels[memory.write] for one in rounds for memory in machine.memories):
            return False
        leaves = [leaf for loop in machine.loops for leaf in loop.leaves]
        leaves += [store.leaf for store in machine.stores]
        nexts = [store.next for store in machine.stores]
        states = [
            ([one.levels[leaf] for leaf in leaves], [one.levels[node] for node in nexts])
            for one in rounds
        ]
        moves = any(rounds[-1].levels[s.leaf] != rounds[-1].levels[s.next] for s in machine.stores)
        return moves and states[-1] in states[:-1]
