"""What is known of a board: results and the board's verdict (design.md section 8)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from breadproof.specs.machine.trace import Trace
from breadproof.verify.prove.grounds import Grounds
from breadproof.verify.prove.proof import Clause, Proof

Kind = Literal["assert", "cover", "standing"]
Verdict = Literal["holds", "fails", "undecided", "covered", "unreachable"]
BoardVerdict = Literal["pass", "fail", "undecided"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """The answer about one formula or standing check.

    ``steps``: the length of the trace, or how far runs were searched if it is undecided.
    ``vacuous`` names conditions that never come true (None: not looked for or not known).
    ``because`` says what stands in the way if it is undecided, or how it fails. ``invariant`` are
    the clauses over named bits that prove it, where it was proved by some (see `cubes`). ``proof``
    goes with "holds" and "unreachable" where no violation is possible at any moment: it is evidence
    that others can check. ``grounds`` are what it rests on, if that was looked for and found.
    ``evidence`` are the files that were written about it (see `exchange/evidence`), ``no_evidence``
    tells why there are none of what is settled.
    ``engines`` tells of the engines that were at it beside the one that answered, and why they
    stopped.
    """

    name: str
    kind: Kind
    verdict: Verdict
    says: str
    method: str
    steps: int
    seconds: float
    assumes: tuple[str, ...] = ()
    vacuous: tuple[str, ...] | None = None
    because: str = ""
    notes: tuple[str, ...] = ()
    trace: Trace | None = None
    invariant: tuple[Clause, ...] = ()
    proof: Proof | None = None
    grounds: Grounds | None = None
    engines: tuple[str, ...] = ()
    evidence: tuple[str, ...] = ()
    no_evidence: str = ""


def failing(result: Result) -> bool:
    """Whether a result makes the board fail."""
    return result.verdict in ("fails", "unreachable")


def board_verdict(wiring_errors: int, results: Iterable[Result]) -> BoardVerdict:
    """``fail`` before ``undecided`` before ``pass``."""
    results = list(results)
    if wiring_errors or any(failing(result) for result in results):
        return "fail"
    if any(result.verdict == "undecided" for result in results):
        return "undecided"
    return "pass"


EXIT_STATUS: dict[BoardVerdict, int] = {"pass": 0, "fail": 1, "undecided": 3}
"""Exit status of a command by verdict (design.md section 8)."""
INTERRUPTED = 130
"""That of a command that somebody interrupted."""
