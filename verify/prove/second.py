"""What is proved is asked again, of another solver: z3, which has the question as a text alone.

One solver searches (`solver`), with thousands of questions that build on each other, and can be
wrong where a clause of an earlier question is; the other gets the last one only, built anew, and
knows nothing else. A proof is one if both say so.
"""

from __future__ import annotations

import time
from collections.abc import Sequence

import z3

from breadproof.verify.prove.solver import Answer, Solver

TACTIC = "QF_FD"
"""z3's solver for Boolean questions."""


class SolversDisagree(Exception):
    """One solver has a run where the other says that there is none: no verdict is given."""


def ask_z3(script: str, seconds: float) -> Answer:
    """z3's answer to a Boolean SMT-LIB 2 script; anything but a plain "sat" or "unsat" is
    "unknown"."""
    if seconds <= 0:
        return "unknown"
    solver = z3.SolverFor(TACTIC)
    solver.set("ctrl_c", False)  # see `interrupt`
    solver.set("timeout", max(1, int(seconds * 1000)))
    try:
        solver.from_string(script)
        found = solver.check()
    except z3.Z3Exception:
        return "unknown"
    if found == z3.unsat:
        return "unsat"
    return "sat" if found == z3.sat else "unknown"


def refuted(solver: Solver, assumptions: Sequence[int], seconds: float) -> Answer:
    """Whether nothing meets the assumptions and all that ``solver`` requires, to two solvers.

    Raises:
        SolversDisagree: the second one finds what the first one has excluded.
    """
    begun = time.monotonic()
    answer = solver.check(assumptions, seconds)
    if answer == "unsat":
        return asked_again(solver, assumptions, seconds - (time.monotonic() - begun))
    return answer


def asked_again(solver: Solver, assumptions: Sequence[int], seconds: float) -> Answer:
    """What z3 says to a question that ``solver`` has answered with "unsat": that, or "unknown".

    Raises:
        SolversDisagree: it says "sat".
    """
    answer = confirmed(solver.question(assumptions), seconds)
    if answer == "unknown":
        solver.reason = "the second solver did not confirm it in time"
    return answer


def confirmed(script: str, seconds: float) -> Answer:
    """What z3 says to a script that is answered with "unsat" already: that, or "unknown".

    Raises:
        SolversDisagree: it says "sat".
    """
    answer = ask_z3(script, seconds)
    if answer == "sat":
        raise SolversDisagree("z3 finds a run that MiniSat has excluded")
    return answer
