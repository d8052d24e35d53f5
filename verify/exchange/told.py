"""The README of a folder of evidence: which file claims what, and how anyone can check it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from breadproof.verify.board import BoardReport
from breadproof.verify.exchange.closing import Question
from breadproof.verify.prove.verdict import Result


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """Results that were proved together, and the questions by file."""

    names: tuple[str, ...]
    files: Mapping[str, Question]


CHECK = """\
Each file that ends in `.smt2` is one question in SMT-LIB 2.6 (logic `QF_ABV`: bits, bit vectors and
arrays; `QF_UF`, bits alone, where the board has no memory that is written). It stands for itself:
give it to any solver that reads SMT-LIB 2, one file after the other, and compare the answer with
the one below, which the file also states as its `:status`. A proof counts if all of its questions
get their answers. An answer `unknown`, or none, is no answer: give the file more time, or another
solver.

A step of the board changes one control (or those that may change together), and then rounds follow
until the board is quiet. A run begins at any quiet moment that |init| allows: chips and memories
come up holding anything."""

RULES = """\
A property that has the files *first*, *kept* and *never* holds at every moment of every run:

- *first* is `unsat`: runs do not violate it in their first steps, and meet the invariant there.
- *kept* is `unsat`: steps keep the invariant. It is left out where none is needed.
- *never* is `unsat`: no steps, from any moment, lead to a violation. Where the claim says "for the
  first time" it is an induction over as many steps as it names. Where it takes moments to be in
  different states: a shortest run to a violation is in no state twice, since the part between could
  be left out.
- *guard* is `sat`: there is a run on which all that the other questions take for granted is so. If
  there were none, a contradiction could be what answers them.

A formula with a strong operator (`until!`, `before!`, `eventually!`) has these files beside them.
An endless run violates it if what it waits for stays away in every step from some step on.

- *begins* and *stays* are `unsat`: every run begins in a state that has a rank, and no step leads
  out of those.
- *falls-1* and so on, one for each thing that is waited for, are `unsat`: in no step in which it is
  still waited for does the rank rise, and it stays the same only where the assumption that this
  rank counts on still waits in that step (the file says which, by its place among what the
  assumptions wait for). Ranks are whole numbers, so waiting for ever means the same rank for ever
  from some step on: then that assumption waits for ever, which it excludes.
- *ranked-guard* is `sat`, as *guard* is.

What is dead (`dead:`, of a pin or storage) has the first three too: that it happens is taken for
the violation. Of a control they compare two runs that differ in that control alone, gate by gate
(each v is a level in one of the two; their steps are written out):

- *moves* is `sat`: two runs show the control at a lamp or a way out, or write differently.
- *cut-off* is `unsat`: of storage that may differ between the two no more comes to differ, and
  nothing is shown; so it is in all steps to come. *cut-off-guard* is `sat`: the control moves.
- *held* is `unsat`: the assumptions never let the control move.

What is known after the declared reset (`known:`) compares two runs, too, in terms of |next|; their
moments are numbered one after the other.

- *alike* is `unsat`: however two runs begin, if their controls stand alike and the reset's controls
  move, their storage is the same in the end. Where assumptions matter, *alike-first* is the same
  of runs that begin with power-up. *alike-guard* is `sat`: there are two such runs.
- *differ* is `sat`: two runs from power-up end differently.

All of them take moments to be quiet. That this is so is the claim of `quiet`: *quiet* (steps lead
from quiet moments to quiet moments) and *power-up* (the board gets quiet at all, in as many rounds
as it names) are `unsat`, their guards `sat`. *walk* is `sat`: a run that was walked with numbers,
without any of these formulas, is one of theirs; a relation that forbade too much would prove too
much.

Where *never* speaks of a violation that counts, the state has one address of a memory more than the
board: any address, which stays the same. A violation counts if it is the first one and that address
is the one which the board uses then, or at a moment before that the run decides. Every run that
violates the property has such an address, so if none counts there is none."""

LIMITS = """\
What these files do not show: that the relation is the one of the board as it is wired (it is
written from the same model that the proofs use; the model leaves out analogue levels, noise and bad
contacts); that levels are enough: a formula rests on the checks of the pins below it (`glitch`,
`race`, `float`), which are results of their own; and that the assumptions are true. A proof about
the logic is no safety case."""


def readme(
    report: BoardReport,
    told: Sequence[Told],
    restless: str = "",
    shown: Mapping[str, tuple[str, ...]] | None = None,
) -> str:
    """The text, in Markdown; ``restless`` tells why nothing shows that moments are quiet, ``shown``
    what happens in a run, by file."""
    netlist = report.machine.netlist
    lines = [f"# Evidence for {netlist.board}", "", *_head(report), "", "## How to check", ""]
    lines += [*CHECK.splitlines(), "", *RULES.splitlines(), "", "## Proofs", ""]
    if restless:
        lines += [
            *_wrapped(f"All that follows takes for granted what nothing shows: {restless}."),
            "",
        ]
    for one in told:
        lines += _proof(one)
    lines += _runs(report.results, shown or {})
    lines += _missing(report.results)
    lines += ["## What is left to believe", "", *LIMITS.splitlines()]
    return "\n".join([*lines, ""])


def _head(report: BoardReport) -> list[str]:
    from breadproof import __version__

    netlist = report.machine.netlist
    assumed = [f"`{formula.name}`" for formula in netlist.formulas if formula.kind == "assume"]
    text = f"{netlist.title or netlist.board}. Written by breadproof {__version__}. "
    text += f"Assumed: {', '.join(assumed)}." if assumed else "Nothing is assumed."
    if report.rounds:
        text += f" A step takes at most {report.rounds} round{'s' * (report.rounds > 1)}."
    else:
        text += " The board is not proved to get quiet, so nothing is proved of its steps."
    return _wrapped(text)


def _proof(one: Told) -> list[str]:
    lines = _wrapped(", ".join(f"`{name}`" for name in one.names) + ":")
    lines += ["", "| file | answer | claim |", "| --- | --- | --- |"]
    for name, question in one.files.items():
        lines.append(f"| `{name}` | `{question.answer}` | {question.claim} |")
    return [*lines, ""]


def _runs(results: Iterable[Result], shown: Mapping[str, tuple[str, ...]]) -> list[str]:
    traced = [result for result in results if result.trace is not None]
    if not traced and not shown:
        return []
    lines = ["## Runs", ""]
    lines += _wrapped(
        "Each is a value change dump (IEEE 1364), and was replayed before it was written."
    )
    lines += ["", "| file | shows |", "| --- | --- |"]
    lines += [f"| `{one.evidence[0]}` | `{one.name}` {one.verdict} |" for one in traced]
    for name, what in shown.items():
        lines.append(f"| `{name}` | none of these is dead: {', '.join(f'`{w}`' for w in what)} |")
    return [*lines, ""]


def _missing(results: Iterable[Result]) -> list[str]:
    reasons: dict[str, list[str]] = {}
    for result in results:
        if result.no_evidence:
            name = f"`{result.name}` ({result.verdict})"
            reasons.setdefault(result.no_evidence, []).append(name)
    if not reasons:
        return []
    lines = ["## Without evidence", ""]
    for why, names in reasons.items():
        lines += [*_wrapped(f"{', '.join(names)}: {why}."), ""]
    return lines


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, 100, break_on_hyphens=False, break_long_words=False)
