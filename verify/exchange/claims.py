"""The comments at the head of each file of evidence: what it claims, about what."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from breadproof.verify.board import BoardReport
from breadproof.verify.exchange.closing import Question

WIDTH = 98

SHARED = (
    "A state is a quiet moment of the board. |here|: it is one. |init|: it can be the first of a "
    "run. |next|: where the inputs lead to from a state. |allowed|: the assumptions and the rule "
    "of one control at a time let them be chosen. |violated at first| and |violated after|: one of "
    "the properties is violated at a first moment, or at the end of a step (for a cover: reached). "
    "|invariant|: what holds at every moment. |X@3| is X at moment 3, or in the step to it."
)
RANKS = (
    "|ranked|: the states that decide how long something is waited for. |rank K|: a whole number "
    "for each of them, for the K-th thing that is waited for. |waits K|: it is still waited for at "
    "the end of the step. |assumption K waits|: so is the K-th thing that assumptions bring about."
)
POWER_UP = (
    "Storage, controls and memories are anything when power comes on; each v is a gate or a level."
)


TWO_RUNS = (
    "Two runs, at a quiet moment and after a step from it, that may differ in one control and in "
    "what the question lets differ; each v is a gate or a level of one of them."
)
OF_CONTROLS = ("moves", "cut-off", "cut-off-guard", "held", "held-guard")


def commented(report: BoardReport, names: Sequence[str], question: Question) -> str:
    """The script of a question with its comments."""
    netlist = report.machine.netlist
    lines = [
        f"Board {netlist.board}, {question.what}: {', '.join(names)}.",
        f"The answer must be {question.answer}: {question.claim}.",
        said(question),
    ]
    lines += [RANKS] if "|ranked|" in question.script else []
    found = [line for text in lines for line in textwrap.wrap(" ".join(text.split()), WIDTH)]
    return "".join(f"; {line}\n" for line in found) + question.script


def said(question: Question) -> str:
    """What the symbols of a question mean."""
    if question.what in OF_CONTROLS:
        return TWO_RUNS
    return SHARED if "|here|" in question.script or "|init|" in question.script else POWER_UP


def power_up(script: str, rounds: int) -> list[Question]:
    """The question whether the board gets quiet after power-up, and its guard."""
    head, _, body = script.partition("\n")
    *others, last = [line for line in body.splitlines() if line != "(check-sat)"]
    in_time = f"after power-up every board is quiet in {rounds} round{'s' * (rounds > 1)}"
    return [
        Question(
            what="power-up",
            claim=in_time,
            answer="unsat",
            script="\n".join(["(set-info :status unsat)", head, *others, last, "(check-sat)", ""]),
        ),
        Question(
            what="power-up-guard",
            claim="power can come on",
            answer="sat",
            script="\n".join(["(set-info :status sat)", head, *others, "(check-sat)", ""]),
        ),
    ]
