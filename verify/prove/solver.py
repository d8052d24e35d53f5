"""One incremental Boolean solver over an and-inverter graph, and its questions as SMT-LIB 2.

The search asks thousands of small questions, so it asks a plain satisfiability solver: MiniSat
(Eén and Sörensson 2003) through PySAT. What is proved at last is asked once more, of z3 (`second`).
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import Literal

import pysolvers
from pysat.solvers import Minisat22

from breadproof.verify.prove.aig import Aig, declarations, name

Answer = Literal["sat", "unsat", "unknown"]

FIRST_CONFLICTS = 500
"""After so many conflicts the clock is looked at for the first time."""

LOOK_AGAIN = 0.25
"""About so many seconds later it is looked at again, and Ctrl-C is heard."""


class Solver:
    """Answers questions about an and-inverter graph.

    Anything but a plain "sat" or "unsat" from MiniSat, an exception included, is "unknown". After
    one (no memory, say) nothing that it knows can be relied on, and it answers no more.
    """

    def __init__(self, aig: Aig) -> None:
        """Answer questions about ``aig``."""
        self.aig = aig
        self.asserted: list[int] = []
        self.index: dict[int, int] = {}
        """Variables that MiniSat knows, with its own numbers for them, which leave no gaps."""
        self.sat = Minisat22()
        self.reason = ""
        self.failed = False
        self.questions = 0
        self.model: list[int] = []
        self.levels: dict[int, int] = {}
        """What is known of the last model's levels, by variable."""

    def require(self, literal: int) -> None:
        """Assert a literal for good."""
        if literal == Aig.true:
            return
        self.asserted.append(literal)
        if literal == Aig.false:
            return
        try:
            self._send([literal])
            self.sat.add_clause([self.numbered(literal)])
        except (pysolvers.error, MemoryError, RuntimeError) as error:
            self._fail(error)

    def _fail(self, error: Exception) -> None:
        self.failed = True
        self.reason = f"the solver failed: {error}"

    def _send(self, literals: Sequence[int]) -> None:
        """Tell MiniSat of what the literals depend on: three clauses a gate (Tseitin 1968)."""
        index, fanin = self.index, self.aig.fanin
        stack = [literal >> 1 for literal in literals if literal > Aig.true]
        new: list[tuple[int, int, int]] = []
        while stack:
            variable = stack.pop()
            if variable in index:
                continue
            index[variable] = len(index) + 1
            gate = fanin[variable]
            if gate is not None:
                a, b = gate
                new.append((variable, a, b))
                stack.append(a >> 1)
                stack.append(b >> 1)
        clauses: list[list[int]] = []
        for variable, a, b in new:
            gate_number = index[variable]
            first = -index[a >> 1] if a & 1 else index[a >> 1]
            second = -index[b >> 1] if b & 1 else index[b >> 1]
            clauses += [
                [-gate_number, first],
                [-gate_number, second],
                [gate_number, -first, -second],
            ]
        if clauses:
            self.sat.append_formula(clauses)

    def numbered(self, literal: int) -> int:
        """A literal as MiniSat has it."""
        number = self.index[literal >> 1]
        return -number if literal & 1 else number

    def check(self, assumptions: Sequence[int], seconds: float) -> Answer:
        """Whether all asserted literals and the assumptions can hold together."""
        if Aig.false in assumptions or Aig.false in self.asserted:
            return "unsat"
        if self.failed:
            return "unknown"
        if seconds <= 0:
            self.reason = "out of time"
            return "unknown"
        wanted = [literal for literal in assumptions if literal != Aig.true]
        self.questions += 1
        self.model = []
        try:
            self._send(wanted)
            answer = self.ask([self.numbered(literal) for literal in wanted], seconds)
        except (pysolvers.error, MemoryError, RuntimeError) as error:
            self._fail(error)
            return "unknown"
        if answer is None:
            self.reason = "the solver gave up (out of time)"
            return "unknown"
        return "sat" if answer else "unsat"

    def ask(self, assumptions: list[int], seconds: float) -> bool | None:
        """MiniSat's answer, if it has one in time."""
        end = time.monotonic() + seconds
        conflicts = FIRST_CONFLICTS
        while True:
            begun = time.monotonic()
            self.sat.conf_budget(conflicts)
            # with this set it keeps its hands off Ctrl-C, which Python hears when it returns
            answer: bool | None = self.sat.solve_limited(assumptions, expect_interrupt=True)
            now = time.monotonic()
            if answer is not None or now >= end:
                return answer
            if now - begun < LOOK_AGAIN:
                conflicts *= 2

    def core(self, assumptions: Sequence[int]) -> frozenset[int]:
        """Those of the last question's assumptions that made it "unsat"; they alone would do."""
        if Aig.false in self.asserted:
            return frozenset()
        if Aig.false in assumptions:
            return frozenset({Aig.false})
        named = {self.numbered(one): one for one in assumptions if one != Aig.true}
        return frozenset(named[number] for number in self.sat.get_core() or ())

    def values(self, literals: Sequence[int]) -> dict[int, int]:
        """Levels of literals in the last model; variables that do not matter are 0.

        Gates that the solver was never asked about follow from what they are made of.
        """
        if not self.model:
            self.model = self.sat.get_model() or []
            self.levels = {0: 0}
        model, index, levels = self.model, self.index, self.levels

        def level(literal: int) -> int:
            variable = literal >> 1
            if variable not in levels:
                number = index.get(variable, 0)
                levels[variable] = int(0 < number <= len(model) and model[number - 1] > 0)
            return levels[variable] ^ (literal & 1)

        new = [literal for literal in literals if literal >> 1 not in levels]
        for variable in self.aig.cone(new, index):
            gate = self.aig.fanin[variable]
            levels[variable] = 0 if gate is None else level(gate[0]) & level(gate[1])
        return {literal: level(literal) for literal in literals}

    def question(self, assumptions: Sequence[int]) -> str:
        """The question as a self-contained SMT-LIB 2 script, for another solver."""
        required = [*self.asserted, *assumptions]
        lines = ["(set-logic QF_UF)", *declarations(self.aig, self.aig.cone(required, set()))]
        lines += [f"(assert {name(literal)})" for literal in required]
        return "\n".join([*lines, "(check-sat)", ""])


class Deadline:
    """A moment after which nothing more is tried."""

    def __init__(self, seconds: float) -> None:
        """Start now."""
        self.end = time.monotonic() + seconds

    @property
    def left(self) -> float:
        """Seconds left, possibly negative."""
        return self.end - time.monotonic()
