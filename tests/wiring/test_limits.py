"""The level and pull rules by class of output, Schmitt-trigger input and supply.

Numbers: the project's trade numbers; open collectors, Schmitt thresholds, LVC and the 4000 series
from memory of the data books. Each is written out beside the board that it decides.
"""

import pytest

from tests.wiring.conftest import Check

C = "  C1: {part: capacitor, value: 100n}\n  C2: {part: capacitor, value: 100n}\n"
SECOND = "U2.3, U2.5, U2.9, U2.11, U2.13"


def _hex(first: str, second: str, *, pull: str = "", supply: str = "") -> str:
    """A hex part drives a hex inverter; ``pull`` is the value of a resistor to the supply."""
    parts = f"  R1: {{part: resistor, value: {pull}}}\n" if pull else ""
    up, end = (", R1.1", ", R1.2") if pull else ("", "")
    return (
        f"{supply}parts:\n  U1: {first}\n  U2: {second}\n{C}{parts}"
        f"nets: {{VCC: [U1.14, U2.14, C1.1, C2.1{up}], GND: [U1.7, U2.7, C1.2, C2.2, "
        f"U1.3, U1.5, U1.9, U1.11, U1.13, {SECOND}], "
        f"step: [U1.1], middle: [U1.2, U2.1{end}], lamp: [U2.2]}}\n"
        "ports: {step: in, lamp: out}\n"
    )


@pytest.mark.parametrize(
    ("first", "second", "message"),
    [
        ("7407", "74LS04", None),  # 0.7 V against 0.8 V
        (
            "7407",
            "74LS14",
            "U1.2 (Y1), a 7407, guarantees only 0.7 V as a low on net 'middle'; "
            "U2.1 (A1), a 74LS14, needs 0.5 V at most",
        ),
        ("74LS05", "74LS14", None),  # 0.5 V against 0.5 V
        ("7407", "74HC14", None),  # 0.7 V against 1 V
        (
            "7407",
            "74HCT14",
            "U1.2 (Y1), a 7407, guarantees only 0.7 V as a low on net 'middle'; "
            "U2.1 (A1), a 74HCT14, needs 0.5 V at most",
        ),
    ],
)
def test_lows_of_open_collectors(
    check: Check, first: str, second: str, message: str | None
) -> None:
    found = check(_hex(first, second, pull="1k"))
    assert [f.message for f in found] == ([] if message is None else [message])
    assert all((f.code, f.span.line) == ("level-mismatch", 8) for f in found)
    assert all(f.pins == ("U1.2", "U2.1") for f in found)


def test_a_low_of_a_bus_driver_that_is_none_for_a_schmitt_trigger(check: Check) -> None:
    """F bus drivers: 0.55 V; LS14: 0.5 V."""
    tied = ", ".join(f"U1.{pin}" for pin in (4, 6, 8, 11, 13, 15, 17, 19))
    board = (
        f"parts:\n  U1: 74F244\n  U2: 74LS14\n{C}nets: {{VCC: [U1.20, U2.14, C1.1, C2.1], "
        f"GND: [U1.10, U1.1, {tied}, U2.7, C1.2, C2.2, {SECOND}], "
        "step: [U1.2], middle: [U1.18, U2.1], lamp: [U2.2]}\nports: {step: in, lamp: out}\n"
    )
    (found,) = check(board)
    assert (found.code, found.pins) == ("level-mismatch", ("U1.18", "U2.1"))
    assert "guarantees only 0.55 V as a low" in found.message
    assert not check(board.replace("74LS14", "74LS04"))
    assert not check(board.replace("74F244", "74ALS244"))


def test_what_an_open_collector_that_lets_go_takes_counts(check: Check) -> None:
    """LS05: 100 uA. 4.75 V - 10k x (100 uA + 1 uA) = 3.74 V, HC needs 3.5 V; 7405: 250 uA."""
    assert not check(_hex("74LS05", "74HC04", pull="10k"))
    (found,) = check(_hex("7405", "74HC04", pull="10k"))
    assert found.code == "pull-weak"
    assert found.message == (
        "R1 (10k) cannot pull net 'middle' up to 'VCC': U1.2 (Y1) and U2.1 (A1) may take 0.25 mA "
        "together, which drops the net to 2.24 V; U2.1 (A1) needs 3.5 V at least for a high"
    )
    assert found.pins == ("U1.2", "U2.1")
    assert found.hint == "Use 4.9k or less."  # 1.25 V / 251 uA = 4.98k
    assert not check(_hex("7405", "74HC04", pull="4.7k"))


@pytest.mark.parametrize(
    ("first", "second", "supply", "codes"),
    [
        ("74HC04", "74HC04", "", []),
        ("74LVC04", "74LVC04", "supply: 3.3 V\n", []),  # 2.935 V, 2.0 V
        ("74LVC04", "74LVC04", "", ["supply-voltage", "supply-voltage"]),  # made for 3.6 V
        ("74AHC04", "74HC04", "", []),  # 4.75 V - 0.1 V, 3.5 V
        ("74AHCT04", "74AC04", "", []),
        ("74LS04", "74AHC04", "", ["level-mismatch"]),  # 2.7 V, 3.5 V
        ("74LS04", "74AHCT04", "", []),
        ("74LS04", "40106B", "", ["level-mismatch"]),  # 2.7 V, 4.3 V
        ("74HC04", "40106B", "", []),  # 4.75 V - 0.1 V, 4.3 V
        ("40106B", "74HC04", "", []),  # 4.75 V - 0.05 V, 3.5 V
        ("40106B", "40106B", "supply: 12 V\n", []),  # 11.4 V - 0.05 V, 10.3 V
        ("54LS04", "74LS14", "", []),  # 0.4 V, 0.5 V
        ("54HC04", "74HC04", "", []),  # 4.75 V - 0.1 V, 3.5 V
    ],
)
def test_more_families(
    check: Check, first: str, second: str, supply: str, codes: list[str]
) -> None:
    assert [f.code for f in check(_hex(first, second, supply=supply))] == codes


@pytest.mark.parametrize(
    ("more", "volts"),
    [
        ("", None),  # one CMOS input: 4.75 V - 0.1 V at 20 uA (JEDEC JESD7-A), 4.3 V
        (", R1.1", "4.09 V"),  # a resistor: 3.84 V + 0.25 V (trade numbers)
        (", U3.1", "4.09 V"),  # an LS input: 0.4 mA
    ],
)
def test_a_cmos_output_with_hardly_any_load(check: Check, more: str, volts: str | None) -> None:
    """A high needs 4.3 V at the 40106B of one maker."""
    found = check(
        f"parts:\n  U1: 74HC04\n  U2: 40106B\n  U3: 74LS04\n{C}"
        "  C3: {part: capacitor, value: 100n}\n  R1: {part: resistor, value: 10k}\n"
        "nets: {VCC: [U1.14, U2.14, U3.14, C1.1, C2.1, C3.1], GND: [U1.7, U2.7, U3.7, C1.2, C2.2, "
        f"C3.2, R1.2, U1.3, U1.5, U1.9, U1.11, U1.13, {SECOND}], step: [U1.1], "
        f"middle: [U1.2, U2.1{more}], lamp: [U2.2]}}\nports: {{step: in, lamp: out}}\n"
    )
    found = tuple(f for f in found if f.code == "level-mismatch")
    assert len(found) == (volts is not None)
    assert all(f"guarantees only {volts} as a high" in f.message for f in found)


@pytest.mark.parametrize(("value", "fits"), [("470k", True), ("1.5M", False)])
def test_a_pull_up_on_a_lower_supply(check: Check, value: str, fits: bool) -> None:
    """HC at 3.3 V: V_IH between 1.5 V (2 V) and 3.15 V (4.5 V), 2.36 V; 3.135 V - R x 1 uA."""
    board = (
        f"supply: 3.3 V\nparts:\n  U1: 74HC04\n{C}  B: {{part: push-button}}\n"
        f"  R1: {{part: resistor, value: {value}}}\n"
        "nets: {VCC: [U1.14, C1.1, C2.1, R1.1], GND: [U1.7, C1.2, C2.2, B.1, "
        "U1.3, U1.5, U1.9, U1.11, U1.13], wire: [B.2, R1.2, U1.1], lamp: [U1.2]}\n"
        "ports: {lamp: out}\n"
    )
    assert [f.code for f in check(board)] == ([] if fits else ["pull-weak"])


def test_outputs_that_are_off_load_a_pull(check: Check) -> None:
    """I_OZ of LS, 20 uA each: 4.75 V - 100k x 41 uA = 0.65 V; 4.75 V - 22k x 41 uA = 3.85 V."""

    def board(value: str) -> str:
        return (
            f"parts:\n  U1: 74LS125\n  U2: 74HC04\n{C}"
            f"  R1: {{part: resistor, value: {value}}}\n"
            "nets: {VCC: [U1.14, U2.14, C1.1, C2.1, R1.1], "
            f"GND: [U1.7, U2.7, C1.2, C2.2, {SECOND}, U1.9, U1.10, U1.12, U1.13], "
            "a: [U1.2], b: [U1.5], ga: [U1.1], gb: [U1.4], bus: [U1.3, U1.6, R1.2, U2.1], "
            "lamp: [U2.2]}\nports: {a: in, b: in, ga: in, gb: in, lamp: out}\n"
        )

    found = [f for f in check(board("100k")) if f.code == "pull-weak"]
    assert [f.pins for f in found] == [("U1.3", "U1.6", "U2.1")]
    assert "may take 41 uA together" in found[0].message
    assert not [f for f in check(board("22k")) if f.code == "pull-weak"]


def test_the_voltage_of_a_part_that_has_its_own_limits(check: Check) -> None:
    """62256: 4.5 V to 5.5 V (from memory)."""
    address = ", ".join(f"U1.A{bit}" for bit in range(15))
    data = ", ".join(f"d{bit}: [U1.IO{bit}]" for bit in range(8))
    found = check(
        "supply: 3.3 V\nparts:\n  U1: 62256\n  C1: {part: capacitor, value: 100n}\n"
        f"nets: {{VCC: [U1.28, C1.1, U1.27], GND: [U1.14, C1.2, {address}, U1.20, U1.22], "
        f"{data}}}\n"
        "ports: {d0: both, d1: both, d2: both, d3: both, d4: both, d5: both, d6: both, d7: both}\n"
    )
    assert [f.message for f in found if f.code == "supply-voltage"] == [
        "U1, a 62256, is on 3.3 V at U1.28 (VCC); it is made for 4.5 V to 5.5 V"
    ]


def test_a_bare_number_of_the_boards_family_is_told_by_its_full_name(check: Check) -> None:
    (found,) = check(
        "family: HC\nparts:\n  U1: '37'\n  C1: {part: capacitor, value: 100n}\n"
        "nets: {VCC: [U1.14, C1.1], GND: [U1.7, C1.2, U1.4, U1.5, U1.9, U1.10, U1.12, U1.13], "
        "a: [U1.1, U1.2], lamp: [U1.3]}\nports: {a: in, lamp: out}\n"
    )
    assert (found.code, found.severity.value, found.pins, found.net) == (
        "family-unknown",
        "warning",
        (),
        None,
    )
    assert (found.span.line, found.span.column) == (4, 3)
    assert found.message.startswith("U1 is a 74HC37, and a 37 is not known to exist in the HC")
    assert found.hint == (
        "Check what is printed on the chip, or take a 7437, 74LS37, 74ALS37, 74F37 or 74S37."
    )
