"""Machines whose properties induction does not settle, with answers from their own tables."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from pathlib import Path
from random import Random

from breadproof.specs.machine.machine import Machine
from tests.prove.boards import sketch
from tests.prove.test_brute import load


def asserts(facts: dict[str, int | None]) -> str:
    """The facts' formulas, named f0, f1 and so on."""
    lines = [f'  f{k}: {{says: "", formula: "{text}"}}' for k, text in enumerate(facts)]
    return "\n".join(["assert:", *lines, ""])


@dataclass(frozen=True, slots=True, kw_only=True)
class Sequencer:
    """A ROM that names the next state, and a register; one input is its top address bit.

    ``facts`` maps formulas to the step that breaks them (None: they hold).
    """

    bits: int
    table: tuple[int, ...]

    def distances(self) -> list[int | None]:
        """Steps from state 0 with the clock low to each state: a plain search of the table.

        One step changes the clock or the input, not both; a rising clock takes the next state.
        """
        start = [(0, 0, level) for level in (0, 1)]
        steps = dict.fromkeys(start, 0)
        queue = deque(start)
        while queue:
            here = queue.popleft()
            state, clock, level = here
            word = self.table[(level << self.bits) + state]
            for then in ((state if clock else word, 1 - clock, level), (state, clock, 1 - level)):
                if then not in steps:
                    steps[then] = steps[here] + 1
                    queue.append(then)
        found: list[int | None] = []
        for state in range(1 << self.bits):
            known = [steps[s, c, i] for s, c, i in steps if s == state]
            found.append(min(known) if known else None)
        return found

    def facts(self) -> dict[str, int | None]:
        """For each state but the first, that it is never reached from that one."""
        state = "{" + ", ".join(f"q{k}" for k in reversed(range(self.bits))) + "}"
        return {
            f"(!clk && {state} == 0) -> always ({state} != {goal})": steps
            for goal, steps in enumerate(self.distances())
            if goal
        }

    def machine(
        self,
        folder: Path,
        facts: dict[str, int | None],
        more: tuple[str, dict[str, str], str] = ("", {}, "clk way"),
    ) -> Machine:
        """The board, with some of its facts; ``more`` are chips, their nets, and the ports."""
        chips, others, ports = more
        nets = {f"q{k}": f"U2.Q{k} U1.A{k}" for k in range(self.bits)}
        nets |= {f"w{k}": f"U1.IO{k} U2.D{k}" for k in range(self.bits)}
        nets |= {"clk": "U2.CLK", "way": f"U1.A{self.bits}", "GND": "U1.CE_n U1.OE_n"}
        for net, pins in others.items():
            nets[net] = f"{nets[net]} {pins}" if net in nets else pins
        made = sketch(folder, f"U2:273 {chips}", nets, ports)
        made.parts["U1"] = f"{{part: 28C16, contents: {list(self.table)}}}"
        made.wire("VCC", "U1.24", "U1.WE_n")
        made.wire("GND", "U1.12", *(f"U1.A{k}" for k in range(self.bits + 1, 11)))
        return load(made, asserts(facts))


def sequencer(random: Random, bits: int) -> Sequencer:
    """Any table; many a state leads to one out of a few, so that others are not reached."""
    few = [random.randrange(1 << bits) for _ in range(1 << (bits - 1))]
    return Sequencer(bits=bits, table=tuple(random.choice(few) for _ in range(2 << bits)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """A board that texts on digital design have; ``facts`` as in `Sequencer`."""

    chips: str
    nets: dict[str, str]
    ports: str
    facts: dict[str, int | None]

    def machine(self, folder: Path) -> Machine:
        """The board with its facts."""
        return load(sketch(folder, self.chips, self.nets, self.ports), asserts(self.facts))


EXAMPLES = {
    # A token goes round; who has it and asks is granted. Two grants need two tokens, but states
    # with two tokens can go on for long without two grants (nobody asks): no small k will do.
    "arbiter with a token": Example(
        chips="U1:175 U2:08",
        nets={
            "clk": "U1.CLK", "t0": "U1.Q0 U1.D1 U2.A1", "t1": "U1.Q1 U1.D2 U2.A2",
            "t2": "U1.Q2 U1.D3 U2.A3", "t3": "U1.Q3 U1.D0 U2.A4", "r0": "U2.B1", "r1": "U2.B2",
            "r2": "U2.B3", "r3": "U2.B4", "g0": "U2.Y1", "g1": "U2.Y2", "g2": "U2.Y3",
            "g3": "U2.Y4",
        },
        ports="clk r0 r1 r2 r3",
        facts={
            "onehot({t3, t2, t1, t0}) -> never (countones({g3, g2, g1, g0}) > 1)": None,
            "(t0 && !t1 && !t2 && !t3) -> never (g0 && g2)": None,
            # with two tokens, only two that are as far apart are granted at once
            "({t3, t2, t1, t0} == 5) -> never (g0 && g1)": None,
            "({t3, t2, t1, t0} == 5) -> never (g0 && g2)": 0,
            "(!clk && {t3, t2, t1, t0} == 3 && !r0 && !r1 && !r2 && !r3) -> never (g2 && g3)": 5,
        },
    ),
    # Two counters that start alike stay alike, so their carries agree; while they are not alike,
    # their carries may agree for long, since they only count when enabled.
    "counters in lockstep": Example(
        chips="U1:163 U2:163 U3:86",
        nets={
            "clk": "U1.CLK U2.CLK", "en": "U1.ENP U2.ENP", "VCC": "U1.ENT U2.ENT",
            "a0": "U1.Q0", "a1": "U1.Q1", "a2": "U1.Q2", "a3": "U1.Q3", "b0": "U2.Q0",
            "b1": "U2.Q1", "b2": "U2.Q2", "b3": "U2.Q3", "ca": "U1.RCO U3.A1",
            "cb": "U2.RCO U3.B1", "x": "U3.Y1",
        },
        ports="clk en",
        facts={
            "({a3, a2, a1, a0} == {b3, b2, b1, b0}) -> never x": None,
            "({a3, a2, a1, a0} != {b3, b2, b1, b0}) -> "
            "always ({a3, a2, a1, a0} != {b3, b2, b1, b0})": None,
            # from 0 and 15: they differ at once
            "({a3, a2, a1, a0} == 15 && {b3, b2, b1, b0} == 0) -> always !x": 0,
            # from 0 and 8 (enabled, clock low) the carry of the second comes with edge 7
            "(!clk && en && {a3, a2, a1, a0} == 0 && {b3, b2, b1, b0} == 8) -> never x": 13,
        },
    ),
    # Eight bits: the n-th edge comes 2n - 1 steps after a low clock, beyond what induction tries.
    "long count": Example(
        chips="U1:163 U2:163",
        nets={
            "clk": "U1.CLK U2.CLK", "VCC": "U1.ENP U1.ENT U2.ENP", "c": "U1.RCO U2.ENT",
            "q0": "U1.Q0", "q1": "U1.Q1", "q2": "U1.Q2", "q3": "U1.Q3", "q4": "U2.Q0",
            "q5": "U2.Q1", "q6": "U2.Q2", "q7": "U2.Q3",
        },
        ports="clk",
        facts={
            "(!clk && {q7, q6, q5, q4, q3, q2, q1, q0} == 0) -> always (!q4 || !q3)": 47,
            # from 250 on to 16 are 22 edges, and the clock must fall first
            "(clk && {q7, q6, q5, q4, q3, q2, q1, q0} == 250) -> always (!q4 || q5)": 44,
        },
    ),
}  # fmt: skip
