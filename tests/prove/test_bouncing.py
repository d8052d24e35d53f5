"""Formulas over contacts that bounce.

What each formula is worth is found twice: by hand, from common practice (P. Horowitz and W. Hill,
The Art of Electronics, on switch bounce: a counter that a bare button clocks counts several times a
press; a latch of two NAND gates behind a change-over switch changes once), and by a search of all
moments in which fingers and contacts are two things from the start (`tests.support.fingers`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import pytest

from breadproof.export.replay import replay
from breadproof.export.simulate import Bench
from breadproof.specs.machine.build import build_machine
from breadproof.specs.reading.diagnostics import Problems
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.report.listing import listing
from breadproof.verify.report.page import Page
from breadproof.verify.verify_board import verify_board
from tests.prove.test_reset import CASES as RESETS
from tests.prove.test_reset import results, text_of, unknown
from tests.random_boards.running import machine_of
from tests.support.brute import Space
from tests.support.fingers import Broken, FingerExplorer, View, shortest

BARE = """
board: cue-panel
parts:
  U1: 74HC74
  GO: push-button
  R1: {part: resistor, value: 1k}
nets:
  VCC: [U1.14, U1.1, U1.4, U1.10, U1.13, R1.1]
  GND: [U1.7, U1.11, U1.12, GO.1]
  go_n: [R1.2, GO.2, U1.3]
  q: U1.5
  q_n: [U1.6, U1.2]
bounces: GO
"""
LATCHED = """
board: cue-panel
parts:
  U1: 74HC74
  U2: 74HC00
  GO: {part: spdt, positions: [UP, DOWN]}
  R1: {part: resistor, value: 1k}
  R2: {part: resistor, value: 1k}
nets:
  VCC: [U1.14, U1.1, U1.4, U1.10, U1.13, U2.14, R1.1, R2.1]
  GND: [U1.7, U1.11, U1.12, U2.7, U2.9, U2.10, U2.12, U2.13, GO.2]
  up_n: [R1.2, GO.1, U2.1]
  down_n: [R2.2, GO.3, U2.5]
  up: [U2.3, U2.4]
  down: [U2.6, U2.2, U1.3]
  q: U1.5
  q_n: [U1.6, U1.2]
bounces: [GO]
"""
SMOOTHED = """
board: cue-panel
parts:
  U1: 74HC74
  U2: 74HC14
  GO: push-button
  R1: {part: resistor, value: 100k}
  C1: {part: capacitor, value: 1u}
nets:
  VCC: [U1.14, U1.1, U1.4, U1.10, U1.13, U2.14, R1.1]
  GND: [U1.7, U1.11, U1.12, U2.7, U2.3, U2.5, U2.9, U2.11, U2.13, GO.1, C1.2]
  go_n: [R1.2, GO.2, C1.1, U2.1]
  go: [U2.2, U1.3]
  q: U1.5
  q_n: [U1.6, U1.2]
bounces: [GO]
"""
CLEARED = """
board: cue-panel
parts:
  U1: 74HC74
  GO: push-button
  R1: {part: resistor, value: 1k}
nets:
  VCC: [U1.14, U1.4, U1.10, U1.13, R1.1, U1.2]
  GND: [U1.7, U1.11, U1.12, GO.1]
  go_n: [R1.2, GO.2, U1.1]
  clk: U1.3
  q: U1.5
ports: {clk: in}
bounces: [GO]
"""


def was(before: View | None, now: View, name: str) -> tuple[int, ...]:
    """IEEE 1850: in the first step prev(x) is x."""
    return now[name] if before is None else before[name]


def changed(before: View | None, now: View, *names: str) -> bool:
    return any(was(before, now, name) != now[name] for name in names)


def fell(before: View | None, now: View, name: str) -> bool:
    return was(before, now, name)[0] == 1 and now[name][0] == 0


def rose(before: View | None, now: View, name: str) -> bool:
    return was(before, now, name)[0] == 0 and now[name][0] == 1


def gets_down(before: View | None, now: View) -> bool:
    return was(before, now, "GO") != (0, 1) and now["GO"] == (0, 1)


@dataclass(frozen=True, slots=True)
class Claim:
    """A formula, when a step breaks it, and in how many steps a run first does; None: it holds."""

    formula: str
    broken: Broken
    steps: int | None


CLAIMS = {
    # go_n rises when the button is let go, or when its contact opens while it is pressed
    "once a press": (
        BARE,
        Claim(
            "always (!fell(GO) -> stable(q))",
            lambda b, n: not fell(b, n, "GO") and changed(b, n, "q"),
            2,
        ),
    ),
    "each release": (
        BARE,
        Claim(
            # pressed, opened by a bounce (that counts), let go: nothing rises any more
            "always (fell(GO) -> !stable(q))",
            lambda b, n: fell(b, n, "GO") and not changed(b, n, "q"),
            3,
        ),
    ),
    "once behind a latch": (
        LATCHED,
        Claim(
            "always (!rose(GO == DOWN) -> stable(q))",
            lambda b, n: not gets_down(b, n) and changed(b, n, "q"),
            None,
        ),
    ),
    "from up to down": (
        LATCHED,
        Claim(
            "always (rose(GO == DOWN) && prev(GO == UP) -> !stable(q))",
            lambda b, n: was(b, n, "GO") == (1, 0) and gets_down(b, n) and not changed(b, n, "q"),
            None,
        ),
    ),
    "the latch follows": (
        LATCHED,
        Claim(
            "always (GO == DOWN -> down)", lambda b, n: n["GO"] == (0, 1) and not n["down"][0], None
        ),
    ),
    "never both": (
        LATCHED,
        Claim(
            "never (!up_n && !down_n)", lambda b, n: not n["up_n"][0] and not n["down_n"][0], None
        ),
    ),
    "never back to the other": (
        LATCHED,
        Claim(
            "never (GO == DOWN && !up_n)", lambda b, n: n["GO"] == (0, 1) and not n["up_n"][0], None
        ),
    ),
    "the contact leaves its place": (
        LATCHED,
        Claim(
            "always (GO == DOWN -> !down_n)",
            lambda b, n: n["GO"] == (0, 1) and n["down_n"][0] == 1,
            2,
        ),
    ),
    # let go, charged, closed once more by a bounce: however long the capacitor takes, a bounce may
    # take longer
    "once behind a capacitor": (
        SMOOTHED,
        Claim(
            "always (!rose(GO) -> stable(q))",
            lambda b, n: not rose(b, n, "GO") and changed(b, n, "q"),
            3,
        ),
    ),
    "still cleared": (
        CLEARED,
        Claim("always (GO -> !q)", lambda b, n: n["GO"] == (1,) and n["q"] == (1,), 3),
    ),
    "cleared at once": (
        CLEARED,
        Claim("always (rose(GO) -> !q)", lambda b, n: rose(b, n, "GO") and n["q"] == (1,), None),
    ),
}


@cache
def searched(text: str) -> Space:
    """All moments of a board whose contacts and fingers are two things from the start."""
    machine = machine_of(text)
    plain = build_machine(replace(machine.wired, bounces=()), Problems())
    space = FingerExplorer(plain.netlist, machine.wired.bounces).explore()
    assert not space.never_quiet
    return space


@pytest.mark.parametrize("name", CLAIMS)
def test_claims(name: str) -> None:
    text, claim = CLAIMS[name]
    assert shortest(searched(text), claim.broken) == claim.steps
    machine = machine_of(f'{text}assert:\n  claim: "{claim.formula}"\n')
    _, results = prove_board(machine, seconds=30)
    result = next(one for one in results if one.name == "claim")
    if claim.steps is None:
        assert result.verdict == "holds"
        return
    assert (result.verdict, result.steps) == ("fails", claim.steps)
    assert result.trace is not None
    assert replay(machine.netlist, result.trace, Bench(machine.netlist)).agrees


@pytest.mark.parametrize("name", RESETS)
def test_resets(tmp_path: Path, name: str) -> None:
    """A button alone that resets: its bounces before the last closing make no difference."""
    found = results(tmp_path, f"{text_of(tmp_path, name)}bounces: CLR\n")
    assert {what: unknown(one) for what, one in found.items()} == RESETS[name][3]
    assert all((one.verdict == "fails") == bool(unknown(one)) for one in found.values())


def test_a_reset_with_clocks_and_bounces_is_left_open(tmp_path: Path) -> None:
    """A counter that a clock clears; bounces between the clocks are not played."""
    text = """
board: cue-panel
parts:
  U1: 74LS163
  CLR: push-button
  X1: {part: oscillator, frequency: 1 MHz}
  R1: {part: resistor, value: 1k}
nets:
  VCC: [U1.16, X1.14, R1.1]
  GND: [U1.8, X1.7, CLR.1]
  clear_n: [R1.2, CLR.2, U1.1]
  clk: [X1.8, U1.2]
reset: {press: CLR, clocks: 2}
"""
    assert results(tmp_path, text)["U1.R"].verdict == "holds"
    found = results(tmp_path, f"{text}bounces: CLR\n")["U1.R"]
    assert found.verdict == "undecided"
    assert found.because.startswith("CLR bounces")


ENDLESS = """
board: cue-panel
parts:
  U1: 74HC14
  GO: push-button
  IDLE: push-button
  R1: {part: resistor, value: 1k}
  R2: {part: resistor, value: 1k}
nets:
  VCC: [U1.14, R1.1, R2.1]
  GND: [U1.7, U1.5, U1.9, U1.11, U1.13, GO.1, IDLE.1]
  go_n: [R1.2, GO.2, U1.1]
  idle_n: [R2.2, IDLE.2, U1.3]
  go: U1.2
ports: {go: out}
bounces: [GO, IDLE]
assert:
  at-last: "always (GO -> eventually! (go || !GO))"
  pressed: "always eventually! GO"
  gone: "always (rose(GO) -> eventually! !go)"
  told: "always eventually! (go == GO || go != GO)"
"""


def test_no_contact_bounces_for_ever() -> None:
    """Found by hand: at-last holds of each real contact, since it comes to rest. Here that is left
    open, and never shown to fail; nobody needs to press a button, or let it go."""
    machine = machine_of(ENDLESS)
    _, found = prove_board(machine, only=("at-last", "pressed", "gone", "told"), seconds=20)
    verdicts = {one.name: one.verdict for one in found}
    assert verdicts == {
        "at-last": "undecided",
        "pressed": "fails",
        "gone": "fails",
        "told": "holds",
    }
    for one in found:
        if one.trace is not None:
            assert replay(machine.netlist, one.trace, Bench(machine.netlist)).agrees
        if one.name == "at-last":
            assert one.because.endswith("goes round if a contact bounces for ever, which none does")


def test_a_button_that_does_nothing_is_dead_however_it_bounces() -> None:
    _, found = prove_board(machine_of(ENDLESS), only=("dead:GO", "dead:IDLE"), seconds=20)
    assert {one.name: one.verdict for one in found} == {"dead:GO": "holds", "dead:IDLE": "fails"}


def test_told_in_words(tmp_path: Path) -> None:
    path = tmp_path / "board.yaml"
    path.write_text(f'{BARE}assert:\n  once: "always (!fell(GO) -> stable(q))"\n', "utf-8")
    text = listing(verify_board(path), Page(width=100), path="board.yaml")
    assert "  step 2  GO bounces while GO is pressed" in text
    assert "  - GO bounces: once a finger moved it" in text
    assert "/contact" not in text


WRITTEN = """
board: cue-panel
parts:
  U1: 6116
  U2: 74HC00
  GO: {part: spdt, positions: [UP, DOWN]}
  R1: {part: resistor, value: 1k}
  R2: {part: resistor, value: 1k}
nets:
  VCC: [U1.24, U1.OE_n, U2.14, R1.1, R2.1]
  GND:
    - U1.[12, CS_n, A1, A2, A3, A4, A5, A6, A7, A8, A9, A10]
    - U1.[IO7, IO6, IO5, IO4, IO3, IO2, IO1, IO0]
    - U2.[7, 9, 10, 12]
    - GO.2
  up_n: [R1.2, GO.1, U2.1]
  down_n: [R2.2, GO.3, U2.5]
  up: [U2.3, U2.4, U1.A0]
  down: [U2.6, U2.2, U2.13]
  we_n: [U1.WE_n]
ports: {we_n: in}
bounces: [GO]
assume:
  still: "always (!we_n || prev(!we_n) -> stable(GO == UP) && stable(GO == DOWN))"
"""


def test_what_a_contact_remembers_is_no_race() -> None:
    """While the memory writes the finger stands still. Its contact bounces all the same, and the
    latch behind it does not: the address, which is its output, stands still."""
    _, found = prove_board(machine_of(WRITTEN), only=("race:U1.21",), seconds=20)
    assert [one.verdict for one in found] == ["holds"]


def test_a_contact_that_bounces_while_a_memory_writes_is_a_race() -> None:
    """The same without the latch: the address is the contact."""
    text = WRITTEN.replace("up: [U2.3, U2.4, U1.A0]", "up: [U2.3, U2.4]")
    text = text.replace("up_n: [R1.2, GO.1, U2.1]", "up_n: [R1.2, GO.1, U2.1, U1.A0]")
    _, found = prove_board(machine_of(text), only=("race:U1.21",), seconds=20)
    assert [one.verdict for one in found] == ["fails"]
