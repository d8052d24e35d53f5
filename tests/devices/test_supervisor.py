"""Reset supervisors: reset from power-on, let go once, never again (common practice)."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from breadproof import cli
from breadproof.specs.load import load_machine
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.witness import confirms
from tests.devices.support import level, verdicts, watcher

FORMULAS = """\
assert:
  begins: {says: The first quiet moment is in reset., formula: "!rst_n"}
  once: {says: "Once let go, never reset again.", formula: "always (rst_n -> always rst_n)"}
  cleared: {says: The counter begins at zero., formula: "always (!rst_n -> U1.R == 0)"}
  counted: {says: "Until it lets go, nothing is counted.", formula: "U1.R == 0 until rst_n"}
cover:
  lets-go: {formula: "rst_n && prev(!rst_n)"}
  back: {formula: "!rst_n && prev(rst_n)"}
  counts: {formula: "U1.R == 3"}
"""


def board(output: str = "push-pull", rest: str = "", extra: str = "") -> str:
    """A counter that the supervisor clears."""
    return (
        f"parts:\n  U1: 74HC161\n  SUP: {{part: supervisor, output: {output}{rest}}}\n{extra}"
        "nets:\n  VCC: [U1.16, U1.7, U1.10, U1.9, SUP.VCC, R1.1]\n  GND: [U1.8, SUP.GND]\n"
        "  rst_n: [SUP.2, U1.1, R1.2]\n  clk: [U1.2]\n  data[3:0]: [U1.6, U1.5, U1.4, U1.3]\n"
        "ports: {clk: in, data: in}\n"
    ).replace("nets:", "  R1: {part: resistor, value: 4.7k}\nnets:")


@pytest.mark.parametrize("output", ["push-pull", "open-drain"])
def test_reset_begins_and_ends_once(tmp_path: Path, output: str) -> None:
    found = verdicts(tmp_path, board(output) + FORMULAS)
    assert {
        name: found[name] for name in ("begins", "once", "cleared", "counted")
    } == dict.fromkeys(("begins", "once", "cleared", "counted"), "holds")
    assert (found["lets-go"], found["back"]) == ("covered", "unreachable")
    assert found["counts"] == "covered"


def test_without_its_reset_the_counter_begins_anywhere(tmp_path: Path) -> None:
    """The same board with the clear pin tied high: what rested on the supervisor falls."""
    text = board().replace("rst_n: [SUP.2, U1.1, R1.2]", "rst_n: [SUP.2, R1.2]")
    text = text.replace("VCC: [", "VCC: [U1.1, ") + FORMULAS
    found = verdicts(tmp_path, text)
    assert (found["cleared"], found["counted"]) == ("fails", "fails")
    assert (found["begins"], found["once"]) == ("holds", "holds")


def test_active_high_resets_while_high(tmp_path: Path) -> None:
    text = (
        "parts:\n  SUP: {part: supervisor, output: push-pull, active: high}\n"
        "nets:\n  VCC: [SUP.3]\n  GND: [SUP.1]\n  rst: [SUP.RESET]\n"
        "assert:\n  begins: {formula: rst}\n  once: {formula: 'always (!rst -> always !rst)'}\n"
        "cover:\n  lets-go: {formula: '!rst'}\n"
    )
    found = verdicts(tmp_path, text)
    assert [found[name] for name in ("begins", "once", "lets-go")] == ["holds", "holds", "covered"]


MANUAL = (
    board(rest=", manual-reset: true", extra="  B: {part: push-button}\n")
    .replace("GND: [", "GND: [B.1, ")
    .replace("  clk:", "  mr_n: [B.2, SUP.MR_n]\n  clk:")
)


def test_a_manual_reset_resets_until_it_lets_go_again(tmp_path: Path) -> None:
    text = MANUAL + (
        "assert:\n  begins: {formula: '!rst_n'}\n  pressed: {formula: 'always (B -> !rst_n)'}\n"
        "  asked: {formula: 'always (rst_n -> next (rst_n || B))'}\n"
        "  held: {formula: 'never (rst_n && prev(B))'}\n"
        "cover:\n  back: {formula: '!rst_n && prev(rst_n)'}\n"
        "  longer: {formula: '!rst_n && prev(!B && !rst_n) && prev(B, 2)'}\n"
        "  twice: {formula: 'rst_n && prev(!rst_n, 1) && prev(B, 2) && prev(rst_n, 3)'}\n"
    )
    found = verdicts(tmp_path, text)
    names = ("begins", "pressed", "asked", "held")
    assert {found[name] for name in names} == {"holds"}
    assert {found[name] for name in ("back", "longer", "twice")} == {"covered"}


def test_an_open_manual_reset_is_pulled_up_inside(tmp_path: Path) -> None:
    """Neither a finding nor a reset."""
    text = board(rest=", manual-reset: true") + FORMULAS
    path = tmp_path / "board.yaml"
    found = verdicts(tmp_path, text)
    assert (found["begins"], found["once"], found["back"]) == ("holds", "holds", "unreachable")
    assert path.exists()


def test_steps_by_hand(tmp_path: Path) -> None:
    """Each change of the moment SUP.T lets it go; a press takes it back until the next one."""
    walk = watcher(tmp_path, MANUAL)
    seen = [level(walk, "rst_n")]
    for change in (
        {"SUP.T": (1,)}, {"SUP.T": (0,)}, {"B": (1,)}, {"SUP.T": (1,)}, {"B": (0,)},
        {"clk": (1,)}, {"SUP.T": (0,)}, {"SUP.T": (1,)},
    ):  # fmt: skip
        walk.step(change)
        seen.append(level(walk, "rst_n"))
    assert seen == [0, 1, 1, 0, 0, 0, 0, 1, 1]


def test_a_story_says_that_it_lets_go(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "board.yaml"
    text = board() + "assert:\n  never: {says: It never lets go., formula: 'never rst_n'}\n"
    path.write_text("board: cue-panel\n" + text, "utf-8")
    assert cli.main(["verify", str(path)]) == 1
    assert "  step 1  SUP: the supervisor lets go\n" in capsys.readouterr().out


def test_a_run_that_begins_let_go_is_no_run(tmp_path: Path) -> None:
    """The witness that walks every run again refuses one that comes up in another way."""
    path = tmp_path / "board.yaml"
    text = board() + "assert:\n  never: {formula: 'never (clk && rst_n)'}\n"
    path.write_text("board: cue-panel\n" + text, "utf-8")
    machine = load_machine(path)
    _, results = prove_board(machine, seconds=20)
    (found,) = [one for one in results if one.name == "never"]
    assert found.trace is not None
    assert confirms(machine, "never", found.trace)
    for label in ("SUP.UP[0]", "SUP.DOWN[0]"):
        storage = {**found.trace.storage, label: 1}
        assert not confirms(machine, "never", replace(found.trace, storage=storage))


RC = """\
parts:
  U1: 74HC14
  R1: {{part: resistor, value: 100k}}
  C1: {{part: capacitor, value: 1u}}
  B: {{part: push-button}}
nets:
  VCC: [U1.14, R1.1{}]
  GND: [U1.7, C1.2{}]
  x: [R1.2, C1.1, B.2, U1.1]
assert:
  empty: {{formula: "!x"}}
"""


@pytest.mark.parametrize(
    ("vcc", "gnd", "verdict"), [("", ", B.1", "holds"), (", B.1", "", "fails")]
)
def test_what_a_button_may_have_done_before_the_first_quiet_moment_counts(
    tmp_path: Path, vcc: str, gnd: str, verdict: str
) -> None:
    """A capacitor begins empty; a button that discharges it keeps it so, one that charges it, if
    it is pressed while power comes on, does not."""
    assert verdicts(tmp_path, RC.format(vcc, gnd))["empty"] == verdict
