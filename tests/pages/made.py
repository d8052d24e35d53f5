"""Reports for the tests of pages: two boards with runs that were walked by hand."""

from __future__ import annotations

from pathlib import Path

from breadproof.verify.board import BoardReport
from breadproof.verify.prove.verdict import Result, Verdict
from breadproof.verify.wiring.registry import check_wiring
from tests.report import boards as b

HOSTILE = "</title><script>alert(1)</script><img src=x onerror=alert(2)> & 'q' \"d\""
"""What no text of a board may do to a page."""


def failing_report(folder: Path, title: str = "") -> BoardReport:
    """A fight, a formula that fails, one that holds, one that is undecided; a finding or two."""
    text = b.TWO_SOURCES
    if title:
        quoted = title.replace("'", "''")
        old = "title: Pattern switches and a register on one bus"
        assert old in text
        text = text.replace(old, f"title: '{quoted}'")
    machine = b.machine_of(folder, text)
    fight = b.walked(
        machine,
        [{"TAKE": (1,)}, {"MODE": (1, 0)}],
        start={"MODE": (0, 1)},
        storage={"U2.R[0]": 1},
    )
    long = b.walked(machine, [{"TAKE": (k % 2,)} for k in range(1, 30)], start={"MODE": (0, 1)})
    return BoardReport(
        machine=machine,
        wiring=check_wiring(machine.wired),
        results=(
            _result("quiet", "holds"),
            b.broken("fights:bus", fight, "standing", "No two outputs drive net bus at once."),
            _result("glitch:U2.11", "holds"),
            _result("glitch:U2.1", "undecided", because="it ran out of time"),
            b.broken("not-three", long, says=title or "The bus never carries 3."),
            _result("taken", "unreachable"),
        ),
        verdict="fail",
        rounds=2,
        seconds=1.5,
    )


def _result(name: str, verdict: Verdict, because: str = "") -> Result:
    return Result(
        name=name,
        kind="cover" if name == "taken" else "standing",
        verdict=verdict,
        says=f"What is said of {name}.",
        method="induction over 2 steps",
        steps=2,
        seconds=0.1,
        because=because,
    )
