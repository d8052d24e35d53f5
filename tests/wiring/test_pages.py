"""Each rule's own boards: the one fires exactly that rule, the other none; and its page."""

from importlib.resources import as_file, files

import pytest

from breadproof.specs.load import load_netlist
from breadproof.verify.wiring.finding import Finding
from breadproof.verify.wiring.pages import load_page
from breadproof.verify.wiring.registry import RULES, Rule, check_wiring

FOLDER = files("breadproof.verify") / "rules"
CODES = [rule.code for rule in RULES]

# Line, column, net, pins and message, written from the board files and the trade's numbers (LS:
# 0.4 mA out of a low input, V_IL 0.8 V, V_OH 2.7 V, 4.75 V to 5.25 V; HC: V_IH 3.5 V; data books).
EXPECTED: dict[str, list[tuple[str, int, int, str | None, list[str], str]]] = {
    "supply-missing": [
        ("error", 4, 3, None, ["U1.14"], "U1 has no supply: U1.14 (VCC) is on no net")
    ],
    "supply-wrong-rail": [
        (
            "error", 7, 9, "GND", ["U1.14"],
            "U1.14 (VCC) is the supply pin of a 74LS08, and is on net 'GND', the ground rail",
        ),
        (
            "error", 8, 9, "VCC", ["U1.7"],
            "U1.7 (GND) is the ground pin of a 74LS08, and is on net 'VCC', the 5 V rail",
        ),
    ],
    "supply-voltage": [
        (
            "error", 9, 9, "VCC", ["U1.14"],
            "U1, a 74LS08, is on 3.3 V at U1.14 (VCC); "
            "the LS family is made for 4.75 V to 5.25 V",
        )
    ],
    "decoupling-missing": [
        (
            "warning", 4, 3, None, ["U1.14", "U2.14"],
            "1 decoupling capacitor is missing: there are 2 chips (U1 and U2), "
            "and between supply and ground is 1 capacitor of 10 nF to 1 uF",
        )
    ],
    "input-open": [
        (
            "error", 4, 3, None, ["U1.2"],
            "input U1.2 (B1) is open: it reads anything, "
            "and changes when a finger comes near (an open CMOS input)",
        )
    ],
    "control-open": [
        (
            "error", 4, 3, None, ["U5.1"],
            "U5.1 (S) is open and reads high: "
            "the selector always takes B1 to B4, never A1 to A4",
        )
    ],
    "gate-unused": [
        (
            "note", 4, 3, None, ["U1.3", "U1.5", "U1.9", "U1.11", "U1.13"],
            "U1.3 (A2), U1.5 (A3), U1.9 (A4), U1.11 (A5) and U1.13 (A6) are open and read high; "
            "no output of U1 that is used depends on them",
        )
    ],
    "net-undriven": [
        (
            "error", 15, 3, "turn", ["U2.1", "U3.1"],
            "nothing drives net 'turn', which is read by U2.1 (A1) and U3.1 (A1)",
        )
    ],
    "net-alone": [
        (
            "warning", 13, 13, "cathode", ["D1.2"],
            "net 'cathode' has one pin, D1.2 (K): it is joined to nothing",
        ),
        (
            "warning", 14, 12, "row_12", ["R1.2"],
            "net 'row_12' has one pin, R1.2: it is joined to nothing",
        ),
    ],
    "outputs-joined": [
        (
            "error", 13, 16, "lamp", ["U1.3", "U1.6"],
            "U1.3 (Y1) and U1.6 (Y2) are joined in net 'lamp', and each always drives it",
        )
    ],
    "output-on-rail": [
        (
            "error", 7, 27, "GND", ["U1.6"],
            "output U1.6 (Y2) is wired straight to the ground rail 'GND'",
        )
    ],
    "pull-up-missing": [
        (
            "error", 13, 3, "blackout_n", ["U1.2", "U1.4", "U2.2"],
            "net 'blackout_n' has no pull-up: the open-collector outputs U1.2 (Y1) and U1.4 (Y2) "
            "can only pull it low, and U2.2 (B1) reads it",
        )
    ],
    "diode-no-pull": [
        (
            "error", 13, 3, "cue", ["U1.1"],
            "net 'cue' has no pull-down: D1 and D2 can only bring a high, and U1.1 (A1) reads it",
        )
    ],
    "pull-weak": [
        (
            "error", 5, 3, "pressed", ["U1.3"],
            "R1 (10k) cannot pull net 'pressed' down to 'GND': U1.3 (D0) may give 0.4 mA, "
            "which lifts the net to 4 V; it needs 0.8 V at most for a low",
        )
    ],
    "pull-strong": [
        # (5.25 V - 0.5 V) / 470 ohm, of which 0.4 mA more from the OR gate's input.
        (
            "error", 15, 10, "go_n", ["U1.2", "U1.4", "U2.2"],
            "U1.2 (Y1), a 74LS05, is to sink 10.51 mA against R1 (470 ohm): it sinks 8 mA at 0.5 V",
        )
    ],
    "fan-out": [
        # 24 times 0.4 mA.
        (
            "error", 20, 7, "dark",
            ["U1.3", *(f"U{chip}.{pin}" for chip in (2, 3, 4, 5) for pin in (1, 3, 5, 9, 11, 13))],
            "U1.3 (Y1), a 74LS08, drives 24 inputs: 9.6 mA while low; it sinks 8 mA at 0.5 V",
        )
    ],
    "led-loads": [
        # (2.7 V - 2 V) / 330 ohm = 2.12 mA, and 20 uA.
        (
            "error", 14, 10, "beat", ["U1.2", "U2.9"],
            "U1.2 (Y1), a 74LS14, is to give 2.14 mA for D1 and what else is on the net, "
            "which U2.9 (CLK) reads: it gives 0.4 mA at 2.7 V",
        )
    ],
    "led-no-resistor": [
        (
            "error", 9, 16, "VCC", ["D1.1", "D1.2"],
            "LED D1 has no resistor: nothing limits the current from 'VCC' to 'lamp_n'",
        )
    ],
    "level-mismatch": [
        (
            "error", 13, 16, "next", ["U1.3", "U2.2"],
            "U1.3 (Y1), a 74LS08, guarantees only 2.7 V as a high on net 'next'; "
            "U2.2 (D1), a 74HC74, needs 3.5 V at least",
        )
    ],
    "over-voltage": [
        (
            "error", 14, 10, "line", ["U1.2"],
            "U1.2 (Y1), a 7405, bears 5.5 V at most, and net 'line' may be at 12 V: "
            "R1 (10k) pulls it up",
        )
    ],
    "family-unknown": [
        (
            "warning", 4, 3, None, [],
            "U1 is a 74HC37, and a 37 is not known to exist in the HC family: "
            "it is known in TTL, LS, ALS, F and S",
        )
    ],
    "switch-no-pull": [
        (
            "warning", 11, 3, "store_n", ["U1.3"],
            "net 'store_n' floats while STORE is open: U1.3 (D0) then reads high only as an open "
            "bipolar input does, with no margin against noise",
        )
    ],
    "switch-idle": [
        (
            "warning", 12, 3, "store_n", ["U1.3"],
            "STORE does nothing: net 'store_n' is high all the same, for it leads to VCC, and so "
            "does R1",
        )
    ],
    "switch-bounces": [
        (
            "warning", 11, 26, "step_n", ["U1.2", "STEP.1", "STEP.2"],
            "STEP reaches the clock pin U1.2 (CLK) with nothing to debounce it: "
            "one press counts several times",
        )
    ],
    "edge-slow": [
        (
            "warning", 12, 30, "tap_n", ["U1.1"],
            "U1.1 (CLK1) reads net 'tap_n', which C2 makes rise and fall slowly: "
            "one slow edge can be seen as several",
        )
    ],
    "crystal-idle": [
        (
            "warning", 13, 28, "near", ["X1.1", "X1.2"],
            "X1 gives no clock: the inputs beside it, on nets 'near' and 'far', are driven by "
            "outputs",
        )
    ],
    "wire-beside": [
        (
            "warning", 13, 5, None, ["U1.8"],
            "the wire in b1.j12 is alone in its column: it probably means U1.8 (Y4), "
            "one column beside it",
        )
    ],
    "supplies-joined": [
        (
            "error", 12, 5, "VCC",
            ["U1.3", "U1.5", "U1.7", "U1.9", "U1.11", "U1.13", "U1.14", "C1.1"],
            "'VCC' (5 V) and 'GND' (0 V) are one net: the supply is shorted",
        )
    ],
    "rail-unfed": [
        (
            "error", 7, 42, "C2.1", ["C2.1", "C3.1"],
            "rail b1.upper+ (second half) is joined to no supply: C2.1 and C3.1 stand on it",
        )
    ],
    "leg-open": [
        (
            "warning", 13, 13, "cathode", ["D1.1", "D1.2"],
            "D1.1 (A) is wired to nothing: D1 stays dark",
        )
    ],
    "outputs-twinned": [
        (
            "error", 11, 11, "lamps", ["U1.16", "U1.18"],
            "U1.16 (Y12) and U1.18 (Y11) are joined in net 'lamps', and U1 always enables them "
            "together",
        )
    ],
    "outputs-switched": [
        (
            "error", 13, 12, "slow_n", ["U1.2", "U1.4"],
            "PICK joins outputs U1.2 (Y1) and U1.4 (Y2), and each always drives",
        )
    ],
    "bus-floats": [
        (
            "note", 15, 3, "pattern", ["U2.1"],
            "net 'pattern' has no pull resistor: while none of the three-state outputs there is "
            "enabled, what reads it reads high, with no margin",
        )
    ],
    "strobe-gated": [
        (
            "note", 13, 17, "gated", ["U1.3"],
            "U1.3 (CLK1) is fed by gates of several signals, which may pulse when these change "
            "together",
        )
    ],
    "grounds-parted": [
        (
            "error", 9, 3, "taps/GND", [],
            "'taps/GND' and 'lamp/GND' are not joined, though boards lamp and taps share taps/beat",
        )
    ],
    # 2 x 54 mA (LS244, outputs off: data book, from memory), 4 x (5.25 V - 2 V) / 330 ohm.
    "current-budget": [
        (
            "error", 3, 33, "VCC", ["U1.20", "U2.20"],
            "the board may take 147.39 mA (chips 108 mA and LEDs 39.39 mA), and the supply gives "
            "100 mA",
        )
    ],
    "accept-idle": [
        (
            "warning", 13, 12, "beat", [],
            "'edge-slow' is accepted on net 'beat', and does not fire there",
        )
    ],
}  # fmt: skip


def _findings(name: str) -> tuple[Finding, ...]:
    with as_file(FOLDER / name) as path:
        return check_wiring(load_netlist(path))


def _loud(found: tuple[Finding, ...], code: str) -> list[Finding]:
    """All but what is accepted, and notes of other rules (on LS boards gates are left open)."""
    loud = [f for f in found if f.code == code or f.severity.value != "note"]
    return [f for f in loud if not f.accepted]


def test_every_rule_has_an_expected_finding() -> None:
    assert list(EXPECTED) == CODES


@pytest.mark.parametrize("code", CODES)
def test_the_board_with_the_fault_fires_its_rule_and_no_other(code: str) -> None:
    found = _loud(_findings(f"{code}.fires.yaml"), code)
    assert [f.code for f in found] == [code] * len(EXPECTED[code])
    told = [
        (f.severity.value, f.span.line, f.span.column, f.net, list(f.pins), f.message)
        for f in found
    ]
    assert told == EXPECTED[code]
    assert all(f.hint for f in found)


@pytest.mark.parametrize("code", CODES)
def test_the_mended_board_is_quiet(code: str) -> None:
    assert _loud(_findings(f"{code}.quiet.yaml"), code) == []


@pytest.mark.parametrize("rule", RULES, ids=CODES)
def test_the_page_has_the_rules_title_severity_and_sections(rule: Rule) -> None:
    page = load_page(rule.code)
    lines = page.text.splitlines()
    assert lines[0] == f"# {rule.code}: {rule.title}"
    assert lines[2].startswith(f"Severity: {rule.severity.value}")
    assert [line for line in lines if line.startswith("##")] == [
        "## What it means",
        "## What you see at the bench",
        "## How to mend it",
        "## Numbers and sources",
    ]
    numbers = page.text.partition("## Numbers and sources")[2]
    assert "data book" in numbers or "common practice" in numbers
    assert page.fires.startswith("board: ")
    assert page.quiet.startswith("board: ")


def test_the_folder_holds_nothing_but_pages_and_boards() -> None:
    endings = (".md", ".fires.yaml", ".quiet.yaml")
    expected = {f"{code}{ending}" for code in CODES for ending in endings}
    here = {entry.name for entry in FOLDER.iterdir() if entry.is_file()}
    assert here == expected | {"__init__.py"}


def test_codes_are_unique_words() -> None:
    assert len(set(CODES)) == len(CODES)
    assert all(code.replace("-", "").isalpha() and code.islower() for code in CODES)


@pytest.mark.parametrize("code", CODES)
def test_a_rule_gives_its_own_code_and_no_more_than_its_severity(code: str) -> None:
    order = ["note", "warning", "error"]
    rule = next(entry for entry in RULES if entry.code == code)
    for finding in _findings(f"{code}.fires.yaml"):
        if finding.code == code:
            weight = order.index(finding.severity.value)
            assert weight <= order.index(rule.severity.value)


def test_findings_come_in_file_order_and_alike_each_time() -> None:
    first, second = (_findings("net-undriven.fires.yaml") for _ in range(2))
    assert first == second
    places = [(f.span.line, f.span.column) for f in first]
    assert places == sorted(places)
    assert len(places) > 1


def test_a_finding_as_json_has_the_keys_of_the_design() -> None:
    (finding,) = _findings("control-open.fires.yaml")
    told = finding.as_json()
    assert told == {
        "code": "control-open",
        "severity": "error",
        "message": finding.message,
        "net": None,
        "pins": ["U5.1"],
        "file": finding.span.file,
        "line": 4,
        "column": 3,
    }


def test_a_finding_renders_like_every_other_diagnostic() -> None:
    (finding,) = _findings("control-open.fires.yaml")
    where = finding.span.where()
    assert finding.diagnostic().render() == (
        f"{where}: error: U5.1 (S) is open and reads high: the selector always takes B1 to B4, "
        "never A1 to A4 [control-open]\n"
        "      U5: 74LS157\n"
        "      ^^\n"
        "  Wire it, or tie it to VCC or GND."
    )
