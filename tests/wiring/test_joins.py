"""What the wiring rules say behind analogue switches and diodes.

That a bounce goes wherever its level goes, that a diode keeps one level back, and that 220 ohm to
1k belong to an LED are common practice; the limits are the data books'.
"""

from breadproof.specs.reading.diagnostics import Severity
from tests.wiring.conftest import Check

CAPS = "".join(f"  C{n}: {{part: capacitor, value: 100n}}\n" for n in (1, 2))
# A 74HC74 whose first half counts, and a 74HC4066 of which three switches are tied.
FLIP_FLOP = (
    f"parts:\n  U1: 74HC74\n  U2: 74HC4066\n{CAPS}  B: {{part: push-button}}\n"
    "  R1: {part: resistor, value: 10k}\n  R2: {part: resistor, value: 10k}\n"
    "nets:\n  VCC: [U1.14, U2.14, U1.1, U1.4, C1.1, C2.1, R1.2, R2.2]\n"
    "  GND: [U1.7, U1.10, U1.11, U1.12, U1.13, U2.7, U2.5, U2.6, U2.12, C1.2, C2.2, B.1]\n"
    "  q: [U1.5]\n  data: [U1.2]\n"
)


def test_a_bounce_goes_through_an_analogue_switch(check: Check) -> None:
    (found,) = check(
        FLIP_FLOP + "  raw: [B.2, R1.1, U2.1]\n  step: [U2.2, R2.1, U1.3]\n  on: [U2.13]\n"
        "ports: {q: out, data: in, on: in}\n"
    )
    assert (found.code, found.severity) == ("switch-bounces", Severity.WARNING)
    assert found.message.startswith("B reaches the clock pin U1.3 (CLK1) through U2 ")
    assert found.pins == ("U1.3", "B.1", "B.2")


def test_a_bounce_closes_an_analogue_switch(check: Check) -> None:
    (found,) = check(
        FLIP_FLOP + "  raw: [B.2, R1.1, U2.13]\n  step: [U2.2, R2.1, U1.3]\n  low: [U2.1]\n"
        "ports: {q: out, data: in, low: in}\n"
    )
    assert found.code == "switch-bounces"
    assert found.message.startswith("B reaches the clock pin U1.3 (CLK1) through U2 ")


def test_a_chip_closes_a_contact_without_a_bounce(check: Check) -> None:
    assert not check(
        FLIP_FLOP.replace("B.1]", "B.1, B.2, R1.1]")
        + "  low: [U2.1]\n  step: [U2.2, R2.1, U1.3]\n  on: [U2.13]\n"
        "ports: {q: out, data: in, on: in, low: in}\n"
    )


DIODE = (
    f"parts:\n  U1: 74HC74\n{CAPS}  B: {{part: push-button}}\n  D1: {{part: diode}}\n"
    "  R1: {part: resistor, value: 10k}\n"
    "nets:\n  VCC: [U1.14, U1.1, U1.4, C1.1, C2.1, R1.2]\n"
    "  GND: [U1.7, U1.10, U1.11, U1.12, U1.13, C1.2, C2.2, B.1]\n  q: [U1.5]\n  data: [U1.2]\n"
)
PORTS = "ports: {q: out, data: in}\n"


def test_a_bounce_goes_through_a_diode(check: Check) -> None:
    (found,) = check(DIODE + "  raw: [B.2, D1.K]\n  step: [D1.A, R1.1, U1.3]\n" + PORTS)
    assert found.code == "switch-bounces"
    assert found.message.startswith("B reaches the clock pin U1.3 (CLK1) with nothing ")
    assert found.pins == ("U1.3", "B.1", "B.2")


def test_a_diode_the_wrong_way_round_keeps_a_low_back(check: Check) -> None:
    """The button cannot pull its line low; only the pull-up says what the clock pin reads."""
    assert not check(DIODE + "  raw: [B.2, D1.A]\n  step: [D1.K, R1.1, U1.3]\n" + PORTS)


def test_a_net_behind_a_button_and_a_diode_floats_without_a_pull(check: Check) -> None:
    found = check(
        DIODE.replace(", R1.2", ", R1.1, R1.2")
        + "  raw: [B.2, D1.K]\n  step: [D1.A, U1.3]\n"
        + PORTS
    )
    bounces, floats = sorted(found, key=lambda one: one.code)
    assert (bounces.code, floats.code) == ("switch-bounces", "switch-no-pull")
    assert floats.message == (
        "net 'step' floats while B is open: U1.3 (CLK1) then reads anything and changes when a "
        "finger comes near"
    )


OPEN = (
    "parts:\n  U1: 74HC05\n  U2: 74HC04\n  D1: {part: diode}\n" + CAPS + "nets:\n"
    "  VCC: [U1.14, U2.14, C1.1, C2.1]\n"
    "  GND: [U1.7, U2.7, C1.2, C2.2, U1.3, U1.5, U1.9, U1.11, U1.13, U2.5, U2.9, U2.11, U2.13]\n"
    "  a: [U1.1]\n  b: [U2.3]\n  lamp: [U2.2]\n"
)


def test_a_push_pull_output_behind_a_diode_pulls_nothing_up(check: Check) -> None:
    net = (
        "  other: [U2.4, D1.{}]\n  line: [U1.2, D1.{}, U2.1]\nports: {{a: in, b: in, lamp: out}}\n"
    )
    (found,) = check(OPEN + net.format("K", "A"))
    assert found.code == "pull-up-missing"
    assert not check(OPEN + net.format("A", "K"))  # the other way round its high does


LEVELS = (
    "parts:\n  U1: 74LS04\n  U2: 74HC04\n  D1: {part: diode}\n" + CAPS + "nets:\n"
    "  VCC: [U1.14, U2.14, C1.1, C2.1]\n"
    "  GND: [U1.7, U2.7, C1.2, C2.2, U1.3, U1.5, U1.9, U1.11, U1.13, U2.3, U2.5, U2.9, U2.11, "
    "U2.13]\n  a: [U1.1]\n  lamp: [U2.2]\n"
)


def test_a_level_that_a_diode_keeps_back_is_not_compared(check: Check) -> None:
    """LS gives only 2.7 V as a high and HC wants 3.5 V (data books): if a high comes at all."""
    nets = "  y: [U1.2, D1.{}]\n  line: [D1.{}, U2.1]\nports: {{a: in, lamp: out}}\n"
    (found,) = check(LEVELS + nets.format("K", "A"))
    assert found.code == "diode-no-pull"
    assert found.message == (
        "net 'line' has no pull-up: D1 can only bring a low, and U2.1 (A1) reads it"
    )
    found, mismatch = check(LEVELS + nets.format("A", "K"))
    assert (mismatch.code, found.code) == ("level-mismatch", "diode-no-pull")
    assert mismatch.pins == ("U1.2", "U2.1")
    assert (
        found.hint == "Put a resistor from 'line' to GND (1k to 10k; 2k at most for an LS input)."
    )


def test_a_lamp_through_an_analogue_switch_has_no_resistor(check: Check) -> None:
    (found,) = check(
        "parts:\n  U2: 74HC4066\n  L1: {part: led}\n  C1: {part: capacitor, value: 100n}\nnets:\n"
        "  VCC: [U2.14, C1.1, U2.1]\n  GND: [U2.7, U2.5, U2.6, U2.12, C1.2, L1.K]\n"
        "  on: [U2.13]\n  lamp: [U2.2, L1.A]\nports: {on: in}\n"
    )
    assert found.code == "led-no-resistor"


def test_a_lamp_behind_a_diode(check: Check) -> None:
    board = "parts:\n  D1: {part: diode}\n  L1: {part: led}\nnets:\n"
    nets = "  VCC: [D1.{}]\n  GND: [L1.K]\n  lamp: [D1.{}, L1.A]\n"
    (found,) = check(board + nets.format("A", "K"))
    assert found.code == "led-no-resistor"
    assert not check(board + nets.format("K", "A"))  # no current gets there at all


def test_an_unused_switch_still_wants_its_control_tied(check: Check) -> None:
    """An open CMOS input drifts (data books: unused inputs go to VCC or GND)."""
    (found,) = check(
        "parts:\n  U2: 74HC4066\n  C1: {part: capacitor, value: 100n}\nnets:\n"
        "  VCC: [U2.14, C1.1]\n  GND: [U2.7, U2.5, U2.6, C1.2]\n  on: [U2.13]\n"
        "  a: [U2.1]\n  b: [U2.2]\nports: {on: in, a: both, b: both}\n"
    )
    assert found.code == "input-open"
    assert found.message == (
        "input U2.12 (E4) is open: its gate is unused, but an open CMOS input drifts, heats the "
        "chip and disturbs it"
    )


def test_an_open_control_of_a_switch_that_is_used(check: Check) -> None:
    (found,) = check(
        "parts:\n  U2: 74HC4066\n  C1: {part: capacitor, value: 100n}\nnets:\n"
        "  VCC: [U2.14, C1.1]\n  GND: [U2.7, U2.5, U2.6, U2.12, C1.2]\n"
        "  a: [U2.1]\n  b: [U2.2]\nports: {a: both, b: both}\n"
    )
    assert found.code == "control-open"
    assert found.pins == ("U2.13",)


def test_the_negative_rail_of_a_4053_goes_to_ground(check: Check) -> None:
    board = (
        "parts:\n  U1: 74HC4053\n  C1: {part: capacitor, value: 100n}\nnets:\n"
        "  VCC: [U1.16, C1.1%s]\n  GND: [U1.8, U1.6, U1.9, U1.10, U1.11, C1.2%s]\n"
    )
    assert not check(board % ("", ", U1.7"))
    (found,) = check(board % ("", ""))
    assert (found.code, found.message) == (
        "supply-missing",
        "U1 has no ground: U1.7 (VEE) is on no net",
    )
    (found,) = check(board % (", U1.7", ""))
    assert found.code == "supply-wrong-rail"
