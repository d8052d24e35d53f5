"""One incremental Boolean solver over an and-inverter graph, and its questions as SMT-LIB 2."""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import Literal

import z3

from breadproof.verify.prove.aig import Aig, declarations, name

Answer = Literal["sat", "unsat", "unknown"]
TRUE = 1
"""z3's `Z3_L_TRUE`."""


class Solver:
    """z3's incremental Boolean solver, fed as text (fast, design.md section 10).

    Anything but a plain "sat" or "unsat" from z3, an exception included, is "unknown". After an
    exception (no memory, say) nothing that it knows can be relied on, and it answers no more.
    """

    def __init__(self, aig: Aig) -> None:
        """Answer questions about ``aig``."""
        self.aig = aig
        self.asserted: list[int] = []
        self.sent: set[int] = set()
        self.z3 = z3.SolverFor("QF_FD")
        self.z3.set("ctrl_c", False)  # see `interrupt`
        self.reason = ""
        self.failed = False
        self.questions = 0
        self._terms: dict[int, z3.BoolRef] = {}
        self._constants: dict[int, z3.FuncDeclRef] = {}

    def require(self, literal: int) -> None:
        """Assert a literal for good."""
        if literal != Aig.true:
            self.asserted.append(literal)
            try:
                self._send([literal], [literal])
            except z3.Z3Exception as error:
                self._fail(error)

    def _fail(self, error: z3.Z3Exception) -> None:
        self.failed = True
        self.reason = f"the solver failed: {error}"

    def _send(self, literals: Sequence[int], required: Sequence[int] = ()) -> None:
        new = self.aig.cone(literals, self.sent)
        self.sent.update(new)
        if not new and not required:
            return
        lines = declarations(self.aig, new)
        lines += [f"(assert {name(literal)})" for literal in required]
        self.z3.from_string("\n".join(lines))

    def term(self, literal: int) -> z3.BoolRef:
        """A literal as a z3 term."""
        if literal < 2:
            return z3.BoolVal(literal == 1)
        if literal not in self._terms:
            term = z3.Bool(f"v{literal >> 1}")
            self._terms[literal] = z3.Not(term) if literal & 1 else term
        return self._terms[literal]

    def constant(self, variable: int) -> z3.FuncDeclRef:
        """A variable as a z3 constant."""
        if variable not in self._constants:
            self._constants[variable] = self.term(2 * variable).decl()
        return self._constants[variable]

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
        try:
            self._send(wanted)
            self.z3.set("timeout", max(1, int(seconds * 1000)))
            answer = self.ask_z3([self.term(literal) for literal in wanted])
        except z3.Z3Exception as error:
            self._fail(error)
            return "unknown"
        if answer == z3.sat:
            return "sat"
        if answer == z3.unsat:
            return "unsat"
        self.reason = f"the solver gave up ({self.z3.reason_unknown()})"
        return "unknown"

    def ask_z3(self, assumptions: Sequence[z3.BoolRef]) -> z3.CheckSatResult:
        """z3's answer. Its own `Solver.check` does the same, and looks at length at each term."""
        terms = (z3.Ast * len(assumptions))(*(term.as_ast() for term in assumptions))
        context = self.z3.ctx.ref()
        found = z3.Z3_solver_check_assumptions(context, self.z3.solver, len(terms), terms)
        return z3.CheckSatResult(found)

    def core(self, assumptions: Sequence[int]) -> frozenset[int]:
        """Those of the last question's assumptions that made it "unsat"; they alone would do."""
        if Aig.false in self.asserted:
            return frozenset()
        if Aig.false in assumptions:
            return frozenset({Aig.false})
        named = {self.term(one).get_id(): one for one in assumptions if one != Aig.true}
        return frozenset(named[term.get_id()] for term in self.z3.unsat_core())

    def values(self, literals: Sequence[int]) -> dict[int, int]:
        """Levels of literals in the last model; variables that do not matter are 0.

        Gates that the solver was never asked about follow from what they are made of.
        """
        model = self.z3.model()
        context, contents = model.ctx.ref(), model.model
        levels: dict[int, int] = {0: 0}

        def level(literal: int) -> int:
            variable = literal >> 1
            if variable not in levels:
                # as ModelRef.get_interp, without a Python object for each level
                found = z3.Z3_model_get_const_interp(context, contents, self.constant(variable).ast)
                known = found.value is not None
                levels[variable] = int(known and z3.Z3_get_bool_value(context, found) == TRUE)
            return levels[variable] ^ (literal & 1)

        for variable in self.aig.cone(literals, self.sent):
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
