"""The current budget and spare gates, worked out by hand.

I_CC: the makers' data books of TTL and LS parts and JEDEC JESD7-A, all from memory; the rest
is Ohm's law at 5.25 V, and 2 V lost in an LED (common practice).
"""

from pathlib import Path

import pytest

from breadproof.specs.load import load_netlist
from breadproof.specs.reading.diagnostics import BadInput
from breadproof.verify.wiring.budget import Budget, budget_of
from breadproof.verify.wiring.finding import Finding
from breadproof.verify.wiring.registry import check_wiring
from breadproof.verify.wiring.spare import spare_units
from breadproof.verify.wiring.survey import Survey

BOARDS = Path(__file__).parents[2] / "specs" / "boards"
MA = 1e-3
ONE = """
parts:
  U1: 74LS00
  C1: {part: capacitor, value: 100n}
nets:
  VCC: [U1.14, C1.1]
  GND: [U1.7, C1.2, U1.4, U1.5, U1.9, U1.10, U1.12, U1.13]
  a: [U1.1, U1.2]
  y: [U1.3]
ports: {a: in, y: out}
"""


def survey(tmp_path: Path, text: str) -> Survey:
    path = tmp_path / "board.yaml"
    path.write_text("board: stage\n" + text.lstrip("\n"), "utf-8")
    return Survey(load_netlist(path))


def told(tmp_path: Path, text: str) -> list[Finding]:
    found = check_wiring(survey(tmp_path, text).netlist)
    return [finding for finding in found if finding.code == "current-budget"]


def sums(budget: Budget) -> dict[str, float]:
    return {one.what: round(one.amperes / MA, 3) for one in budget.taken if one.amperes}


def test_the_light_store_by_hand() -> None:
    budget = budget_of(Survey(load_netlist(BOARDS / "light-store.yaml")))
    assert sums(budget) == {
        "74LS541": 220, "74LS173": 120, "74LS163": 32, "74LS374": 90, "74LS74": 16,
        "74LS00": 8.8, "74LS10": 3.3, "74LS02": 5.4, "74LS14": 21, "74LS139": 11,
        "LED at 330 ohm": 157.576,  # 16 x 3.25 V / 330 ohm
        "pull of 10k": 22.05,  # 42 x 5.25 V / 10k
    }  # fmt: skip
    assert budget.known == pytest.approx(707.126 * MA, rel=1e-5)
    assert budget.unknown == ("U1", "U2")  # each maker's 6116 has its own


def test_spare_gates_of_the_light_store_by_hand() -> None:
    spare = spare_units(Survey(load_netlist(BOARDS / "light-store.yaml")))
    assert {one.part.name: (one.of, [unit.text for unit in one.units]) for one in spare} == {
        "U3": (8, ["9 to 11", "8 to 12"]),
        "U4": (8, ["9 to 11", "8 to 12"]),
        "U6": (8, ["9 to 11", "8 to 12", "7 to 13", "6 to 14"]),
        "U10": (4, ["12 to 5", "11 to 6"]),
        "U13": (8, ["13 to 12", "14 to 15", "17 to 16", "18 to 19"]),
        "U15": (2, ["10, 11, 12, 13 to 8, 9"]),
        "U17": (4, ["12, 13 to 11"]),
        "U19": (4, ["8, 9 to 10", "11, 12 to 13"]),
        "U20": (6, ["5 to 6", "9 to 8", "11 to 10", "13 to 12"]),
        "U21": (2, ["13, 14, 15 to 9, 10, 11, 12"]),
    }


def test_analogue_switches_can_be_spare(tmp_path: Path) -> None:
    """The 4066: four switches, 1-2 by 13, 4-3 by 5, 8-9 by 6, 11-10 by 12 (JEDEC pin-out)."""
    board = survey(
        tmp_path,
        "parts: {U1: 74HC4066}\nnets:\n  VCC: [U1.14]\n  GND: [U1.7, U1.5, U1.6, U1.12]\n"
        "  c: [U1.13]\n  a: [U1.1]\n  y: [U1.2]\nports: {c: in, a: in, y: out}\n",
    )
    (spare,) = spare_units(board)
    assert spare.of == 4
    assert [unit.text for unit in spare.units] == ["5 to 3, 4", "6 to 8, 9", "12 to 10, 11"]


@pytest.mark.parametrize(
    ("parts", "nets", "wanted"),
    [
        # Two resistors side by side: 165 ohm.
        (
            "D1: {part: led}\n  R1: {part: resistor, value: 330}\n"
            "  R2: {part: resistor, value: 330}",
            "VCC: [D1.A]\n  k: [D1.K, R1.1, R2.1]\n  GND: [R1.2, R2.2]",
            {"LED at 165 ohm": 19.697},
        ),
        # One on either side: 660 ohm; a button between makes no difference.
        (
            "D1: {part: led}\n  R1: {part: resistor, value: 330}\n  B: push-button\n"
            "  R2: {part: resistor, value: 330}",
            "VCC: [R1.1]\n  a: [R1.2, B.1]\n  b: [B.2, D1.A]\n  k: [D1.K, R2.1]\n  GND: [R2.2]",
            {"LED at 660 ohm": 4.924},
        ),
        # The wrong way round it stays dark; a pull that nothing can pull takes nothing.
        (
            "D1: {part: led}\n  R1: {part: resistor, value: 330}\n"
            "  R2: {part: resistor, value: 1k}",
            "VCC: [D1.K, R2.1]\n  k: [D1.A, R1.1]\n  GND: [R1.2]\n  up: [R2.2]",
            {},
        ),
        # A button pulls it; a second resistor behind it is not counted off.
        (
            "B: push-button\n  R1: {part: resistor, value: 1k}\n  R2: {part: resistor, value: 2k}",
            "VCC: [R1.1]\n  up: [R1.2, B.1]\n  low: [B.2, R2.1]\n  GND: [R2.2]",
            {"pull of 1k": 5.25},
        ),
        # Six inverters of HC: what JESD7-A allows the largest part at rest.
        ("U1: 74HC04", "VCC: [U1.14]\n  GND: [U1.7]", {"74HC04": 0.08}),
    ],
)
def test_currents(tmp_path: Path, parts: str, nets: str, wanted: dict[str, float]) -> None:
    board = survey(tmp_path, f"parts:\n  {parts}\nnets:\n  {nets}\n")
    assert sums(budget_of(board)) == wanted


def test_what_has_no_limit_is_not_known(tmp_path: Path) -> None:
    """An LED with no resistor, one whose resistor has no value, an oscillator, a monostable; a part
    of the 54 series."""
    board = survey(
        tmp_path,
        "parts:\n  D1: led\n  D2: led\n  R1: resistor\n  CK: {part: oscillator, frequency: 1 MHz}\n"
        "  U1: 74HC123\n  U2: 54LS00\n"
        "nets:\n  VCC: [D1.A, D2.A, CK.14, U1.16]\n  GND: [D1.K, R1.2, CK.7, U1.8]\n"
        "  k: [D2.K, R1.1]\n",
    )
    budget = budget_of(board)
    assert sorted(budget.unknown) == ["CK", "D1", "D2", "U1", "U2"]
    assert budget.known == 0


def test_nothing_is_said_where_no_current_is_stated(tmp_path: Path) -> None:
    assert told(tmp_path, ONE) == []
    assert told(tmp_path, "supply: {voltage: 5 V}" + ONE) == []


def test_the_limit_itself_is_enough(tmp_path: Path) -> None:
    """4.4 mA: I_CCL of the LS00."""
    assert told(tmp_path, "supply: {current: 4.4 mA}" + ONE) == []
    (finding,) = told(tmp_path, "supply: {voltage: 5 V, current: 4.3 mA}" + ONE)
    assert finding.diagnostic().render() == (
        f"{tmp_path}/board.yaml:2:33: error: the board may take 4.4 mA (chips 4.4 mA), and the "
        "supply gives 4.3 mA [current-budget]\n"
        "    supply: {voltage: 5 V, current: 4.3 mA}\n"
        "                                    ^^^^^^\n"
        f"  Use a stronger supply, or larger resistors at the LEDs; 'breadproof parts --of "
        f"{tmp_path}/board.yaml' shows the sum."
    )
    assert (finding.net, finding.pins) == ("VCC", ("U1.14",))


def test_it_can_be_accepted(tmp_path: Path) -> None:
    accept = "accept: [{code: current-budget, net: VCC, because: never all lit}]\n"
    (finding,) = told(tmp_path, "supply: {current: 1 mA}" + ONE + accept)
    assert finding.accepted == "never all lit"


def test_what_is_not_known_is_a_warning(tmp_path: Path) -> None:
    text = ONE.replace("  C1:", '  U2: "6116"\n  C1:').replace("VCC: [", "VCC: [U2.24, ")
    (finding,) = told(tmp_path, "supply: {current: 1 A}" + text)
    assert (finding.severity.value, finding.pins) == ("warning", ("U2.24",))
    assert finding.message == (
        "the board may take 4.4 mA (chips 4.4 mA), and the supply gives 1000 mA; "
        "what U2 takes is not known"
    )
    (finding,) = told(tmp_path, "supply: {current: 1 mA}" + text)
    assert (finding.severity.value, finding.pins) == ("error", ("U1.14", "U2.24"))
    assert finding.message.endswith("the supply gives 1 mA; what U2 takes comes on top")


@pytest.mark.parametrize(
    ("supply", "place", "message", "hint"),
    [
        ("{current: 500}", "2:19", "'500' is no current", "Write '500 mA' or '1 A'."),
        ("{current: 5 V}", "2:19", "'5 V' is no current", "Write '500 mA' or '1 A'."),
        ("{current: 0 A}", "2:19", "'0 A' is no current", "Write '500 mA' or '1 A'."),
        ("{voltage: x}", "2:19", "'x' is no supply voltage", "Write '5 V' or '3.3 V'."),
        ("{amps: 1 A}", "2:10", "a supply has no 'amps'", "It has 'voltage' and 'current'."),
        (
            "{current: [1 A]}", "2:19", "'current' is one value",
            "Write 'supply: {voltage: 5 V, current: 1 A}'.",
        ),
    ],
)  # fmt: skip
def test_a_supply_that_is_none(
    tmp_path: Path, supply: str, place: str, message: str, hint: str
) -> None:
    with pytest.raises(BadInput) as caught:
        survey(tmp_path, f"supply: {supply}{ONE}")
    (found,) = caught.value.diagnostics
    assert f"{found.span.line}:{found.span.column}" == place
    assert (found.message, found.hint) == (message, hint)
