"""The listing as whole text, of reports made by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from breadproof.specs.reading.diagnostics import Severity, Span
from breadproof.verify.board import BoardReport
from breadproof.verify.prove.answers import INTERRUPTED
from breadproof.verify.prove.verdict import BoardVerdict, Kind, Result, Verdict
from breadproof.verify.report.listing import listing
from breadproof.verify.report.page import PLAIN, Page
from breadproof.verify.report.resultwords import how
from breadproof.verify.wiring.finding import Finding
from tests.report import boards as b

RESTS = """\
What this rests on
  - One control changes at a time, and the board settles in between (fundamental mode).
  - Logic settles in rounds, without delay of its own; what delays could do is checked as glitch,
    race and float; each step is proved to be over in 2 rounds.
  - Assumed, calm: The switches stay as they are.
  - Left out: analogue levels in motion, noise, bad contacts, a supply that sags, and how fast the
    chips are.
  - A proof about the logic is no safety case. Where the board drives more than LEDs: power off
    before you rewire, check polarity before power goes on; local codes and licensed practice
    decide.
"""


def result(
    name: str, verdict: Verdict, kind: Kind = "standing", says: str = "", **other: Any
) -> Result:
    made = Result(
        name=name, kind=kind, verdict=verdict, says=says, method="", steps=0, seconds=0.125
    )
    return replace(made, **other)


def report(
    folder: Path, verdict: BoardVerdict, *results: Result, wiring: tuple[Finding, ...] = ()
) -> BoardReport:
    return BoardReport(
        machine=b.machine_of(folder, b.TWO_SOURCES),
        wiring=wiring,
        results=results,
        verdict=verdict,
        rounds=2,
        seconds=1.5,
    )


def finding(severity: Severity, line: int) -> Finding:
    return Finding(
        code="input-open",
        severity=severity,
        message="U1.2 (A11) is open",
        net=None,
        pins=("U1.2",),
        span=Span(file="board.yaml", line=line, column=5),
        hint="Join it to a level.",
    )


QUIET = result(
    "quiet",
    "holds",
    says="After every change the board gets quiet.",
    method="every step is over in 2 rounds",
)
CLEAN = (
    QUIET,
    result("fights:bus", "holds", says="No two outputs drive net bus at once."),
    result("glitch:U2.11", "holds"),
    result("float:U2.11", "holds"),
    result("race:U2.11", "holds"),
)


def test_a_board_that_passes_is_summed_up_in_groups(tmp_path: Path) -> None:
    made = report(
        tmp_path,
        "pass",
        *CLEAN,
        result(
            "not-three",
            "holds",
            "assert",
            "The bus never carries 3 when TAKE goes down.",
            method="induction over 2 steps",
            steps=2,
            assumes=("calm", "open-high:U3.5", "open-high:U3.9"),
            vacuous=(),
        ),
        result("taken", "covered", "cover", "U2.R[0]", steps=2),
        wiring=(finding(Severity.WARNING, 5), finding(Severity.NOTE, 4)),
    )
    expected = f"""\
two-sources: pass
  Pattern switches and a register on one bus

Wiring  1 warning and 1 note
  WARNING     U1.2 (A11) is open.
              board.yaml:5:5  [input-open]  U1.2
              Join it to a level.
  note        U1.2 (A11) is open.
              board.yaml:4:5  [input-open]  U1.2
              Join it to a level.

Checked on every board
  holds       quiet: After every change the board gets quiet.
              every step is over in 2 rounds
  holds       fights: 1 net, it is never driven by two at once
  holds       glitch: 1 pin, it may not pulse
  holds       float: 1 pin, it never reads a floating net
  holds       race: 1 pin, what it takes in stands still

Formulas
  holds       not-three: The bus never carries 3 when TAKE goes down.
              proved: induction over 2 steps; 0.12 s; assumes calm and that open inputs U3.5, U3.9
              read high
  covered     taken: U2.R[0]
              reached in step 2; 0.12 s

{RESTS}
two-sources: pass. Next: look at the 1 warning, then write it as Verilog.
  breadproof export board.yaml --to verilog -o two-sources.v
"""
    assert listing(made, PLAIN, path="board.yaml") == expected


def test_what_fails_is_drawn_and_the_end_says_what_to_do(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, b.TWO_SOURCES)
    trace = b.walked(
        machine,
        [{"TAKE": (1,)}, {"MODE": (1, 0)}],
        start={"MODE": (0, 1)},
        storage={"U2.R[0]": 1},
    )
    made = report(
        tmp_path,
        "fail",
        QUIET,
        b.broken("fights:bus", trace, "standing", "No two outputs drive net bus at once."),
        result("glitch:U2.11", "holds"),
        result("glitch:U2.1", "undecided", because="it ran out of time", steps=7),
    )
    text = listing(made, PLAIN, path="my boards/two.yaml")
    assert text.startswith("two-sources: FAIL\n  Pattern switches and a register on one bus\n")
    assert (
        "Checked on every board\n"
        "  holds       quiet: After every change the board gets quiet.\n"
        "              every step is over in 2 rounds\n"
        "  FAILS       fights:bus: No two outputs drive net bus at once.\n"
        "              The run is below.\n"
        "  holds       glitch: 1 of 2 pins, it may not pulse\n"
        "  UNDECIDED   glitch:U2.1\n"
        "              no counterexample in the first 7 steps\n"
        "              it ran out of time\n"
        "\n"
        "Run: fights:bus  goes wrong in step 2\n"
        "  No two outputs drive net bus at once.\n"
        "  start   MODE is at SHOW; TAKE is not pressed; the chips come up with U2.R = 8'h01 and "
        "else with 0\n"
    ) in text
    assert text.endswith(
        "\n"
        "two-sources: FAIL. Next: do the steps of 'fights:bus' with a probe on U1.18 (Y11) and "
        "U2.19 (Q0);\n"
        "  for a waveform viewer its run is written by\n"
        "  breadproof verify 'my boards/two.yaml' --only fights:bus --trace-dir runs\n"
    )


def test_an_error_of_the_wiring_comes_first_in_what_to_do(tmp_path: Path) -> None:
    wrong = finding(Severity.ERROR, 9)
    made = report(tmp_path, "fail", *CLEAN, wiring=(wrong,))
    own = replace(wrong, span=replace(wrong.span, file=made.machine.netlist.file))
    text = listing(replace(made, wiring=(own,)), PLAIN, path="two.yaml")
    assert "Wiring  1 error\n  ERROR       U1.2 (A11) is open.\n" in text
    assert text.endswith(
        "two-sources: FAIL. Next: mend U1.2 (two.yaml:9, input-open), then verify again.\n"
    )


def test_nobody_is_sent_to_a_pin_on_ground(tmp_path: Path) -> None:
    """A 6116 is written while pin 18 (CS) and pin 21 (WE) are low; 18 is wired to ground."""
    machine = b.machine_of(tmp_path, b.STROBE)
    trace = b.walked(
        machine,
        [{"CLOCK": (1,)}],
        start={"STORE": (1,)},
        storage={"U1.R1[0]": 1, "U1.R2[0]": 0},
    )
    made = BoardReport(
        machine=machine,
        wiring=(),
        results=(b.broken("pressed", trace, says="Only STORE has anything written."),),
        verdict="fail",
        rounds=2,
        seconds=1.0,
    )
    assert "with a probe on U7.21 (WE_n)" in " ".join(listing(made, PLAIN, path="s.yaml").split())


def test_what_is_wrong_on_one_of_several_boards_is_in_the_file_of_that_board(
    tmp_path: Path,
) -> None:
    made = report(tmp_path, "fail", *CLEAN, wiring=(finding(Severity.ERROR, 9),))
    text = listing(made, PLAIN, path="two.yaml")
    assert text.endswith("Next: mend U1.2 (board.yaml:9, input-open), then verify again.\n")


def test_undecided_is_never_shown_as_holding(tmp_path: Path) -> None:
    made = report(
        tmp_path,
        "undecided",
        *CLEAN,
        result(
            "not-three",
            "undecided",
            "assert",
            "The bus never carries 3 when TAKE goes down.",
            method="no step from any quiet moment",
            steps=1,
            because="it rests on pins that are not clean: glitch:U2.11",
        ),
        result("taken", "undecided", "cover", "U2.R[0]", steps=10, because="out of time"),
    )
    text = listing(made, PLAIN, path="two.yaml")
    assert (
        "Formulas\n"
        "  UNDECIDED   not-three: The bus never carries 3 when TAKE goes down.\n"
        "              over levels alone it holds (no step from any quiet moment); 0.12 s\n"
        "              because it rests on pins that are not clean: glitch:U2.11\n"
        "  UNDECIDED   taken: U2.R[0]\n"
        "              no run of up to 10 steps gets there; 0.12 s\n"
        "              because out of time\n"
    ) in text
    assert text.endswith(
        "two-sources: UNDECIDED. Next: see what stands in the way of not-three and taken, above; "
        "what ran out\n  of time may be decided with a longer --time-limit.\n"
    )


def test_checks_of_which_the_same_is_to_be_said_are_told_together(tmp_path: Path) -> None:
    """Three and more; no longer time limit is proposed where time was not the matter."""
    made = report(
        tmp_path,
        "undecided",
        QUIET,
        *(
            result(f"dead:SW1[{n}]", "undecided", says="It matters.", because=INTERRUPTED)
            for n in (1, 2, 3)
        ),
        result("dead:MODE", "undecided", because="it is not known", steps=4),
        result("race:U2.11", "undecided", says="It stands still.", because=INTERRUPTED),
    )
    text = listing(made, PLAIN, path="two.yaml")
    assert (
        "  UNDECIDED   dead: SW1[1], SW1[2] and SW1[3]\n"
        "              interrupted before it was finished\n"
        "  UNDECIDED   dead:MODE\n"
        "              no run of up to 4 steps gets there\n"
        "              it is not known\n"
        "  UNDECIDED   race:U2.11: It stands still.\n"
        "              interrupted before it was finished\n"
    ) in text
    assert text.endswith(
        "two-sources: UNDECIDED. Next: see what stands in the way of dead:SW1[1] and 4 more, "
        "above; run it\n  again for what was interrupted.\n"
    )


def test_what_fails_without_a_run_breaks_in_no_step() -> None:
    dead = result("dead:SW1", "fails", because="SW1 does nothing", steps=1)
    assert how(dead) == ""


def test_a_formula_that_says_less_than_it_seems_is_told_so(tmp_path: Path) -> None:
    vacuous = result(
        "not-three",
        "holds",
        "assert",
        "Never 3.",
        method="no step from any quiet moment",
        vacuous=("MODE == SET",),
    )
    unreachable = result("taken", "unreachable", "cover", "U2.R[0]", method="induction over 1 step")
    text = listing(report(tmp_path, "fail", vacuous, unreachable), PLAIN, path="two.yaml")
    assert (
        "  holds       not-three: Never 3.\n"
        "              proved: no step from any quiet moment; 0.12 s\n"
        "              Says less than it seems: 'MODE == SET' never comes true.\n"
        "  UNREACHABLE taken: U2.R[0]\n"
        "              proved that no run gets there: induction over 1 step; 0.12 s\n"
    ) in text
    assert text.endswith("two-sources: FAIL. Next: see why taken is unreachable, above.\n")


def test_a_cover_is_drawn_when_it_is_named_and_the_rest_is_said_to_be_left_out(
    tmp_path: Path,
) -> None:
    machine = b.machine_of(tmp_path, b.TWO_SOURCES)
    trace = b.walked(machine, [{"TAKE": (1,)}], start={"MODE": (1, 0)}, storage={"U2.R[0]": 0})
    covered = result("taken", "covered", "cover", "U2.R[0]", steps=1, trace=trace)
    made = report(tmp_path, "pass", covered)
    without = listing(made, PLAIN, path="two.yaml")
    assert "Run: " not in without
    named = listing(made, PLAIN, path="two.yaml", only=("taken",))
    assert named.startswith(
        "two-sources: pass\n  Pattern switches and a register on one bus\n"
        "  only taken and the wiring were looked at, and what that rests on.\n"
    )
    assert "              The run is below.\n\nRun: taken  reached in step 1\n  U2.R[0]\n" in named
    assert named.endswith(
        "two-sources: pass. Next: look at everything.\n  breadproof verify two.yaml\n"
    )


def test_a_listing_fits_a_narrow_terminal_and_colour_adds_nothing_but_colour(
    tmp_path: Path,
) -> None:
    made = report(tmp_path, "pass", *CLEAN, wiring=(finding(Severity.WARNING, 5),))
    narrow = listing(made, Page(width=60), path="board.yaml")
    assert max(len(line) for line in narrow.splitlines()) <= 60
    coloured = listing(made, Page(width=60, colour=True), path="board.yaml")
    assert "\x1b[32mpass\x1b[0m" in coloured
    assert "\x1b[33mWARNING\x1b[0m" in coloured
    plain = coloured
    for code in ("\x1b[0m", "\x1b[1m", "\x1b[31m", "\x1b[32m", "\x1b[33m", "\x1b[34m"):
        plain = plain.replace(code, "")
    assert plain == narrow
