"""cvc5, an SMT solver that shares nothing with z3 or bitwuzla, asked in SMT-LIB 2."""

from __future__ import annotations

import cvc5


def answer(script: str) -> str:
    """``sat``, ``unsat`` or ``unknown`` for a script with one ``(check-sat)``."""
    solver = cvc5.Solver(cvc5.TermManager())
    # its usual choice of decisions takes minutes where this one takes a second
    solver.setOption("decision", "internal")
    parser = cvc5.InputParser(solver)
    parser.setStringInput(cvc5.InputLanguage.SMT_LIB_2_6, script, "script")
    symbols = parser.getSymbolManager()
    said = ""
    while not (command := parser.nextCommand()).isNull():
        said += str(command.invoke(solver, symbols) or "")
    return said.strip()
