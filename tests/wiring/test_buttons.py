"""Buttons and switches: pulls and bounce. What is harmless and what is not: common practice."""

import pytest

from breadproof.specs.reading.diagnostics import Severity
from tests.wiring.conftest import Check

C1 = "  C1: {part: capacitor, value: 100n}\n  C2: {part: capacitor, value: 100n}\n"
BUTTON = "  B: {part: push-button}\n"
PULL = "  R1: {part: resistor, value: 1k5}\n"


def _flip_flop(parts: str, nets: str, vcc: str = "", gnd: str = "", family: str = "LS") -> str:
    """A 74 whose first half is wired as the test wants, the second tied."""
    return (
        f"parts:\n  U1: 74{family}74\n{C1}{parts}"
        f"nets:\n  VCC: [U1.14, C1.1, C2.1{vcc}]\n"
        f"  GND: [U1.7, U1.10, U1.11, U1.12, U1.13, C1.2, C2.2{gnd}]\n{nets}"
    )


@pytest.mark.parametrize(
    ("family", "to", "severity", "reads"),
    [
        ("LS", "gnd", Severity.WARNING, "reads high only as an open bipolar input does"),
        ("LS", "vcc", Severity.ERROR, "reads high all the same, so the switch does nothing"),
        ("HC", "gnd", Severity.ERROR, "reads anything and changes when a finger comes near"),
    ],
)
def test_a_button_with_no_pull(
    check: Check, family: str, to: str, severity: Severity, reads: str
) -> None:
    (found,) = check(
        _flip_flop(
            BUTTON,
            "  go: [B.2, U1.2]\n  beat: [U1.3]\n  on: [U1.1, U1.4]\n  q: [U1.5]\n"
            "ports: {beat: in, on: in, q: out}\n",
            vcc=", B.1" if to == "vcc" else "",
            gnd=", B.1" if to == "gnd" else "",
            family=family,
        )
    )
    assert (found.code, found.severity, found.net) == ("switch-no-pull", severity, "go")
    assert found.message == f"net 'go' floats while B is open: U1.2 (D1) then {reads}" + (
        ", with no margin against noise" if severity is Severity.WARNING else ""
    )


REST = "  beat: [U1.3]\n  on: [U1.1, U1.4]\n  q: [U1.5]\nports: {beat: in, on: in, q: out}\n"
SPDT = "  M: {part: spdt, positions: [SET, SHOW]}\n"


def test_a_change_over_switch_between_the_rails_needs_no_pull(check: Check) -> None:
    assert not check(_flip_flop(SPDT, "  m: [M.2, U1.2]\n" + REST, ", M.1", ", M.3"))


def test_a_change_over_switch_with_both_contacts_on_one_rail(check: Check) -> None:
    (found,) = check(_flip_flop(SPDT, "  m: [M.2, U1.2]\n" + REST, gnd=", M.1, M.3"))
    assert (found.code, found.net) == ("switch-idle", "m")
    assert found.message == (
        "M does nothing: net 'm' is low all the same, for its contacts all lead to GND"
    )
    assert found.hint == "Have the switch lead to VCC in one of its positions."


@pytest.mark.parametrize(("pull", "codes"), [(", R1.1", []), ("", ["switch-idle"])])
def test_a_button_and_a_resistor_to_ground(check: Check, pull: str, codes: list[str]) -> None:
    """Idle if the button leads to ground as well; with the resistor to VCC it is right."""
    nets = "  go: [B.2, R1.2, U1.2]\n" + REST
    ground = ", B.1" if pull else ", B.1, R1.1"
    found = check(_flip_flop(BUTTON + PULL, nets, vcc=pull, gnd=ground))
    assert [one.code for one in found] == codes


def test_a_change_over_switch_with_one_contact_wired(check: Check) -> None:
    (found,) = check(_flip_flop(SPDT, "  m: [M.2, U1.2]\n" + REST, gnd=", M.3"))
    assert found.code == "switch-no-pull"
    assert "net 'm' floats while M is at SET: " in found.message


def test_two_ways_of_a_dip_switch_on_one_net(check: Check) -> None:
    dip = "  S: {part: dip-switch, ways: 2}\n"
    nets = "  m: [S.3, S.4, U1.2]\n" + REST
    (found,) = check(_flip_flop(dip, nets, gnd=", S.1, S.2"))
    assert "net 'm' floats while S[1] is open and S[2] is open: " in found.message


def test_a_pull_ends_it(check: Check) -> None:
    nets = "  m: [B.2, R1.2, U1.2]\n" + REST
    assert not check(_flip_flop(BUTTON + PULL, nets, ", R1.1", ", B.1"))


def _button_on(pin: str, tied: str, more: str = "") -> str:
    """A pulled-up button to ground on one pin of the flip-flop."""
    ends = {"1": "clear", "2": "data", "3": "beat", "4": "preset"}
    others = "".join(f"  {ends[p]}: [U1.{p}]\n" for p in ends if p != pin and p not in tied)
    ports = ", ".join(f"{ends[p]}: in" for p in ends if p != pin and p not in tied)
    return _flip_flop(
        BUTTON + PULL + more,
        f"  b: [B.2, R1.2, U1.{pin}]\n{others}  q: [U1.5]\nports: {{q: out, {ports}}}\n",
        vcc=", R1.1",
        gnd=", B.1",
    )


@pytest.mark.parametrize(("pin", "kind"), [("1", "clear"), ("3", "clock"), ("4", "preset")])
def test_a_button_on_what_changes_storage_at_once(check: Check, pin: str, kind: str) -> None:
    (found,) = check(_button_on(pin, ""))
    assert (found.code, found.pins) == ("switch-bounces", (f"U1.{pin}", "B.1", "B.2"))
    assert f"B reaches the {kind} pin U1.{pin}" in found.message


def test_a_button_on_a_data_input_is_sampled(check: Check) -> None:
    assert not check(_button_on("2", ""))


def _counter(nets: str, parts: str = "", vcc: str = "", gnd: str = "") -> str:
    return (
        f"parts:\n  U1: 74LS163\n{C1}{BUTTON}{PULL}{parts}"
        f"nets:\n  VCC: [U1.16, C1.1, C2.1, R1.1{vcc}]\n"
        f"  GND: [U1.8, U1.3, U1.4, U1.5, U1.6, B.1, C1.2, C2.2{gnd}]\n"
        f"  beat: [U1.2]\n{nets}"
        '  q[3:0]:\n    - U1.[11, 12, 13, 14]\nports: {beat: in, "q[3:0]": out}\n'
    )


@pytest.mark.parametrize("pin", ["1", "7", "9", "10"])
def test_synchronous_clear_load_and_enables_are_sampled(check: Check, pin: str) -> None:
    others = "".join(f", U1.{p}" for p in ("1", "7", "9", "10") if p != pin)
    assert not check(_counter(f"  b: [B.2, R1.2, U1.{pin}]\n", vcc=others))


def test_through_gates_to_a_clock(check: Check) -> None:
    (found,) = check(
        _flip_flop(
            BUTTON + PULL + "  U2: 74LS00\n",
            "  b: [B.2, R1.2, U2.1]\n  armed: [U2.2]\n  x: [U2.3, U2.4, U2.5]\n"
            "  c: [U2.6, U1.3]\n  data: [U1.2]\n  q: [U1.5]\n"
            "ports: {armed: in, data: in, q: out}\n",
            vcc=", R1.1, U2.14, U1.1, U1.4",
            gnd=", B.1, U2.7",
        )
    )
    assert (found.code, found.pins, found.net) == ("switch-bounces", ("U1.3", "B.1", "B.2"), "c")
    assert "B reaches the clock pin U1.3 (CLK1) through U2 with nothing" in found.message


def test_a_flip_flop_on_the_way_debounces(check: Check) -> None:
    assert not check(
        f"parts:\n  U1: 74LS74\n{C1}{BUTTON}{PULL}"
        "nets:\n  VCC: [U1.14, U1.1, U1.4, U1.10, U1.13, C1.1, C2.1, R1.1]\n"
        "  GND: [U1.7, B.1, C1.2, C2.2]\n  b: [B.2, R1.2, U1.2]\n  slow: [U1.3]\n"
        "  once: [U1.5, U1.11]\n  turn: [U1.8, U1.12]\n  q: [U1.9]\n"
        "ports: {slow: in, q: out}\n"
    )


def test_through_a_series_resistor(check: Check) -> None:
    series = "  R2: {part: resistor, value: 100}\n"
    (found,) = check(
        _flip_flop(
            BUTTON + PULL + series,
            "  b: [B.2, R1.2, R2.1]\n  c: [R2.2, U1.3]\n  data: [U1.2]\n  q: [U1.5]\n"
            "ports: {data: in, q: out}\n",
            vcc=", R1.1, U1.1, U1.4",
            gnd=", B.1",
        )
    )
    assert (found.code, found.net) == ("switch-bounces", "c")


@pytest.mark.parametrize(("value", "quiet"), [("10u", True), ("100n", False)])
def test_a_capacitor_on_the_wire(check: Check, value: str, quiet: bool) -> None:
    # 1.5k x 10 uF = 15 ms; 1.5k x 100 nF = 0.15 ms. Bounce lasts 5 to 20 ms (common practice).
    cap = f"  C3: {{part: capacitor, value: {value}}}\n"
    nets = (
        "  b: [B.2, R1.2, C3.1, U2.1]\n  c: [U2.2, U1.3]\n  data: [U1.2]\n  q: [U1.5]\n"
        "ports: {data: in, q: out}\n"
    )
    found = check(
        _flip_flop(
            BUTTON + PULL + cap + "  U2: 74LS14\n",
            nets,
            ", R1.1, U1.1, U1.4, U2.14",
            ", B.1, C3.2, U2.7",
        )
    )
    assert [f.code for f in found] == ([] if quiet else ["switch-bounces"])


def test_a_latch_chip_and_a_write_pin(check: Check) -> None:
    address = ", ".join(f"U1.A{bit}" for bit in range(11))
    (found,) = check(
        f"parts:\n  U1: 6116\n{C1}{BUTTON}  R1: {{part: resistor, value: 10k}}\n"
        "nets:\n  VCC: [U1.24, R1.1, C1.1, C2.1]\n"
        f"  GND: [U1.12, B.1, U1.18, U1.20, {address}, C1.2, C2.2]\n"
        "  w: [B.2, R1.2, U1.21]\n  d: [U1.9]\nports: {d: both}\n"
    )
    assert found.message == (
        "B reaches the write pin U1.21 (WE_n) with nothing to debounce it: "
        "one press writes several times"
    )


def test_a_switch_at_a_memorys_address_or_select_is_no_write(check: Check) -> None:
    address = ", ".join(f"U1.A{bit}" for bit in range(1, 11))
    assert not check(
        f"parts:\n  U1: 6116\n{C1}{BUTTON}  R1: {{part: resistor, value: 10k}}\n"
        "nets:\n  VCC: [U1.24, R1.1, C1.1, C2.1]\n"
        f"  GND: [U1.12, B.1, U1.20, {address}, C1.2, C2.2]\n"
        "  s: [B.2, R1.2, U1.18, U1.A0]\n  w: [U1.21]\n  d: [U1.9]\nports: {d: both, w: in}\n"
    )


def test_a_way_of_a_dip_switch_is_named(check: Check) -> None:
    (found,) = check(
        _flip_flop(
            "  S: {part: dip-switch, ways: 4}\n" + PULL,
            "  b: [S.2, R1.2, U1.1]\n  data: [U1.2]\n  beat: [U1.3]\n  q: [U1.5]\n"
            "ports: {data: in, beat: in, q: out}\n",
            vcc=", R1.1, U1.4",
            gnd=", S.7",
        )
    )
    assert found.pins == ("U1.1", "S.2", "S.7")
    assert found.message.startswith("S[2] reaches the clear pin U1.1 (CLR1_n) with nothing")


@pytest.mark.parametrize(
    ("chip", "pin", "kind", "seen"),
    [
        ("74LS373", "11", "latch", "one press opens the latch several times"),
        ("74LS165", "1", "load", "one press loads several times"),
    ],
)
def test_latch_and_asynchronous_load(
    check: Check, chip: str, pin: str, kind: str, seen: str
) -> None:
    eight = chip == "74LS373"
    supply, ground = ("20", "10") if eight else ("16", "8")
    nets = "  d: [U1.3]\n  q: [U1.2]\n  g: [U1.1]\n" if eight else "  c: [U1.2]\n  i: [U1.15]\n"
    ports = "d: in, q: out, g: in" if eight else "c: in, i: in"
    found = check(
        f"parts:\n  U1: {chip}\n{C1}{BUTTON}{PULL}"
        f"nets:\n  VCC: [U1.{supply}, R1.1, C1.1, C2.1]\n  GND: [U1.{ground}, B.1, C1.2, C2.2]\n"
        f"  b: [B.2, R1.2, U1.{pin}]\n{nets}ports: {{{ports}}}\n"
    )
    bounces = [f for f in found if f.code == "switch-bounces"]
    assert [f.pins[0] for f in bounces] == [f"U1.{pin}"]
    assert f"the {kind} pin" in bounces[0].message
    assert bounces[0].message.endswith(seen)


def test_a_latch_of_two_nor_gates_debounces_too(check: Check) -> None:
    # Common practice, with pull-downs and the common contact at the supply.
    assert not check(
        _flip_flop(
            SPDT + "  U2: 74LS02\n" + PULL + "  R2: {part: resistor, value: 1k5}\n",
            "  s: [M.1, R1.1, U2.2]\n  r: [M.3, R2.1, U2.6]\n  q_n: [U2.1, U2.5]\n"
            "  q: [U2.4, U2.3, U1.3]\n  data: [U1.2]\n  out: [U1.5]\n"
            "ports: {data: in, out: out}\n",
            vcc=", U1.1, U1.4, U2.14, M.2",
            gnd=", U2.7, R1.2, R2.2",
        )
    )


def test_a_change_over_switch_is_thrown_not_pressed(check: Check) -> None:
    (found,) = check(
        _flip_flop(
            SPDT, "  m: [M.2, U1.3]\n  data: [U1.2]\n  q: [U1.5]\nports: {data: in, q: out}\n",
            vcc=", M.1, U1.1, U1.4", gnd=", M.3",
        )
    )  # fmt: skip
    assert found.pins == ("U1.3", "M.1", "M.2", "M.3")
    assert found.message.endswith("one throw counts several times")
