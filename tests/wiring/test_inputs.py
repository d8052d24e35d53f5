"""Open inputs, undriven nets, lone pins.

An open bipolar input reads high, an open CMOS input anything (data books). What a control pin that
reads high does to its chip is written from the function tables of the data books.
"""

import pytest

from breadproof.specs.reading.diagnostics import Severity
from tests.wiring.conftest import Check

C1 = "  C1: {part: capacitor, value: 100n}\n"


def _one_chip(number: str, supply: str, ground: str, nets: str, ports: str) -> str:
    return (
        f"parts:\n  U1: {number}\n{C1}"
        f"nets: {{VCC: [U1.{supply}, C1.1], GND: [U1.{ground}, C1.2], {nets}}}\n"
        f"ports: {{{ports}}}\n"
    )


def test_an_open_bipolar_input_is_a_warning_with_the_level_it_reads(check: Check) -> None:
    (found,) = check(_one_chip("74LS08", "14", "7", "step: [U1.1], lamp: [U1.3]",
                               "step: in, lamp: out"))  # fmt: skip
    assert (found.code, found.severity) == ("input-open", Severity.WARNING)
    assert found.message == ("input U1.2 (B1) is open: it reads high (an open LS input does)")


def test_an_input_alone_on_a_net_is_open(check: Check) -> None:
    (found,) = check(_one_chip("74LS08", "14", "7", "step: [U1.1], mask: [U1.2], lamp: [U1.3]",
                               "step: in, lamp: out"))  # fmt: skip
    assert (found.code, found.net, found.pins) == ("input-open", "mask", ("U1.2",))
    assert found.message.startswith("input U1.2 (B1) is alone on net 'mask': it reads high")


def test_unused_cmos_inputs_are_errors_one_by_one(check: Check) -> None:
    found = check(_one_chip("74HC00", "14", "7", "step: [U1.1, U1.2], lamp: [U1.3]",
                            "step: in, lamp: out"))  # fmt: skip
    assert [(f.code, f.severity, f.pins) for f in found] == [
        ("input-open", Severity.ERROR, (f"U1.{pin}",)) for pin in (4, 5, 9, 10, 12, 13)
    ]
    assert "its gate is unused" in found[0].message


def test_an_unused_flip_flop_of_an_ls_chip_is_no_more_than_a_note(check: Check) -> None:
    assert not check(
        _one_chip(
            "74LS74",
            "14",
            "7",
            "on: [U1.1, U1.4], step: [U1.2], beat: [U1.3], lamp: [U1.5]",
            "on: in, step: in, beat: in, lamp: out",
        )
    )


CONTROLS = [
    # chip, wired pins (beside supplies), open control pin, what the data book's table says of H
    ("74LS157", {"1": "s", "2": "a", "3": "b", "4": "y"}, "15", "Y1 to Y4 always stay low"),
    ("74LS244", {"2": "a", "18": "y"}, "1", "Y11 to Y14 never drive"),
    ("74LS245", {"2": "a", "18": "b", "19": "g"}, "1", "A1 to A8 never drive"),
    ("74LS374", {"3": "d", "2": "q", "11": "c"}, "1", "Q0 to Q7 never drive"),
    ("74LS374", {"3": "d", "2": "q", "1": "oe"}, "11", "no edge ever comes"),
    ("74LS373", {"3": "d", "2": "q", "1": "oe"}, "11", "the latch is always open"),
    ("74LS74", {"2": "d", "3": "c", "4": "p", "5": "q"}, "1", "the chip is never cleared"),
    ("74LS74", {"2": "d", "3": "c", "1": "r", "5": "q"}, "4", "the chip is never preset"),
    ("74LS173", {"14": "d", "7": "c", "3": "q", "1": "m", "2": "n", "9": "g", "10": "h"}, "15",
     "the chip is always cleared"),
    ("74LS138", {"1": "a", "2": "b", "3": "c", "4": "e", "5": "f", "15": "y"}, "6",
     "the chip is always enabled"),
    ("74LS138", {"1": "a", "2": "b", "3": "c", "6": "e", "5": "f", "15": "y"}, "4",
     "Y0_n to Y7_n always stay high"),
    ("74LS153", {"14": "a", "1": "g", "6": "x", "5": "y", "4": "z", "3": "w", "7": "q"}, "2",
     "the selector always takes C12, C13, C22 and C23, never C10, C11, C20 and C21"),
]  # fmt: skip


@pytest.mark.parametrize(("chip", "wired", "pin", "seen"), CONTROLS)
def test_what_a_control_that_reads_high_does(
    check: Check, chip: str, wired: dict[str, str], pin: str, seen: str
) -> None:
    big = chip in ("74LS244", "74LS245", "74LS374", "74LS373")
    supply, ground = ("20", "10") if big else ("14", "7") if chip == "74LS74" else ("16", "8")
    nets = ", ".join(f"{name}: [U1.{number}]" for number, name in wired.items())
    ports = ", ".join(f"{name}: both" for name in wired.values())
    found = [f for f in check(_one_chip(chip, supply, ground, nets, ports))
             if f.pins == (f"U1.{pin}",)]  # fmt: skip
    assert [(f.code, f.severity) for f in found] == [("control-open", Severity.ERROR)]
    assert seen in found[0].message
    assert " is open and reads high: " in found[0].message


def test_an_open_write_pin_of_a_memory(check: Check) -> None:
    address = ", ".join(f"U1.A{bit}" for bit in range(11))
    (found,) = check(
        _one_chip("6116", "24", f"12, {address}, U1.18, U1.20", "d: [U1.9]", "d: both")
    )
    assert (found.code, found.pins) == ("control-open", ("U1.21",))
    assert found.message == (
        "U1.21 (WE_n) is open and reads anything: the chip may be written at any moment"
    )


def test_unused_data_pins_of_a_memory_are_no_fault(check: Check) -> None:
    # Seven of eight data pins are open: a memory of which one bit is used (common practice).
    address = ", ".join(f"U1.A{bit}" for bit in range(11))
    assert not check(
        _one_chip(
            "6116", "24", f"12, {address}, U1.18, U1.20", "d: [U1.9], w: [U1.21]", "d: both, w: in"
        )
    )


def test_an_undriven_net_with_only_a_capacitor(check: Check) -> None:
    found = check(
        f"parts:\n  U1: 74LS04\n{C1}  C2: {{part: capacitor, value: 1n}}\n"
        "nets: {VCC: [U1.14, C1.1], GND: [U1.7, C1.2, C2.2], a: [U1.1, C2.1], lamp: [U1.2]}\n"
        "ports: {lamp: out}\n"
    )
    assert [(f.code, f.net) for f in found] == [("net-undriven", "a")]


@pytest.mark.parametrize(
    "driver",
    [
        "parts:\n  R1: {part: resistor, value: 4k7}\nnets: {VCC: [R1.1], a: [R1.2]}\nports: {}\n",
        "parts:\n  J1: {part: connector, pins: 1}\nnets: {VCC: [], a: [J1.1]}\nports: {}\n",
        "parts:\n  C9: {part: capacitor}\nnets: {VCC: [C9.1], a: [C9.2]}\nports: {a: in}\n",
        "parts:\n  M: {part: spdt, positions: [A, B]}\nnets: {VCC: [M.1], a: [M.2]}\nports: {}\n",
    ],
    ids=["pull", "connector", "port", "switch"],
)
def test_what_drives_a_net(check: Check, driver: str) -> None:
    parts, rest = driver.removeprefix("parts:\n").split("nets: {VCC: [")
    supplies, rest = rest.split("], a: [")
    on_net, ports = rest.split("]}\nports: {")
    extra = f", {supplies}" if supplies else ""
    found = check(
        f"parts:\n  U1: 74LS04\n{C1}{parts}"
        f"nets: {{VCC: [U1.14, C1.1{extra}], GND: [U1.7, C1.2], a: [U1.1, U1.3, {on_net}], "
        f"b: [U1.2], c: [U1.4]}}\n"
        f"ports: {{b: out, c: out, {ports}"
    )
    assert not [f for f in found if f.code == "net-undriven"]


def test_a_lone_output_is_only_a_note(check: Check) -> None:
    assert not check(_one_chip("74LS04", "14", "7", "step: [U1.1], spare: [U1.2]", "step: in"))


def test_a_port_or_connector_pin_may_be_alone(check: Check) -> None:
    assert not check(
        f"parts:\n  U1: 74LS04\n{C1}  J1: {{part: connector, pins: 2}}\n"
        "nets: {VCC: [U1.14, C1.1], GND: [U1.7, C1.2], a: [U1.1], b: [U1.2], c: [J1.2]}\n"
        "ports: {a: in, b: out}\n"
    )


DRIFTING = [
    ("74HC74", "14", "7", {"2": "d", "3": "c", "4": "p", "5": "q"}, "1", "cleared"),
    ("74HC74", "14", "7", {"2": "d", "3": "c", "1": "r", "5": "q"}, "4", "preset"),
    ("74HC74", "14", "7", {"2": "d", "1": "r", "4": "p", "5": "q"}, "3", "may clock the chip"),
    ("74HC373", "20", "10", {"3": "d", "2": "q", "1": "g"}, "11", "the latch may open"),
    ("74HC373", "20", "10", {"3": "d", "2": "q", "11": "l"}, "1", "is enabled or not"),
    ("74HC157", "16", "8", {"2": "a", "3": "b", "4": "y", "15": "g"}, "1", "the choice changes"),
    ("74HC165", "16", "8", {"2": "c", "15": "i", "9": "q"}, "1", "the chip may load"),
]


@pytest.mark.parametrize(("chip", "supply", "ground", "wired", "pin", "seen"), DRIFTING)
def test_what_a_cmos_control_that_drifts_does(
    check: Check,
    chip: str,
    supply: str,
    ground: str,
    wired: dict[str, str],
    pin: str,
    seen: str,
) -> None:
    nets = ", ".join(f"{name}: [U1.{number}]" for number, name in wired.items())
    ports = ", ".join(f"{name}: both" for name in wired.values())
    board = _one_chip(chip, supply, ground, nets, ports)
    found = [f for f in check(board) if f.pins == (f"U1.{pin}",)]
    assert [(f.code, f.severity) for f in found] == [("control-open", Severity.ERROR)]
    assert " is open and reads anything: " in found[0].message
    assert seen in found[0].message


@pytest.mark.parametrize(
    ("chip", "wired", "pin", "seen"),
    [
        # Function tables of the data books, with that pin high.
        ("74LS163", "1 2 7 10 14", "9", "the chip never loads"),
        ("74LS163", "1 2 9 10 14", "7", "the chip is always enabled"),
        ("74LS165", "2 15 9", "1", "the chip never loads"),
        ("74LS189", "1 2 4 5", "3", "the chip is never written"),
        ("74LS377", "11 3 2", "1", "the chip is never enabled"),
    ],
)
def test_controls_of_storage_that_read_high(
    check: Check, chip: str, wired: str, pin: str, seen: str
) -> None:
    supply, ground = ("20", "10") if chip == "74LS377" else ("16", "8")
    nets = ", ".join(f"n{number}: [U1.{number}]" for number in wired.split())
    ports = ", ".join(f"n{number}: both" for number in wired.split())
    board = _one_chip(chip, supply, ground, nets, ports)
    found = [f for f in check(board) if f.pins == (f"U1.{pin}",)]
    assert [f.code for f in found] == ["control-open"]
    assert found[0].message.endswith(f" is open and reads high: {seen}")


def test_an_open_lamp_test_is_no_chip_that_is_off(check: Check) -> None:
    """With LT (pin 3) of a 47 high it shows its digits (function table, rows 0 to 15)."""
    board = _one_chip("74LS47", "16, U1.5", "8, U1.1, U1.2, U1.6", "a: [U1.7], on: [U1.13]",
                      "a: in, on: out")  # fmt: skip
    (found,) = [f for f in check(board) if "U1.3" in f.pins]
    assert (found.code, found.severity) == ("input-open", Severity.WARNING)
    assert found.message == "input U1.3 (LT_n) is open: it reads high (an open LS input does)"


def test_the_hint_tells_which_level_is_active(check: Check) -> None:
    board = _one_chip("74LS373", "20", "10", "d: [U1.3], q: [U1.2]", "d: in, q: out")
    hints = {f.pins[0]: f.hint for f in check(board) if f.code == "control-open"}
    assert hints == {
        "U1.1": "Wire it, or tie it to the level that is meant: "
        "OE_n is the enable pin, active low.",
        "U1.11": "Wire it, or tie it to the level that is meant: LE is the latch pin, active high.",
    }


def test_a_transceivers_open_side_is_tied_through_a_resistor(check: Check) -> None:
    board = _one_chip("74HC245", "20, U1.1", "10, U1.19", "a: [U1.2], b: [U1.18], c: [U1.17]",
                      "a: both, b: both, c: both")  # fmt: skip
    (found,) = check(board)
    assert (found.code, found.pins) == ("input-open", ("U1.3",))
    assert found.hint.startswith("Wire it, or tie it through 10k")
