"""Outputs on each other, on rails and with no pull-up; levels between families (data books)."""

from dataclasses import replace
from pathlib import Path

import pytest

from breadproof.specs.load import load_netlist
from breadproof.verify.wiring.registry import check_wiring
from tests.wiring.conftest import Check

C = "  C1: {part: capacitor, value: 100n}\n  C2: {part: capacitor, value: 100n}\n"
TIED = "U2.3, U2.5, U2.9, U2.11, U2.13"


def _pair(first: str, second: str, more_parts: str = "", vcc: str = "", net: str = "") -> str:
    """An inverter drives another."""
    tied = "U1.3, U1.5, U1.9, U1.11, U1.13"
    return (
        f"parts:\n  U1: {first}\n  U2: {second}\n{C}{more_parts}"
        f"nets: {{VCC: [U1.14, U2.14, C1.1, C2.1{vcc}], GND: [U1.7, U2.7, C1.2, C2.2, {tied}, "
        f"{TIED}], step: [U1.1], middle: [U1.2, U2.1{net}], lamp: [U2.2]}}\n"
        "ports: {step: in, lamp: out}\n"
    )


@pytest.mark.parametrize(
    ("first", "second", "fits"),
    [
        # Guaranteed levels of the data books: V_OH of the first against V_IH of the second.
        ("74LS04", "74LS04", True),
        ("74LS04", "74HC04", False),  # 2.7 V, 3.5 V
        ("7404", "74HC04", False),  # 2.4 V
        ("74S04", "74AC04", False),
        ("74ALS04", "74HC04", False),
        ("74F04", "74HC04", False),
        ("74LS04", "74HCT04", True),  # 2.0 V
        ("74LS04", "74ACT04", True),
        ("74HC04", "74LS04", True),
        ("74HC04", "74HC04", True),  # 3.84 V, 3.5 V
        ("74HCT04", "74AC04", True),
    ],
)
def test_highs_between_families(check: Check, first: str, second: str, fits: bool) -> None:
    assert [f.code for f in check(_pair(first, second))] == ([] if fits else ["level-mismatch"])


def test_a_pull_up_mends_a_bipolar_high(check: Check) -> None:
    # Common practice; an output whose high lets go at 2.7 V is pulled on by the resistor.
    pull = "  R1: {part: resistor, value: 4k7}\n"
    assert not check(_pair("74LS04", "74HC04", pull, ", R1.1", ", R1.2"))


def test_a_memory_drives_hc_inputs_too_low(check: Check) -> None:
    # V_OH 2.4 V at least (data book, from memory) against 3.5 V.
    address = ", ".join(f"U1.A{bit}" for bit in range(11))
    (found,) = check(
        f"parts:\n  U1: 6116\n  U2: 74HC04\n{C}"
        f"nets: {{VCC: [U1.24, U1.21, U2.14, C1.1, C2.1], GND: [U1.12, {address}, U1.18, U1.20, "
        f"U2.7, C1.2, C2.2, {TIED}], bit: [U1.9, U2.1], lamp: [U2.2]}}\nports: {{lamp: out}}\n"
    )
    assert found.code == "level-mismatch"
    assert found.pins == ("U1.9", "U2.1")
    assert "guarantees only 2.4 V as a high" in found.message


def test_between_two_rails(check: Check) -> None:
    # HC at 3 V gives CMOS inputs 2.85 V - 0.1 V; HC at 5 V needs 3.5 V, HCT 2.0 V (data books).
    rails = _pair("74HC04", "74HC04").replace("VCC: [U1.14, ", "LOW: [U1.14], VCC: [")
    found = check("rails: {LOW: 3 V}\n" + rails)
    assert [f.code for f in found if f.code != "decoupling-missing"] == ["level-mismatch"]
    assert "guarantees only 2.75 V as a high" in next(
        f.message for f in found if f.code == "level-mismatch"
    )
    found = check("rails: {LOW: 3 V}\n" + rails.replace("U2: 74HC04", "U2: 74HCT04"))
    assert [f.code for f in found if f.code != "decoupling-missing"] == []


def test_a_low_that_is_none(tmp_path: Path) -> None:
    # No two families of the tables fail on the low side, so one input is made pickier here. It
    # asks for 0.4 mA; LS: 0.4 V at 4 mA (data book, from memory).
    path = tmp_path / "board.yaml"
    path.write_text("board: stage\n" + _pair("74LS04", "74LS04"), "utf-8")
    netlist = load_netlist(path)
    parts = []
    for part in netlist.parts:
        if part.name == "U2" and part.family is not None:
            picky = replace(part.family, inputs=replace(part.family.inputs, v_il=0.3))
            part = replace(part, family=picky)
        parts.append(part)
    (found,) = [
        f for f in check_wiring(replace(netlist, parts=tuple(parts))) if f.severity.value != "note"
    ]
    assert found.code == "level-mismatch"
    assert found.message == (
        "U1.2 (Y1), a 74LS04, guarantees only 0.4 V as a low on net 'middle'; "
        "U2.1 (A1), a 74LS04, needs 0.3 V at most"
    )


def test_all_pins_that_a_level_fails_are_named(check: Check) -> None:
    (found,) = check(_pair("74LS04", "74HC04", net=", U2.3").replace("U2.3, U2.5", "U2.5", 1))
    assert found.pins == ("U1.2", "U2.1", "U2.3")
    assert found.message.endswith("needs 3.5 V at least (as does U2.3 (A2))")


def test_an_output_and_an_input_port(check: Check) -> None:
    board = _pair("74LS04", "74LS04").replace("{step: in", "{middle: in, step: in")
    (found,) = check(board)
    assert found.code == "outputs-joined"
    assert found.message == (
        "U1.2 (Y1) and the input port 'middle' are joined in net 'middle', "
        "and each always drives it"
    )


def test_three_state_outputs_may_be_joined(check: Check) -> None:
    assert not check(
        f"parts:\n  U1: 74LS125\n{C}"
        "nets: {VCC: [U1.14, C1.1, C2.1], GND: [U1.7, C1.2, C2.2], a: [U1.2], b: [U1.5], "
        "ga: [U1.1], gb: [U1.4], bus: [U1.3, U1.6]}\n"
        "ports: {a: in, b: in, ga: in, gb: in, bus: out}\n"
    )


@pytest.mark.parametrize("kind", ["74LS04", "74LS125"])
def test_an_output_on_the_supply(check: Check, kind: str) -> None:
    pin = "2" if kind == "74LS04" else "3"
    inputs = "step: [U1.1]" if kind == "74LS04" else "step: [U1.1, U1.2]"
    (found,) = check(
        f"parts:\n  U1: {kind}\n{C}"
        f"nets: {{VCC: [U1.14, C1.1, C2.1, U1.{pin}], GND: [U1.7, C1.2, C2.2], {inputs}}}\n"
        "ports: {step: in}\n"
    )
    assert (found.code, found.pins) == ("output-on-rail", (f"U1.{pin}",))
    assert found.message.endswith("is wired straight to the supply rail 'VCC'")


def test_unused_bus_pins_of_a_transceiver_may_be_tied(check: Check) -> None:
    assert not check(
        f"parts:\n  U1: 74LS245\n{C}"
        "nets: {VCC: [U1.20, U1.1, C1.1, C2.1], GND: [U1.10, U1.19, C1.2, C2.2, U1.3, U1.4, U1.5, "
        "U1.6, U1.7, U1.8, U1.9], a: [U1.2], b: [U1.18]}\nports: {a: in, b: out}\n"
    )
