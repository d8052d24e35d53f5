"""What hangs on an output against what it guarantees.

The numbers of inputs are the worked examples of the data books' sections on loading (sum of I_IL
against I_OL, of I_IH against I_OH), from memory: LS to LS 20, HC to LS 10, LS to TTL 5, LS to F 13,
F to F 33, TTL to TTL 10, S to S 10. An LED drops 2 V (common practice).
"""

from pathlib import Path

import pytest

from breadproof.specs.load import load_netlist
from breadproof.verify.wiring.registry import check_wiring
from tests.wiring.conftest import Check

GATES = (1, 3, 5, 9, 11, 13)
OUTPUTS = (2, 4, 6, 8, 10, 12)


def _many(first: str, second: str, count: int, *, more: str = "", nets: str = "") -> str:
    """One gate of a hex inverter, and ``count`` inputs of others on it."""
    chips = [f"U{number}" for number in range(2, 3 + (count - 1) // 6)]
    every = [f"{chip}.{pin}" for chip in chips for pin in GATES]
    used, rest = every[:count], every[count:]
    parts = "".join(f"  {chip}: {second}\n" for chip in chips)
    caps = "".join(f"  C{n}: {{part: capacitor, value: 100n}}\n" for n in range(len(chips) + 1))
    tops = [f"{chip}.14" for chip in ("U1", *chips)] + [f"C{n}.1" for n in range(len(chips) + 1)]
    lows = [f"{chip}.7" for chip in ("U1", *chips)] + [f"C{n}.2" for n in range(len(chips) + 1)]
    lows += [*rest, *(f"U1.{pin}" for pin in GATES[1:])]
    return (
        f"parts:\n  U1: {first}\n{parts}{caps}{more}nets:\n  VCC: [{', '.join(tops)}]\n"
        f"  GND: [{', '.join(lows)}]\n  step: [U1.1]\n  wire: [{', '.join(['U1.2', *used])}]\n"
        f"{nets}ports: {{step: in}}\n"
    )


@pytest.mark.parametrize(
    ("first", "second", "most"),
    [
        ("74LS04", "74LS04", 20),
        ("74HC04", "74LS04", 10),
        ("74LS04", "7404", 5),
        ("74LS04", "74F04", 13),
        ("74F04", "74F04", 33),
        ("7404", "7404", 10),
        ("74S04", "74S04", 10),
        ("7404", "74LS04", 20),  # 0.4 mA / 20 uA while high; 16 mA / 0.4 mA = 40 while low
        ("74ALS04", "74ALS04", 20),
        ("54LS04", "74LS04", 10),  # 4 mA
    ],
)
def test_worked_examples_of_the_data_books(
    check: Check, first: str, second: str, most: int
) -> None:
    assert [f.code for f in check(_many(first, second, most))] == []
    found = check(_many(first, second, most + 1))
    assert [f.code for f in found] == ["fan-out"]


@pytest.mark.parametrize(("second", "count"), [("74HC04", 36), ("74HCT04", 36)])
def test_cmos_inputs_ask_for_next_to_nothing(check: Check, second: str, count: int) -> None:
    found = check(_many("74HC04", second, count))
    assert not found


def test_what_a_message_says_of_a_high(check: Check) -> None:
    """F: 1 mA at 2.5 V; TTL: 40 uA. 26 of them: 1.04 mA; low: 26 x 1.6 mA = 41.6 mA of 20 mA."""
    (found,) = check(_many("7404", "74LS04", 21))
    assert found.message == (
        "U1.2 (Y1), a 7404, drives 21 inputs: 0.42 mA while high; it gives 0.4 mA at 2.4 V"
    )
    (found,) = check(_many("74F04", "7404", 26))
    assert "drives 26 inputs: 41.6 mA while low; it sinks 20 mA at 0.5 V" in found.message


def test_a_cmos_output_asked_for_a_little_more_is_a_warning(check: Check) -> None:
    """HC: 4.4 mA, 0.33 V x 1.1 = 0.36 V of the 0.8 V of LS; with 25 mA and more it is none."""
    (found,) = check(_many("74HC04", "74LS04", 11))
    assert found.severity.value == "warning"
    (found,) = check(_many("74HC04", "7404", 16))  # 25.6 mA
    assert found.severity.value == "error"


def test_unit_loads_of_single_pins_count(check: Check) -> None:
    """Clears of the LS74: 0.8 mA each, so ten of them are 8 mA and a gate more too much."""
    chips = [f"U{n}" for n in range(2, 7)]
    ties = ", ".join(f"{c}.{p}" for c in chips for p in (2, 3, 4, 10, 11, 12, 14))
    clears = ", ".join(f"{c}.{p}" for c in chips for p in (1, 13))
    parts = "".join(f"  {c}: 74LS74\n" for c in chips)
    caps = "".join(f"  C{n}: {{part: capacitor, value: 100n}}\n" for n in range(6))
    board = (
        f"parts:\n  U1: 74LS04\n{parts}{caps}nets:\n"
        f"  VCC: [U1.14, {ties}, {', '.join(f'C{n}.1' for n in range(6))}]\n"
        f"  GND: [U1.7, U1.5, U1.9, U1.11, U1.13, {', '.join(f'{c}.7' for c in chips)}, "
        f"{', '.join(f'C{n}.2' for n in range(6))}XX]\n  step: [U1.1]\n"
        f"  clear_n: [U1.2, {clears}YY]\nports: {{step: in}}\n"
    )
    assert not check(board.replace("XX", ", U1.3").replace("YY", ""))
    (found,) = check(board.replace("XX", "").replace("YY", ", U1.3"))
    assert "drives 11 inputs: 8.4 mA while low" in found.message


def test_inputs_behind_a_closed_switch_count_and_positions_do_not_add_up(check: Check) -> None:
    """Ten inputs on each position of a change-over switch, or eleven on each of two ways."""
    more = "  S: {part: spdt, positions: [LEFT, RIGHT]}\n  R1: {part: resistor, value: 10k}\n"
    more += "  R2: {part: resistor, value: 10k}\n"
    board = _many("74LS04", "74LS04", 24)
    head, _, tail = board.partition("  wire: [")
    pins = tail.partition("]")[0].split(", ")
    one, two = ", ".join(pins[1:13]), ", ".join(pins[13:])
    head = head.replace("nets:\n", f"{more}nets:\n").replace("VCC: [", "VCC: [R1.1, R2.1, ")
    wires = "  wire: [U1.2, S.2]\n" + f"  a: [S.1, R1.2, {one}]\n  b: [S.3, R2.2, {two}]\n"
    ports = "ports: {step: in}\n"
    assert not [f for f in check(head + wires + ports) if f.code == "fan-out"]
    both = head.replace("{part: spdt, positions: [LEFT, RIGHT]}", "{part: dip-switch, ways: 2}")
    wires = "  wire: [U1.2, S.1, S.2]\n" + f"  a: [S.4, R1.2, {one}]\n  b: [S.3, R2.2, {two}]\n"
    found = [f for f in check(both + wires + ports) if f.code == "fan-out"]
    assert [f.pins[0] for f in found] == ["U1.2"]
    assert "drives 24 inputs: 9.6 mA while low" in found[0].message


def test_several_drivers_of_a_net_stand_each_alone(check: Check) -> None:
    """Memories sink 2.1 mA (28C256 class), LS bus drivers 24 mA: six LS inputs are 2.4 mA."""
    data = ", ".join(f"d{bit}: [U1.IO{bit}]" for bit in range(1, 8))
    address = ", ".join(f"U1.A{bit}" for bit in range(15))
    found = check(
        "parts:\n  U1: 28C256\n  U2: 74LS244\n  U3: 74LS04\n"
        "  C1: {part: capacitor, value: 100n}\n  C2: {part: capacitor, value: 100n}\n"
        "  C3: {part: capacitor, value: 100n}\n"
        f"nets: {{VCC: [U1.28, U2.20, U3.14, C1.1, C2.1, C3.1, U1.27], "
        f"GND: [U1.14, U2.10, U3.7, C1.2, C2.2, C3.2, {address}, U1.20, "
        "U2.19, U2.4, U2.6, U2.8, U2.11, U2.13, U2.15, U2.17], "
        f"read_n: [U1.22], write_n: [U2.1], key: [U2.2], {data}, "
        "bus: [U1.IO0, U2.18, U3.1, U3.3, U3.5, U3.9, U3.11, U3.13]}\n"
        "ports: {read_n: in, write_n: in, key: in}\n"
    )
    loaded = [f for f in found if f.code == "fan-out"]
    assert [(f.pins[0], f.net) for f in loaded] == [("U1.11", "bus")]
    # 6 x 0.4 mA, and 20 uA of the bus driver that lets go.
    assert "drives 6 inputs and 1 output that let go: 2.42 mA while low" in loaded[0].message


C = "  C1: {part: capacitor, value: 100n}\n  C2: {part: capacitor, value: 100n}\n"
LED = "  D1: {part: led, colour: amber}\n"


def _pulled(
    first: str, second: str, value: str, to: str, *, led: str = "", supply: str = ""
) -> str:
    """An inverter drives an inverter, with a resistor to a rail; an LED in its way with ``led``.

    ``led`` is the resistor's value, ``value`` then none.
    """
    parts, wire, ends = "", "", {"VCC": "", "GND": ""}
    if value:
        parts += f"  R1: {{part: resistor, value: {value}}}\n"
        wire, ends[to] = ", R1.2", ", R1.1"
    nets = ""
    if led:
        parts += f"  R2: {{part: resistor, value: {led}}}\n{LED}"
        near, far = ("D1.A", "D1.K") if to == "GND" else ("D1.K", "D1.A")
        wire += ", R2.1"
        nets, ends[to] = f", lit: [R2.2, {near}]", f"{ends[to]}, {far}"
    reader = ", U2.1" if second else ""
    other = (
        f"GND: [U1.7, U2.7, C1.2, C2.2, U1.3, U1.5, U1.9, U1.11, U1.13, U2.3, U2.5, U2.9, U2.11, "
        f"U2.13{'' if second else ', U2.1'}{ends['GND']}]"
    )
    return (
        f"{supply}parts:\n  U1: {first}\n  U2: {second or '74HC04'}\n{C}{parts}"
        f"nets: {{VCC: [U1.14, U2.14, C1.1, C2.1{ends['VCC']}], {other}, "
        f"step: [U1.1], wire: [U1.2{wire}{reader}]{nets}}}\nports: {{step: in}}\n"
    )


@pytest.mark.parametrize(
    ("first", "second", "to", "fits", "strong", "severity", "hint"),
    [
        # (5.25 V - 0.5 V) / (8 mA - 0.4 mA) = 625 ohm; with an HC input 594 ohm.
        ("74LS05", "74LS04", "VCC", "680", "560", "error", "630 ohm"),
        ("74LS05", "74HC04", "VCC", "600", "590", "error", "600 ohm"),
        ("74LS04", "74LS04", "VCC", "680", "560", "error", "630 ohm"),
        # TTL: (5.25 V - 0.4 V) / (16 mA - 1.6 mA) = 337 ohm.
        ("7405", "7404", "VCC", "360", "330", "error", "340 ohm"),
        # 06 and 07: 0.7 V at 40 mA: 4.55 V / 39.6 mA = 115 ohm.
        ("7406", "74LS04", "VCC", "120", "110", "error", "120 ohm"),
        # LS high: 2.7 V / (0.4 mA - 20 uA) = 7.1k.
        ("74LS04", "74LS04", "GND", "7.5k", "6.8k", "error", "7.2k"),
        # HC: (5.25 V - 0.33 V) / 4 mA = 1.23k; high: (3.84 V + 0.75 V) / 4 mA = 1.15k.
        ("74HC04", "74HC04", "VCC", "1.3k", "1.2k", "warning", "1.3k"),
        ("74HC04", "74HC04", "GND", "1.2k", "1.1k", "warning", "1.2k"),
        ("74HC04", "74HC04", "VCC", "1.3k", "150", "error", "1.3k"),  # over 25 mA
    ],
)
def test_the_strongest_pull_that_an_output_can_bear(
    check: Check,
    first: str,
    second: str,
    to: str,
    fits: str,
    strong: str,
    severity: str,
    hint: str,
) -> None:
    assert not [f for f in check(_pulled(first, second, fits, to)) if f.code == "pull-strong"]
    (found,) = [f for f in check(_pulled(first, second, strong, to)) if f.code == "pull-strong"]
    assert (found.severity.value, found.hint) == (severity, f"Use {hint} or more.")
    assert found.pins[0] == "U1.2"


@pytest.mark.parametrize(
    ("supply", "value", "strong"),
    [
        ("5 V", "15k", False),  # 4.85 V / 15k = 0.32 mA of 0.36 mA
        ("5 V", "10k", True),
        ("12 V", "10k", False),  # 12.2 V / 10k = 1.22 mA; 0.9 mA at 10 V, 2.4 mA at 15 V: 1.5 mA
        ("12 V", "6.8k", True),
        ("15 V", "6.8k", False),  # 15.35 V / 6.8k = 2.26 mA
        ("15 V", "5.6k", True),
    ],
)
def test_the_4000_series_gives_more_at_a_higher_supply(
    check: Check, supply: str, value: str, strong: bool
) -> None:
    """JEDEC standard 13-B at 85 degrees, from memory."""
    board = _pulled("40106B", "40106B", value, "VCC", supply=f"supply: {supply}\n")
    found = [f for f in check(board) if f.code == "pull-strong"]
    assert [f.severity.value for f in found] == ["warning"] * strong


@pytest.mark.parametrize(
    ("gate", "pin", "fires"),
    [
        ("74LS04", "4", False),  # RESET: 0.4 V, 1.5 mA; LS: 0.4 V at 4 mA, 0.5 V at 8 mA
        ("74ALS04", "4", False),
        ("74F04", "4", True),  # 0.5 V
        ("74HC04", "4", False),
        ("74LS04", "6", True),  # THRES: 4.2 V; LS: 2.7 V
        ("74HC04", "6", False),  # 4.65 V
    ],
)
def test_gates_that_steer_a_timer(check: Check, gate: str, pin: str, fires: bool) -> None:
    """Data sheet of the bipolar 555 at 5 V, and data books, from memory."""
    idle = {"2": "U2.2", "4": "U2.4", "6": "U2.6"}
    del idle[pin]
    board = (
        f"parts:\n  U1: {gate}\n  U2: '555'\n{C}nets:\n"
        f"  VCC: [U1.14, U2.8, C1.1, C2.1, {', '.join(idle.values())}]\n"
        "  GND: [U1.7, U2.1, C1.2, C2.2, U1.3, U1.5, U1.9, U1.11, U1.13]\n"
        f"  step: [U1.1]\n  wire: [U1.2, U2.{pin}]\n  beat: [U2.3]\n"
        "ports: {step: in, beat: out}\n"
    )
    assert ["level-mismatch"] * fires == [
        f.code for f in check(board) if f.code in ("level-mismatch", "fan-out")
    ]


def test_several_pulls_of_one_net_count_together(check: Check) -> None:
    """Two of 1k: 2 x 4.75 V / 1k = 9.5 mA, and 0.4 mA."""
    board = _pulled("74LS05", "74LS04", "1k", "VCC")
    assert not check(board)
    twice = board.replace(", R1.2", ", R1.2, R3.2").replace(", R1.1", ", R1.1, R3.1")
    twice = twice.replace("  R1:", "  R3: {part: resistor, value: 1k}\n  R1:")
    (found,) = check(twice)
    assert found.message == (
        "U1.2 (Y1), a 74LS05, is to sink 9.9 mA against R3 and R1 (500 ohm together): "
        "it sinks 8 mA at 0.5 V"
    )
    assert found.hint == "Use 630 ohm or more together."


def test_a_divider_counts_as_one_way_to_ground(check: Check) -> None:
    """10k and 20k in a row take 2.7 V / 30k = 90 uA of an LS high; 1k and 2k take 0.9 mA."""
    board = _pulled("74LS04", "74LS04", "VALUE", "GND").replace(", R1.1", ", R4.2")
    board = board.replace("nets: {", "nets: {half: [R1.1, R4.1], ", 1)
    board = board.replace("  R1:", "  R4: {part: resistor, value: OTHER}\n  R1:")
    weak = board.replace("VALUE", "10k").replace("OTHER", "20k")
    assert not [f for f in check(weak) if f.code != "net-alone"]
    strong = board.replace("VALUE", "1k").replace("OTHER", "2k")
    (found,) = [f for f in check(strong) if f.code == "pull-strong"]
    assert "is to give 0.92 mA against R1 and R4 (3k)" in found.message


@pytest.mark.parametrize(
    ("first", "second", "to", "led", "severity"),
    [
        # LS high: (2.7 V - 2 V) / R of 0.38 mA: 1.84k at least. Low: 3 V - 0.25 V ... of 7.6 mA.
        ("74LS04", "74LS04", "GND", "1k", "error"),
        ("74LS04", "74LS04", "GND", "1.8k", "error"),
        ("74LS04", "74LS04", "GND", "2k", None),
        ("74LS04", "74LS04", "VCC", "330", "error"),  # 2.75 V / 330 ohm = 8.3 mA
        ("74LS04", "74LS04", "VCC", "390", None),  # 7.05 mA and 0.4 mA
        ("74LS05", "", "VCC", "330", None),  # nobody reads
        ("74LS04", "", "GND", "1k", None),
        # HC: (4.59 V - 2 V) / R of 4 mA; the level would do for HC, but is not promised.
        ("74HC04", "74HC04", "GND", "470", "warning"),
        ("74HC04", "74HC04", "GND", "680", None),
        ("74HC04", "", "GND", "220", None),  # 11.8 mA
        ("74HC04", "", "GND", "91", "warning"),  # 28 mA of 25 mA
        ("74AC04", "74AC04", "GND", "220", None),  # 24 mA
    ],
)
def test_lamps_on_nets_that_are_read_and_on_others(
    check: Check, first: str, second: str, to: str, led: str, severity: str | None
) -> None:
    board = _pulled(first, second, "", to, led=led)
    found = [f for f in check(board) if f.code == "led-loads"]
    assert [f.severity.value for f in found] == ([] if severity is None else [severity])


@pytest.mark.parametrize(("led", "noted"), [("180", False), ("150", True)])
def test_a_lamp_alone_on_a_bipolar_output_is_noted_at_twice_what_it_guarantees(
    tmp_path: Path, led: str, noted: bool
) -> None:
    """(5.25 V - 2 V - 0.5 V) / 180 ohm = 15.3 mA, 150 ohm: 18.3 mA; LS: 8 mA."""
    path = tmp_path / "board.yaml"
    path.write_text("board: stage\n" + _pulled("74LS04", "", "", "VCC", led=led), "utf-8")
    found = [f for f in check_wiring(load_netlist(path)) if f.code == "led-loads"]
    assert [f.severity.value for f in found] == ["note"] * noted


def test_what_is_said_of_a_lamp_that_nothing_else_reads(check: Check) -> None:
    """(4.59 V - 2 V) / 91 ohm."""
    (found,) = check(_pulled("74HC04", "", "", "GND", led="91"))
    assert found.message == ("U1.2 (Y1), a 74HC04, is to give 28.46 mA for D1: it bears 25 mA")


def _held(reader: str, pull: str, led: str, *, up: bool) -> str:
    """A button, a pull against it, and a lamp with a resistor that works against the pull."""
    vcc, gnd = ("R1.1", "B1.1, D1.K") if up else ("B1.1, D1.A", "R1.1")
    end = "D1.A" if up else "D1.K"
    return (
        f"parts:\n  U1: {reader}\n{C}  B1: {{part: push-button}}\n"
        f"  R1: {{part: resistor, value: {pull}}}\n  R2: {{part: resistor, value: {led}}}\n{LED}"
        f"nets:\n  VCC: [U1.14, C1.1, C2.1, {vcc}]\n"
        f"  GND: [U1.7, C1.2, C2.2, U1.3, U1.5, U1.9, U1.11, U1.13, {gnd}]\n"
        f"  key: [B1.2, R1.2, R2.1, U1.1]\n  lit: [R2.2, {end}]\n  told: [U1.2]\n"
        "ports: {told: out}\n"
    )


@pytest.mark.parametrize(
    ("reader", "pull", "led", "up", "reached"),
    [
        # (4.75 V / 1k + 2 V / 330 ohm) / (1 / 1k + 1 / 330 ohm) = 2.68 V; V_IH 3.5 V, of HCT 2 V.
        ("74HC04", "1k", "330", True, "2.68 V"),
        ("74HCT04", "1k", "330", True, None),
        # 1k and 1k: 3.375 V; 1k and 2.2k: 3.89 V.
        ("74HC04", "1k", "1k", True, "3.37 V"),
        ("74HC04", "1k", "2.2k", True, None),
        # Down: the lamp's side is at 5.25 V - 2 V: 3.25 V / 2 = 1.625 V; 3.25 V / 3.2 = 1.02 V.
        ("74HC04", "1k", "1k", False, "1.63 V"),
        ("74HC04", "1k", "2.2k", False, None),
    ],
)
def test_a_lamp_against_a_pull_resistor(
    check: Check, reader: str, pull: str, led: str, up: bool, reached: str | None
) -> None:
    found = check(_held(reader, pull, led, up=up))
    assert [f.code for f in found] == ["led-loads"] * (reached is not None)
    for finding in found:
        level = "3.5 V at least for a high" if up else "1.5 V at most for a low"
        assert finding.message == (
            f"D1 on net 'key' lets R1 (1k) bring it {'up' if up else 'down'} to {reached} only; "
            f"U1.1 (A1) needs {level}"
        )
