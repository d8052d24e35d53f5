"""Pull resistors (worst case of the data books) and LEDs (common practice)."""

import pytest

from tests.wiring.conftest import Check

C1 = "  C1: {part: capacitor, value: 100n}\n"


def _pulled(family: str, value: str, rail: str, inputs: int) -> str:
    """A button to the other rail and a pull on up to six inverters' inputs."""
    used = [1, 3, 5, 9, 11, 13][:inputs]
    rest = [f"U1.{pin}" for pin in [1, 3, 5, 9, 11, 13][inputs:]]
    pins = ", ".join(f"U1.{pin}" for pin in used)
    outputs = {1: 2, 3: 4, 5: 6, 9: 8, 11: 10, 13: 12}
    lamps = ", ".join(f"l{pin}: [U1.{outputs[pin]}]" for pin in used)
    ports = ", ".join(f"l{pin}: out" for pin in used)
    up = rail == "VCC"
    return (
        f"parts:\n  U1: 74{family}04\n{C1}  B: {{part: push-button}}\n"
        f"  R1: {{part: resistor, value: {value}}}\n"
        f"nets:\n  VCC: [U1.14, C1.1, {'R1.1' if up else 'B.1'}]\n"
        f"  GND: [{', '.join(['U1.7', 'C1.2', 'B.1' if up else 'R1.1', *rest])}]\n"
        f"  wire: [B.2, R1.2, {pins}]\n  {lamps.replace(', ', chr(10) + '  ')}\n"
        f"ports: {{{ports}}}\n"
    )


@pytest.mark.parametrize(
    ("family", "value", "rail", "inputs", "fits"),
    [
        # 0.8 V / 0.4 mA = 2k for one LS input, 1k for two (data books).
        ("LS", "2k", "GND", 1, True),
        ("LS", "2k2", "GND", 1, False),
        ("LS", "1k", "GND", 2, True),
        ("LS", "2k", "GND", 2, False),
        # 0.8 V / 0.1 mA = 8k (ALS), 0.8 V / 1.6 mA = 500 ohm (TTL).
        ("ALS", "8k", "GND", 1, True),
        ("ALS", "8k2", "GND", 1, False),
        ("", "470", "GND", 1, True),
        ("", "560", "GND", 1, False),
        # (4.75 V - 2.0 V) / (6 x 20 uA) = 22.9k.
        ("LS", "22k", "VCC", 6, True),
        ("LS", "24k", "VCC", 6, False),
        # 1.5 V / 1 uA; (4.75 V - 3.5 V) / 1 uA.
        ("HC", "1M", "GND", 1, True),
        ("HC", "2M", "GND", 1, False),
        ("HC", "1M", "VCC", 1, True),
        ("HC", "1.5M", "VCC", 1, False),
    ],
)
def test_the_weakest_pull_that_counts(
    check: Check, family: str, value: str, rail: str, inputs: int, fits: bool
) -> None:
    found = check(_pulled(family, value, rail, inputs))
    assert [f.code for f in found] == ([] if fits else ["pull-weak"])


def test_a_weak_pull_up_says_what_it_is_short_of(check: Check) -> None:
    (found,) = check(_pulled("LS", "100k", "VCC", 2))
    assert found.message == (
        "R1 (100k) cannot pull net 'wire' up to 'VCC': U1.1 (A1) and U1.3 (A2) may take 40 uA "
        "together, which drops the net to 0.75 V; they need 2 V at least for a high"
    )
    assert found.hint == "Use 68k or less."  # 2.75 V / 40 uA = 68.75k


def test_a_pull_on_a_driven_net_may_be_weak(check: Check) -> None:
    assert not check(
        f"parts:\n  U1: 74LS04\n{C1}  R1: {{part: resistor, value: 100k}}\n"
        "nets: {VCC: [U1.14, C1.1], GND: [U1.7, C1.2, R1.1], step: [U1.1], a: [U1.2, U1.3, R1.2], "
        "lamp: [U1.4]}\nports: {step: in, lamp: out}\n"
    )


def _lamps(parts: str, nets: str, vcc: str = "", gnd: str = "") -> str:
    return (
        f"parts:\n  U1: 74HC04\n{C1}{parts}"
        f"nets:\n  VCC: [U1.14, C1.1{vcc}]\n"
        f"  GND: [U1.7, U1.9, U1.11, U1.13, C1.2{gnd}]\n"
        f"  step: [U1.1, U1.3, U1.5]\n{nets}ports: {{step: in}}\n"
    )


LED = "{part: led, colour: amber}"


@pytest.mark.parametrize(
    ("board", "lamps"),
    [
        (_lamps(f"  D1: {LED}\n", "  a: [U1.2, D1.A]\n", gnd=", D1.K"), ["D1"]),
        (_lamps(f"  D1: {LED}\n  D2: {LED}\n", "  a: [U1.2, D1.A]\n  b: [D1.K, D2.A]\n",
                gnd=", D2.K"), ["D1", "D2"]),
        (_lamps(f"  D1: {LED}\n  B: {{part: push-button}}\n", "  a: [B.2, D1.A]\n", ", B.1",
                ", D1.K"), ["D1"]),
        (_lamps("  L: {part: led-bar, ways: 2}\n", "  a: [U1.2, L.1]\n  b: [U1.4, L.2]\n",
                gnd=", L.3, L.4"), ["L[1]", "L[2]"]),
    ],
    ids=["output", "two in a row", "through a button", "bar"],
)  # fmt: skip
def test_leds_without_a_resistor(check: Check, board: str, lamps: list[str]) -> None:
    found = check(board)
    assert [f.code for f in found] == ["led-no-resistor"] * len(lamps)
    assert [f.message.split()[1] for f in found] == lamps


@pytest.mark.parametrize(
    "board",
    [
        _lamps(f"  D1: {LED}\n  R1: {{part: resistor, value: 330}}\n",
               "  a: [U1.2, R1.1]\n  b: [R1.2, D1.A]\n", gnd=", D1.K"),
        _lamps("  L: {part: led-bar, ways: 2}\n  R1: {part: resistor, value: 330}\n",
               "  a: [U1.2, L.1]\n  b: [U1.4, L.2]\n  k: [L.3, L.4, R1.1]\n", gnd=", R1.2"),
        _lamps("  L: {part: led-bar, ways: 2}\n"
               "  RN: {part: resistor-network, ways: 2, value: 470}\n",
               "  a: [U1.2, L.1]\n  b: [U1.4, L.2]\n  k: [L.4, RN.2]\n  m: [L.3, RN.3]\n",
               gnd=", RN.1"),
        _lamps(f"  D1: {LED}\n  D2: {LED}\n  R1: {{part: resistor, value: 220}}\n",
               "  a: [U1.2, D1.A]\n  b: [D1.K, D2.A]\n  c: [D2.K, R1.1]\n", gnd=", R1.2"),
        _lamps(f"  D1: {LED}\n  R1: {{part: resistor, value: 220}}\n  B: {{part: push-button}}\n",
               "  a: [D1.K, R1.1]\n  b: [R1.2, B.1]\n", ", D1.A", ", B.2"),
    ],
    ids=["own", "bar with one", "network", "two in a row", "button behind"],
)  # fmt: skip
def test_leds_with_a_resistor(check: Check, board: str) -> None:
    assert not check(board)


def test_pins_of_a_bars_lamp(check: Check) -> None:
    (found,) = check(_lamps("  L: {part: led-bar, ways: 2}\n", "  b: [U1.4, L.2]\n", gnd=", L.3"))
    assert found.pins == ("L.2", "L.3")


def test_open_collector_outputs(check: Check) -> None:
    lamp = (
        f"parts:\n  U1: 74LS05\n{C1}  D1: {LED}\n"
        "  R1: {part: resistor, value: 330}\n"
        "nets:\n  VCC: [U1.14, C1.1, D1.A]\n  GND: [U1.7, C1.2]\n  step: [U1.1]\n"
    )
    # A lamp needs no pull-up.
    assert not check(lamp + "  k: [D1.K, R1.1]\n  y: [U1.2, R1.2]\nports: {step: in}\n")
    # A wire that leaves the board may have its pull-up there.
    wire = lamp.replace(", D1.A", ", D1.A, R1.1")
    assert not check(wire + "  y: [U1.2, U1.3]\n  k: [D1.K, R1.2]\nports: {step: in, y: both}\n")
    # A lamp straight on the output has no resistor.
    found = check(wire + "  y: [U1.2, D1.K]\n  z: [U1.3, R1.2]\nports: {step: in}\n")
    assert [f.code for f in found] == ["led-no-resistor"]


def test_an_led_the_wrong_way_round_draws_no_current(check: Check) -> None:
    assert not check(_lamps(f"  D1: {LED}\n", "", vcc=", D1.K", gnd=", D1.A"))


def test_contacts_in_a_ring_are_walked_once(check: Check) -> None:
    buttons = "  B1: {part: push-button}\n  B2: {part: push-button}\n"
    resistor = "  R1: {part: resistor, value: 330}\n"
    assert not check(
        _lamps(
            f"  D1: {LED}\n{buttons}{resistor}",
            "  a: [D1.A, B1.1, B2.1]\n  b: [B1.2, B2.2, R1.1]\n",
            vcc=", R1.2",
            gnd=", D1.K",
        )
    )
