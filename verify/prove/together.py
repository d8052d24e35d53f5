"""Many questions at once: which of these literals can hold?

One model often settles many of them, and "unsat" all that are left. What runs out of time says
nothing of any: whoever asks goes on one by one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from breadproof.verify.prove.paths import Question
from breadproof.verify.prove.solver import Deadline, Solver


def possible(
    solver: Solver, assumptions: Sequence[int], literals: Mapping[str, int], deadline: Deadline
) -> tuple[set[str], bool]:
    """The names of those literals that can hold under the assumptions, and whether they are all."""
    left, found = dict(literals), set[str]()
    while left:
        answer = solver.check([*assumptions, solver.aig.or_(list(left.values()))], deadline.left)
        if answer != "sat":
            return found, answer == "unsat"
        now = true_ones(solver, left)
        found |= now
        left = {name: literal for name, literal in left.items() if name not in now}
    return found, True


def possible_runs(
    solver: Solver, questions: Mapping[str, tuple[Question, int]], steps: int, deadline: Deadline
) -> tuple[set[str], bool]:
    """The names of what a run of so many steps without detours can meet, and whether they are all.

    For each name, what makes a run one without detours, and the literal to be met. The demands of
    those that cannot be met are kept by their `Question`.
    """
    aig, left, found = solver.aig, dict(questions), set[str]()
    while left:
        literals = {
            name: aig.and_([literal, *question.demands(steps)])
            for name, (question, literal) in left.items()
        }
        answer = solver.check([aig.or_(list(literals.values()))], deadline.left)
        if answer != "sat":
            return found, answer == "unsat"
        met = true_ones(solver, literals)
        straight = {name for name in met if not left[name][0].refine(solver, steps)}
        found |= straight
        left = {name: question for name, question in left.items() if name not in straight}
    return found, True


def true_ones(solver: Solver, literals: Mapping[str, int]) -> set[str]:
    """The names of the literals that hold in the last model."""
    values = solver.values(sorted(set(literals.values())))
    return {name for name, literal in literals.items() if values[literal]}
