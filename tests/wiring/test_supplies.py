"""Supply pins, rails, voltages and decoupling. Facts of the trade are common practice."""

import pytest

from breadproof.specs.reading.diagnostics import Severity
from tests.wiring.conftest import Check

INVERTER = "  U1: 74LS04\n  C1: {part: capacitor, value: 100n}\n"


def test_a_chip_with_no_ground(check: Check) -> None:
    (found,) = check(
        f"parts:\n{INVERTER}"
        "nets: {VCC: [U1.14, C1.1], GND: [C1.2], step: [U1.1], lamp: [U1.2]}\n"
        "ports: {step: in, lamp: out}\n"
    )
    assert (found.code, found.pins, found.span.line) == ("supply-missing", ("U1.7",), 3)
    assert found.message == "U1 has no ground: U1.7 (GND) is on no net"


def test_a_chip_of_the_board_s_family_is_called_what_is_printed_on_it(check: Check) -> None:
    (found,) = check(
        'family: HC\nparts:\n  U1: "04"\n  C1: {part: capacitor, value: 100n}\n'
        "nets:\n  VCC: [U1.14, C1.1, U1.7]\n  GND: [C1.2, U1.3, U1.5, U1.9, U1.11, U1.13]\n"
        "  step: [U1.1]\n  lamp: [U1.2]\nports: {step: in, lamp: out}\n"
    )
    assert found.code == "supply-wrong-rail"
    assert found.message.startswith("U1.7 (GND) is the ground pin of a 74HC04, and is on")


def test_a_supply_pin_alone_on_a_net(check: Check) -> None:
    (found,) = check(
        f"parts:\n{INVERTER}"
        "nets: {VCC: [C1.1], GND: [U1.7, C1.2], plus: [U1.14], step: [U1.1], lamp: [U1.2]}\n"
        "ports: {step: in, lamp: out}\n"
    )
    assert (found.code, found.net) == ("supply-missing", "plus")
    assert found.message == "U1 has no supply: U1.14 (VCC) is alone on net 'plus'"


def test_a_supply_pin_on_a_signal(check: Check) -> None:
    (found,) = check(
        f"parts:\n{INVERTER}"
        "nets: {VCC: [C1.1], GND: [U1.7, C1.2], step: [U1.1], lamp: [U1.2, U1.14]}\n"
        "ports: {step: in}\n"
    )
    assert found.code == "supply-wrong-rail"
    assert found.message == (
        "U1.14 (VCC) is the supply pin of a 74LS04, and is on net 'lamp', which is no supply"
    )


@pytest.mark.parametrize("positions", ["[ON, OFF]", "[OFF, ON]"])
def test_a_power_switch_feeds_a_chip(check: Check, positions: str) -> None:
    assert not check(
        f"parts:\n{INVERTER}  POWER: {{part: spdt, positions: {positions}}}\n"
        "nets: {VCC: [POWER.1, C1.1], plus: [U1.14, POWER.2], GND: [U1.7, C1.2], step: [U1.1], "
        "lamp: [U1.2]}\nports: {step: in, lamp: out}\n"
    )


def test_an_oscillator_module_needs_its_supply_too(check: Check) -> None:
    found = check(
        f"parts:\n{INVERTER}  X1: {{part: oscillator, frequency: 1M}}\n"
        "nets: {VCC: [U1.14, C1.1], GND: [U1.7, X1.7, C1.2], beat: [X1.8, U1.1], lamp: [U1.2]}\n"
        "ports: {lamp: out}\n"
    )
    assert [(f.code, f.pins) for f in found] == [("supply-missing", ("X1.14",))]


@pytest.mark.parametrize(
    ("part", "volts", "fits"),
    [
        # Data books: LS 4.75-5.25 V, HCT 4.5-5.5 V, HC 2-6 V.
        ("74LS04", "4.75", True),
        ("74LS04", "4.7", False),
        ("74LS04", "5.3", False),
        ("74HCT04", "5.5", True),
        ("74HCT04", "3.3", False),
        ("74HC04", "2", True),
        ("74HC04", "6", True),
        ("74HC04", "9", False),
    ],
)
def test_the_voltages_of_the_families(check: Check, part: str, volts: str, fits: bool) -> None:
    found = check(
        f"supply: {volts} V\nparts:\n  U1: {part}\n  C1: {{part: capacitor, value: 100n}}\n"
        "nets: {VCC: [U1.14, C1.1], GND: [U1.7, U1.3, U1.5, U1.9, U1.11, U1.13, C1.2], "
        "step: [U1.1], lamp: [U1.2]}\nports: {step: in, lamp: out}\n"
    )
    assert [f.code for f in found] == ([] if fits else ["supply-voltage"])


@pytest.mark.parametrize(
    ("value", "counts"),
    [("10n", True), ("100n", True), ("1u", True), ("1n", False), ("4u7", False)],
)
def test_which_capacitors_count(check: Check, value: str, counts: bool) -> None:
    found = check(
        f"parts:\n  U1: 74LS04\n  C1: {{part: capacitor, value: {value}}}\n"
        "nets: {VCC: [U1.14, C1.1], GND: [U1.7, C1.2], step: [U1.1], lamp: [U1.2]}\n"
        "ports: {step: in, lamp: out}\n"
    )
    assert [f.code for f in found] == ([] if counts else ["decoupling-missing"])


def test_no_capacitor_at_all_is_told_once_for_the_board(check: Check) -> None:
    (found,) = check(
        "parts: {U1: 74LS04, U2: 74LS04, U3: 74LS04}\n"
        "nets: {VCC: [U1.14, U2.14, U3.14], GND: [U1.7, U2.7, U3.7], step: [U1.1], "
        "a: [U1.2, U2.1], b: [U2.2, U3.1], lamp: [U3.2]}\nports: {step: in, lamp: out}\n"
    )
    assert found.code == "decoupling-missing"
    assert found.pins == ("U1.14", "U2.14", "U3.14")
    assert found.message == (
        "3 decoupling capacitors are missing: there are 3 chips (U1, U2 and U3), "
        "and between supply and ground is no capacitor of 10 nF to 1 uF"
    )


def test_a_capacitor_on_a_signal_decouples_nothing(check: Check) -> None:
    found = check(
        "parts:\n  U1: 74LS04\n  C1: {part: capacitor, value: 100n}\n"
        "nets: {VCC: [U1.14], GND: [U1.7, C1.2], step: [U1.1, C1.1], lamp: [U1.2]}\n"
        "ports: {step: in, lamp: out}\n"
    )
    assert [f.code for f in found] == ["decoupling-missing"]


def test_a_supply_that_comes_in_by_a_connector(check: Check) -> None:
    assert not check(
        f"parts:\n{INVERTER}  J1: {{part: connector, pins: 1}}\n"
        "nets: {plus: [U1.14, J1.1], VCC: [C1.1], GND: [U1.7, C1.2], step: [U1.1], lamp: [U1.2]}\n"
        "ports: {step: in, lamp: out}\n"
    )


BENCH = """\
breadboards: {b1: {tie-points: 400}, b2: {tie-points: 400}}
parts:
  U1: {part: 74LS04, at: b1.e1}
  U2: {part: 74LS04, at: b2.e1}
  C1: {part: capacitor, value: 100n, at: [b1.upper+, b1.upper-]}
  C2: {part: capacitor, value: 100n, at: [b2.upper+, b2.upper-]}
wires:
  - b1.j1 to b1.upper+
  - b2.j1 to b2.upper+
  - b1.a7 to b1.lower-
  - b2.a7 to b2.lower-
  - VCC to b1.upper+
  - GND to b1.lower-
  - b1.lower- to b1.upper-
  - b2.lower- to b2.upper-
  - b1.upper+ to b2.upper+
  - b1.lower- to b2.lower-
nets: {step: [U1.1, U2.1], lamp: [U1.2], other: [U2.2]}
ports: {step: in, lamp: out, other: out}
"""
"""An inverter on each of two breadboards; line 13 and 14 bring the supply, 17 and 18 take it on."""


def test_rails_that_are_joined_and_not_fed_are_told_once(check: Check) -> None:
    """What stands on them is not told of again, and the hint is for rails of that sign."""
    unfed, few = check(BENCH.replace("  - b1.lower- to b2.lower-\n", ""))
    assert (unfed.code, few.code) == ("rail-unfed", "decoupling-missing")
    assert unfed.message == (
        "rails b2.lower- and b2.upper- are joined to no supply: U2.7 (GND) and C2.2 stand on them"
    )
    assert unfed.hint == "Join it to a supply: 'GND to b2.lower-'."


def test_an_output_on_an_unfed_rail_makes_it_no_signal(check: Check) -> None:
    """Both ground pins (7 of a 04) and an output (2) are joined: no finding for each chip."""
    wrong = BENCH.replace("  - GND to b1.lower-\n", "  - b1.a2 to b1.lower-\n")
    found = [one for one in check(wrong) if one.severity is Severity.ERROR]
    (unfed,) = (one for one in found if one.code == "rail-unfed")
    assert unfed.message.endswith("stand on them, and U1.2 (Y1) is joined to them")
    assert "supply-wrong-rail" not in {one.code for one in found}


def test_wires_that_short_the_supply_are_named_before_all_else(check: Check) -> None:
    """Line 18 leads to the wrong rail. From U2's supply pin to U1's ground pin it takes three."""
    found = check(BENCH.replace("b1.lower- to b2.lower-", "b1.lower- to b2.upper+"))
    assert [one.code for one in found] == ["supplies-joined", "rail-unfed"]
    assert found[0].hint == (
        "They meet by way of b2.j1 to b2.upper+ in line 10, b1.lower- to b2.upper+ in line 18 and "
        "b1.a7 to b1.lower- in line 11: find what is wrong there before power goes on."
    )


def test_ground_in_the_column_of_a_supply_pin(check: Check) -> None:
    """Pin 14 of a 74LS04 is its supply pin (data book): the one wire is ground's."""
    found = check(
        "breadboards: {b1: {tie-points: 400}}\n"
        "parts:\n  U1: {part: 74LS04, at: b1.e1}\n"
        "wires: [VCC to b1.j1, GND to b1.i1]\n"
    )
    assert found[0].code == "supplies-joined"
    assert found[0].hint == (
        "They meet by way of GND to b1.i1 in line 5: find what is wrong there before power goes on."
    )


def test_a_network_of_which_no_resistor_is_wired(check: Check) -> None:
    """Its common pin alone makes no resistor: all of it does nothing, not one of them."""
    found = check(
        f"parts:\n{INVERTER}  RN1: {{part: resistor-network, ways: 3, value: 10k}}\n"
        "nets: {VCC: [U1.14, C1.1, RN1.1], GND: [U1.7, C1.2], step: [U1.1], lamp: [U1.2]}\n"
        "ports: {step: in, lamp: out}\n"
    )
    (told,) = [one for one in found if one.code == "leg-open"]
    assert told.message == "RN1.2, RN1.3 and RN1.4 are wired to nothing: RN1 does nothing"
