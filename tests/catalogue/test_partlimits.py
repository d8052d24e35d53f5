"""Limits that a part file names, and those of a pin of a part.

The values of memories are a second time from memory of their data sheets, written apart from the
part files; those marked T are from the project's collection of trade numbers.
"""

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.families import FAMILIES
from breadproof.specs.catalogue.pinlimits import Limits, limits_of
from breadproof.specs.reading.diagnostics import BadInput
from tests.catalogue.support import PART, changed, read

MA, UA = 1e-3, 1e-6
OWN = """\
limits:
  from: made up
  V_CC: 4.5 V to 12 V
  V_IL: 0.7 V
  I_IH: 3 uA
  V_OH: 3 V
  I_OH: 2 mA
  I_OL: 12.5 mA
  I_OZ: 7 uA
  I_CC: 0.2 mA
"""


def _limits(text: str, family: str = "LS") -> Limits:
    return Limits(type=read(text), family=FAMILIES[family])


def test_what_is_named_replaces_the_familys_and_what_is_not_named_stays() -> None:
    limits = _limits(PART + OWN)
    assert limits.supply == (4.5, 12.0)
    inputs = limits.inputs("A1")
    assert (inputs.v_il, inputs.v_ih) == (0.7, 2.0)  # LS: 2.0 V (trade numbers)
    assert (inputs.i_ih, inputs.i_il) == pytest.approx((3 * UA, 0.4 * MA))
    assert inputs.source == "made up"
    drive = limits.drive("Q0")
    assert (drive.v_oh, drive.v_ol) == (3.0, 0.5)
    assert (drive.i_oh, drive.i_oh_max, drive.i_ol) == pytest.approx((2 * MA, 2 * MA, 12.5 * MA))
    assert limits.off("Q1") == pytest.approx(7 * UA)
    assert limits.type.limits is not None
    assert limits.type.limits.i_cc == pytest.approx(0.2 * MA)


def test_an_open_collector_has_a_limit_of_its_own_for_the_pull_up() -> None:
    text = changed("7: Q0 out", "7: Q0 open-collector").replace("| H H h3", "| Z H h3")
    sink = _limits(text + "limits: {from: made up, V_O: 25 V, I_OL: 30 mA, I_OZ: 40 uA}\n").sink(
        "Q0"
    )
    assert sink.bears == 25.0
    assert (sink.i_ol, sink.off) == pytest.approx((30 * MA, 40 * UA))
    assert _limits(text).sink("Q0").bears == 5.5


@pytest.mark.parametrize(
    ("family", "at_10"), [("4000B", (2.0, 8.0)), ("LS", (1.0, 4.0)), ("MOS", (1.0, 4.0))]
)
def test_thresholds_that_are_named_go_with_the_supply_where_those_of_the_family_do(
    family: str, at_10: tuple[float, float]
) -> None:
    """Unbuffered parts: 1 V and 4 V at 5 V, 2 V and 8 V at 10 V (JEDEC 13-B, from memory)."""
    text = PART + "limits: {from: made up, V_IL: 1 V, V_IH: 4 V}\n"
    inputs = _limits(text, family).inputs("A1")
    assert inputs.thresholds(5.0) == (1.0, 4.0)
    assert inputs.thresholds(10.0) == pytest.approx(at_10)


def test_the_4049_of_the_4000_series_is_unbuffered() -> None:
    """JEDEC standard 13-B, from memory."""
    catalogue = Catalogue()
    chip = catalogue.find("CD4049UBE", "HC")
    limits = Limits(type=chip.type, family=chip.family)
    assert limits.inputs("A1").thresholds(5.0) == (1.0, 4.0)
    other = catalogue.find("74HC4049", "HC")
    assert Limits(type=other.type, family=other.family).inputs("A1").thresholds(5.0) == (1.5, 3.5)


def test_single_pins_have_limits_of_their_own_in_some_families() -> None:
    text = PART + (
        "limits:\n  from: made up\n  V_IL: 0.7 V\n  pins:\n"
        "    - {of: [G_n, 'A[1:0]'], in: [LS, F], I_IL: 2 mA, V_I: 7 V}\n"
        "    - {of: [G_n], in: [TTL], I_IL: 3.2 mA}\n    - {of: [Q0], I_OL: 3 mA}\n"
    )
    limits = _limits(text)
    assert [limits.inputs(name).i_il for name in ("A0", "A1", "G_n", "CLK")] == pytest.approx(
        [2 * MA, 2 * MA, 2 * MA, 0.4 * MA]
    )
    assert (limits.inputs("A0").v_il, limits.inputs("A0").bears) == (0.7, 7.0)
    assert limits.inputs("CLK").bears is None
    assert limits.drive("Q0").i_ol == pytest.approx(3 * MA)
    assert limits.drive("Q1").i_ol == pytest.approx(8 * MA)
    other = _limits(text, "TTL")
    assert other.inputs("G_n").i_il == pytest.approx(3.2 * MA)
    assert other.inputs("A0").i_il == pytest.approx(1.6 * MA)


@pytest.mark.parametrize(
    ("printed", "pin", "low", "high"),
    [
        # Milliamperes and microamperes, a second time from memory of the data books (LS, TTL, F).
        ("74LS74", "CLR1_n", 0.8, 40),
        ("74LS74", "CLK1", 0.4, 20),
        ("7474", "CLR2_n", 3.2, 120),
        ("74F74", "PRE1_n", 1.8, 40),
        ("74LS112", "CLK1", 0.8, 80),
        ("74LS93", "CKA", 2.4, 40),
        ("74LS93", "CKB", 1.6, 40),
        ("7490", "CKB", 4.8, 120),
        ("74LS390", "CKB2", 2.4, 20),
        ("74LS161", "CLK", 0.8, 40),
        ("74LS161", "ENP", 0.4, 20),
        ("74LS161", "CLR_n", 0.4, 20),
        ("74LS163", "CLR_n", 0.8, 40),
        ("74LS181", "CN", 2.0, 100),
        ("74LS283", "C0", 0.4, 20),
        ("74LS86", "A1", 0.8, 40),
        ("74LS244", "A11", 0.2, 20),
        ("74F244", "A24", 1.6, 20),
        ("74F244", "G1_n", 1.0, 20),
        ("74LS670", "GR_n", 1.2, 60),
        ("74HC74", "CLR1_n", 0.001, 1),
        ("54LS74", "CLR1_n", 0.8, 40),
        ("555", "RESET_n", 1.5, 0.25),
        ("555", "TRIG_n", 0.002, 0),
        ("555", "THRES", 0.002, 0.25),
    ],
)
def test_inputs_that_are_more_or_less_than_one_unit_load(
    printed: str, pin: str, low: float, high: float
) -> None:
    chip = Catalogue().find(printed, "LS")
    inputs = Limits(type=chip.type, family=chip.family).inputs(pin)
    assert (inputs.i_il, inputs.i_ih) == pytest.approx((low * MA, high * UA))


def test_thresholds_of_the_timer() -> None:
    """Data sheet of the bipolar 555 at 5 V, from memory: 1.1 V to 2.2 V, 2.4 V to 4.2 V, 1 V."""
    chip = Catalogue().find("555", "LS")
    limits = Limits(type=chip.type, family=chip.family)
    told = {name: limits.inputs(name).thresholds(5.0) for name in ("TRIG_n", "THRES", "RESET_n")}
    assert told == {"TRIG_n": (1.1, 2.2), "THRES": (2.4, 4.2), "RESET_n": (0.4, 1.0)}


def test_what_is_no_chip_has_no_limits() -> None:
    assert limits_of(read(PART), None) is None
    family = FAMILIES["LS"]
    assert limits_of(read(PART), family) == Limits(type=read(PART), family=family)


def test_classes_of_outputs_go_by_pin() -> None:
    limits = _limits(PART + "output-class: {bus-driver: [Q1]}\n")
    assert limits.drive("Q1").i_ol == pytest.approx(24 * MA)
    assert limits.drive("Q0").i_ol == pytest.approx(8 * MA)
    both = _limits(PART + 'output-class: {buffer: ["Q[1:0]"]}\n')
    assert both.drive("Q0") == both.drive("Q1") == FAMILIES["LS"].drive("buffer")
    every = _limits(PART + "output-class: ordinary\n")
    assert every.drive("Q1") == FAMILIES["LS"].drive("ordinary")


@pytest.mark.parametrize(
    ("entry", "place", "text"),
    [
        pytest.param(
            "limits: [1]",
            ("part-field", 9),
            "9.yaml:31:9: error: 'limits' is to be a mapping [part-field]\n"
            "    limits: [1]\n"
            "            ^\n"
            "  Write NAME: VALUE lines.",
            id="no mapping",
        ),
        pytest.param(
            "limits: {from: made up, V_ILL: 0.8 V}",
            ("part-key", 25),
            "9.yaml:31:25: error: 'limits' has no entry 'V_ILL' [part-key]\n"
            "    limits: {from: made up, V_ILL: 0.8 V}\n"
            "                            ^^^^^\n"
            "  Did you mean V_IL or V_I or V_OL?",
            id="unknown symbol",
        ),
        pytest.param(
            "limits: {V_IL: 0.8 V}",
            ("part-field", 9),
            "9.yaml:31:9: error: 'limits' has no 'from' [part-field]\n"
            "    limits: {V_IL: 0.8 V}\n"
            "            ^\n"
            "  Write 'from: …'.",
            id="no source",
        ),
        pytest.param(
            "limits: {from: made up, V_IL: 0.8 mA}",
            ("part-limit", 31),
            "9.yaml:31:31: error: 'V_IL' is to be a number of volts [part-limit]\n"
            "    limits: {from: made up, V_IL: 0.8 mA}\n"
            "                                  ^^^^^^\n"
            "  Write 0.8 V.",
            id="wrong unit",
        ),
        pytest.param(
            "limits: {from: made up, I_OH: -0.4 mA}",
            ("part-limit", 31),
            "9.yaml:31:31: error: 'I_OH' is to be a number of amperes [part-limit]\n"
            "    limits: {from: made up, I_OH: -0.4 mA}\n"
            "                                  ^^^^^^^\n"
            "  Write 2.1 mA or 10 uA, without a sign.",
            id="sign",
        ),
        pytest.param(
            "limits: {from: made up, V_CC: 5 V}",
            ("part-limit", 31),
            "9.yaml:31:31: error: 'V_CC' is to be a range [part-limit]\n"
            "    limits: {from: made up, V_CC: 5 V}\n"
            "                                  ^^^\n"
            "  Write 4.5 V to 5.5 V.",
            id="no range",
        ),
        pytest.param(
            "limits: {from: made up, V_OL: 2.4 V, V_OH: 0.4 V}",
            ("part-limit", 31),
            "9.yaml:31:31: error: 'V_OL' is not below 'V_OH' [part-limit]\n"
            "    limits: {from: made up, V_OL: 2.4 V, V_OH: 0.4 V}\n"
            "                                  ^^^^^\n"
            "  V_OL is the highest low, V_OH the lowest high.",
            id="wrong way round",
        ),
        pytest.param(
            "output-class: {buffer: [A1]}",
            ("part-field", 25),
            "9.yaml:31:25: error: 'A1' is no output [part-field]\n"
            "    output-class: {buffer: [A1]}\n"
            "                            ^^\n"
            "  Outputs: Q1, Q0.",
            id="class of an input",
        ),
        pytest.param(
            "output-class: {buffer: [Q1], bus-driver: [Q1]}",
            ("part-field", 43),
            "9.yaml:31:43: error: 'Q1' has two classes [part-field]\n"
            "    output-class: {buffer: [Q1], bus-driver: [Q1]}\n"
            "                                              ^^\n"
            "  Name each output once.",
            id="two classes",
        ),
        pytest.param(
            "limits: {from: made up, pins: {A1: 1}}",
            ("part-field", 31),
            "9.yaml:31:31: error: 'pins' of 'limits' is to be a list [part-field]\n"
            "    limits: {from: made up, pins: {A1: 1}}\n"
            "                                  ^\n"
            "  Write a line '- {of: [CLR_n], in: [LS], I_IL: 0.8 mA}' for each group of pins.",
            id="pins: no list",
        ),
        pytest.param(
            "limits: {from: made up, pins: [{I_IL: 1 mA}]}",
            ("part-field", 32),
            "9.yaml:31:32: error: an entry of 'pins' of 'limits' has no 'of' [part-field]\n"
            "    limits: {from: made up, pins: [{I_IL: 1 mA}]}\n"
            "                                   ^\n"
            "  Write 'of: [CLR_n]', the pins that it is about.",
            id="pins: of none",
        ),
        pytest.param(
            "limits: {from: made up, pins: [{of: [A7], I_IL: 1 mA}]}",
            ("part-field", 38),
            "9.yaml:31:38: error: 'A7' is no pin [part-field]\n"
            "    limits: {from: made up, pins: [{of: [A7], I_IL: 1 mA}]}\n"
            "                                         ^^\n"
            "  Pins: A1, A0, G_n, GND, CLK, Q1, Q0, VCC.",
            id="pins: no pin",
        ),
        pytest.param(
            "limits: {from: made up, pins: [{of: [A1], in: [LSS], I_IL: 1 mA}]}",
            ("part-field", 48),
            "9.yaml:31:48: error: there is no family 'LSS' [part-field]\n"
            "    limits: {from: made up, pins: [{of: [A1], in: [LSS], I_IL: 1 mA}]}\n"
            "                                                   ^^^\n"
            "  Did you mean LS or ALS?",
            id="pins: no family",
        ),
        pytest.param(
            "limits: {from: made up, pins: [{of: [A1], in: [LS]}, {of: ['A[1:0]']}]}",
            ("part-limit", 60),
            "9.yaml:31:60: error: 'A[1:0]' has limits of its own twice [part-limit]\n"
            "    limits: {from: made up, pins: [{of: [A1], in: [LS]}, {of: ['A[1:0]']}]}\n"
            "                                                               ^^^^^^^^\n"
            "  Put all limits of a pin, in a family, into one entry.",
            id="pins: twice",
        ),
        pytest.param(
            "limits: {from: made up, pins: [{of: [Q0], I_IL: 1 mA}]}",
            ("part-limit", 49),
            "9.yaml:31:49: error: 'I_IL' is a limit of an input, and 'Q0' is none [part-limit]\n"
            "    limits: {from: made up, pins: [{of: [Q0], I_IL: 1 mA}]}\n"
            "                                                    ^^^^\n"
            "  Give inputs and outputs entries of their own.",
            id="pins: input's",
        ),
        pytest.param(
            "limits: {from: made up, pins: [{of: [A0], V_CC: 4.5 V to 5 V}]}",
            ("part-key", 43),
            "9.yaml:31:43: error: an entry of 'pins' of 'limits' has no entry 'V_CC' [part-key]\n"
            "    limits: {from: made up, pins: [{of: [A0], V_CC: 4.5 V to 5 V}]}\n"
            "                                              ^^^^\n"
            "  It may have: of, in, V_IL, V_IH, I_IL, I_IH, V_I, V_OL, V_OH, I_OL, I_OH, I_OZ, "
            "V_O.",
            id="pins: of the whole part",
        ),
    ],
)
def test_wrong_limits_are_refused(entry: str, place: tuple[str, int], text: str) -> None:
    with pytest.raises(BadInput) as caught:
        read(PART + entry + "\n")
    (found,) = caught.value.diagnostics
    assert (found.code, found.span.line, found.span.column) == (place[0], 31, place[1])
    assert str(caught.value) == text


@pytest.mark.parametrize(
    ("number", "v_ih", "v_ol", "i_ol", "i_oh", "leak"),
    [
        ("6116", 2.2, 0.4, 2.1, 1.0, 10),
        ("6264", 2.2, 0.4, 2.1, 1.0, 5),
        ("62256", 2.2, 0.4, 2.1, 1.0, 2),
        ("28C16", 2.0, 0.45, 2.1, 0.4, 10),
        ("28C64", 2.0, 0.45, 2.1, 0.4, 10),
        ("28C256", 2.0, 0.45, 2.1, 0.4, 10),  # T: V_IH, V_OL, I_OL
        ("27C64", 2.0, 0.45, 2.1, 0.4, 10),
        ("27C128", 2.0, 0.45, 2.1, 0.4, 10),
        ("27C256", 2.0, 0.45, 2.1, 0.4, 10),
    ],
)
def test_memories(
    number: str, v_ih: float, v_ol: float, i_ol: float, i_oh: float, leak: float
) -> None:
    """V_IL 0.8 V, V_OH 2.4 V and 5 V within a tenth are those of all of them."""
    chip = Catalogue().find(number, "LS")
    limits = Limits(type=chip.type, family=chip.family)
    inputs, drive = limits.inputs("A0"), limits.drive("IO0")
    assert limits.supply == (4.5, 5.5)
    assert (inputs.v_il, inputs.v_ih) == (0.8, v_ih)
    assert (inputs.i_il, inputs.i_ih) == pytest.approx((leak * UA, leak * UA))
    assert (drive.v_ol, drive.v_oh) == (v_ol, 2.4)
    assert (drive.i_ol, drive.i_oh) == pytest.approx((i_ol * MA, i_oh * MA))
    assert limits.off("IO0") == pytest.approx(leak * UA)
