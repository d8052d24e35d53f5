"""Pins above what they bear. Ratings: data books, from memory (HC and AC: supply and 0.5 V)."""

import pytest

from tests.wiring.conftest import Check

C = "  C1: {part: capacitor, value: 100n}\n  C2: {part: capacitor, value: 100n}\n"
REST = "U1.3, U1.5, U1.9, U1.11, U1.13, U2.3, U2.5, U2.9, U2.11, U2.13"


def _two(first: str, second: str, wire: str, *, parts: str = "", nets: str = "") -> str:
    """A hex part on 5 V drives one on 3.3 V through what ``wire`` and ``nets`` say."""
    return (
        f"rails: {{V3: 3.3 V, V12: 12 V}}\nparts:\n  U1: {first}\n  U2: {second}\n{C}{parts}"
        f"nets:\n  VCC: [U1.14, C1.1]\n  V3: [U2.14, C2.1]\n"
        f"  GND: [U1.7, U2.7, C1.2, C2.2, {REST}]\n"
        f"  step: [U1.1]\n  wire: [{wire}]\n{nets}ports: {{step: in}}\n"
    )


@pytest.mark.parametrize(
    ("first", "second", "fires"),
    [
        ("74HC04", "74HC04", True),  # 3.8 V
        ("74LS04", "74HC04", True),
        ("74HC04", "74LVC04", False),  # 5.5 V
        ("74HC04", "74AHC04", False),
    ],
)
def test_five_volts_into_a_part_on_a_lower_supply(
    check: Check, first: str, second: str, fires: bool
) -> None:
    found = [f for f in check(_two(first, second, "U1.2, U2.1")) if f.code == "over-voltage"]
    assert len(found) == fires
    for finding in found:
        assert finding.severity.value == "error"
        assert finding.pins == ("U2.1", "U1.2")
        assert finding.message == (
            f"U2.1 (A1), a {second}, bears 3.8 V at most, and net 'wire' may be at 5 V: "
            f"U1.2 (Y1), a {first} on 5 V, drives it"
        )


def test_a_lower_supply_into_five_volts_is_fine(check: Check) -> None:
    board = _two("74HCT04", "74LVC04", "U2.2, U1.3").replace("U1.3, U1.5", "U2.1, U1.5")
    assert not [f for f in check(board) if f.code == "over-voltage"]


def test_buffers_whose_inputs_are_above_their_supply(check: Check) -> None:
    """HC4050: 15 V whatever its supply; supply is pin 1, ground pin 8."""
    board = (
        "rails: {V3: 3.3 V}\nparts:\n  U1: 74HC04\n  U2: KIND\n" + C + "nets:\n"
        "  VCC: [U1.14, C1.1]\n  V3: [U2.1, C2.1]\n  GND: [U1.7, U2.8, C1.2, C2.2, U1.3, U1.5, "
        "U1.9, U1.11, U1.13, U2.5, U2.7, U2.9, U2.11, U2.14]\n"
        "  step: [U1.1]\n  wire: [U1.2, U2.3]\nports: {step: in}\n"
    )
    for kind in ("74HC4050", "74HC4049"):
        assert not [f for f in check(board.replace("KIND", kind)) if f.code == "over-voltage"]


R1 = "  R1: {part: resistor, value: VALUE}\n"


@pytest.mark.parametrize(
    ("value", "severity"),
    [
        ("1k", "error"),  # (5.25 V - 3.8 V) / 1k = 1.45 mA
        ("10k", "warning"),
    ],
)
def test_a_series_resistor_keeps_the_current_small(check: Check, value: str, severity: str) -> None:
    board = _two(
        "74HC04",
        "74HC04",
        "U2.1, R1.1",
        parts=R1.replace("VALUE", value),
        nets="  out: [U1.2, R1.2]\n",
    )
    (found,) = [f for f in check(board) if f.code == "over-voltage"]
    assert (found.severity.value, found.pins[0]) == (severity, "U2.1")


@pytest.mark.parametrize(("low", "fires"), [("20k", False), ("100k", True)])
def test_a_divider_brings_it_down(check: Check, low: str, fires: bool) -> None:
    """10k over 20k: 3.33 V; 10k over 100k: 4.55 V."""
    board = _two(
        "74HC04",
        "74HC04",
        "U2.1, R1.1, R2.1",
        parts=R1.replace("VALUE", "10k") + f"  R2: {{part: resistor, value: {low}}}\n",
        nets="  out: [U1.2, R1.2]\n",
    ).replace("GND: [", "GND: [R2.2, ")
    found = [f for f in check(board) if f.code == "over-voltage"]
    assert [("may be at 4.55 V" in f.message) for f in found] == [True] * fires


@pytest.mark.parametrize(
    ("first", "rail", "bears"),
    [
        ("7405", "V12", 5.5),
        ("7416", "V12", None),
        ("7406", "V12", None),
        ("74HC05", "V12", 5.5),
        ("74LS05", "VCC", None),
    ],
)
def test_open_collectors_pulled_up(
    check: Check, first: str, rail: str, bears: float | None
) -> None:
    for lamp in (False, True):
        parts = R1.replace("VALUE", "10k")
        nets, end = "", "R1.2"
        if lamp:
            parts += "  D1: {part: led, colour: red}\n"
            nets, end = "  lit: [R1.2, D1.K]\n", "D1.A"
        if rail == "VCC":
            board = _two(first, "74HC04", "U1.2, R1.1", parts=parts, nets=nets)
            board = board.replace("VCC: [", f"VCC: [{end}, ")
        else:
            nets += f"  {rail}: [{end}]\n"
            board = _two(first, "74HC04", "U1.2, R1.1", parts=parts, nets=nets)
        board = board.replace("GND: [", "GND: [U2.1, ")
        found = [f for f in check(board) if f.code == "over-voltage"]
        assert len(found) == (bears is not None)
        for finding in found:
            assert finding.pins == ("U1.2",)
            assert "bears 5.5 V at most, and net 'wire' may be at 12 V" in finding.message


def test_an_input_behind_a_button_to_a_higher_rail(check: Check) -> None:
    board = _two(
        "74HC04",
        "74HC04",
        "U2.1, B1.1, R1.1",
        parts="  B1: {part: push-button}\n" + R1.replace("VALUE", "10k"),
    ).replace("GND: [", "GND: [R1.2, ")
    five = board.replace("VCC: [", "VCC: [B1.2, ")
    (found,) = [f for f in check(five) if f.code == "over-voltage"]
    assert "may be at 5 V: a switch brings it from 'VCC'" in found.message
    three = board.replace("V3: [", "V3: [B1.2, ", 1)
    assert not [f for f in check(three) if f.code == "over-voltage"]
