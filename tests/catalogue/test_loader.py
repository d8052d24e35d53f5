"""What a right part file is read as, and what is refused as a file."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from breadproof.specs.catalogue.part import Latch, PinKind, Register, Role
from breadproof.specs.catalogue.partfile import load_part
from breadproof.specs.formula import syntax as s
from breadproof.specs.reading.diagnostics import BadInput
from tests.catalogue.support import PART, changed, read


def test_everything_in_the_file_is_in_the_part() -> None:
    part = read(PART)
    assert (part.number, part.title, part.does) == ("9", "Gate and register", "gate")
    assert (part.package, part.families) == ("DIP-8", ("LS",))
    assert (part.output_classes, part.limits) == ((), None)
    assert [part.output_class(name) for name in ("Q0", "Q1")] == ["ordinary", "three-state"]
    assert part.source == "made up for this test"
    assert [(pin.number, pin.name) for pin in part.pins][:3] == [
        ("1", "A1"),
        ("2", "A0"),
        ("3", "G_n"),
    ]
    assert part.pins[5].kind is PinKind.THREE_STATE
    assert part.pins[2].role is Role.ENABLE
    assert part.pins[0].role is Role.DATA
    assert [output.names for output in part.logic] == [("Q0",), ("Q1",)]
    assert part.logic[0].when is None
    assert part.logic[1].when is not None
    assert part.inner[0].names == ("E",)
    assert (part.memories[0].words, part.memories[0].bits) == (4, 2)
    assert part.memories[0].write is None
    assert part.rows[0].loops == ("",)
    assert part.rows[0].columns_in == ("G_n", "A[1:0]", "CLK")
    assert part.rows[0].table[0] == (("L", "h3", "^"), ("H", "H", "h3"))
    assert part.rows[0].spans[1].line == 30


def test_the_operand_of_the_edge_is_the_clock() -> None:
    register = read(PART).storage[0]
    assert isinstance(register, Register)
    assert register.rising
    assert isinstance(register.clock.expr, s.Name)
    assert register.clock.expr.path == "CLK"
    assert register.width == 2
    falling = read(changed("rose(CLK)", "fell(CLK | !G_n)")).storage[0]
    assert isinstance(falling, Register)
    assert not falling.rising
    assert isinstance(falling.clock.expr, s.Binary)


def test_clear_preset_and_load_are_read() -> None:
    text = changed(
        'next: "A[1:0]"}',
        'next: R, clear: "!G_n", preset: A0, load: {when: A1, from: "A[1:0]"}}',
    )
    register = read(text).storage[0]
    assert isinstance(register, Register)
    assert register.clear is not None
    assert register.preset is not None
    assert register.load is not None


def test_a_storage_that_opens_is_a_latch() -> None:
    text = changed('{clock: rose(CLK), next: "A[1:0]"}', '{open: CLK, from: "A[1:0]"}')
    latch = read(text).storage[0]
    assert isinstance(latch, Latch)
    assert latch.clear is None


def test_one_formula_drives_a_vector_most_significant_first() -> None:
    text = changed("7: Q0 out", "7: Q0 three-state")
    text = text.replace('  Q0: "A0 & E"\n', "").replace("Q1: {level", "Q[1:0]: {level")
    assert read(text.replace('"R[1]"', "R")).logic[0].names == ("Q1", "Q0")


def test_all_problems_come_in_one_run_in_the_order_of_the_file() -> None:
    text = PART.replace("families: [LS]", "families: [XX]").replace("A0 & E", "A0 & B0")
    text = text.replace("- H X H |", "- H X |")
    with pytest.raises(BadInput) as caught:
        read(text)
    assert [d.span.line for d in caught.value.diagnostics] == [5, 19, 30]


def test_the_file_is_named_as_its_part(tmp_path: Path) -> None:
    path = tmp_path / "10.yaml"
    path.write_text(PART, encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        load_part(path)
    assert str(caught.value) == (
        f"{path}:1:7: error: the file is named '10.yaml' and says part '9' [part-field]\n"
        '    part: "9"\n'
        "          ^^^\n"
        "  A part is found by its file's name: make the two the same."
    )


@pytest.mark.parametrize("text", ["- a\n- b\n", "just a text\n", ""])
def test_what_is_no_mapping_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        read(text)


@settings(max_examples=150, deadline=None)
@given(
    start=st.integers(0, len(PART)),
    length=st.integers(0, 25),
    instead=st.sampled_from(["", "X", "|", "[9999:0]", ": ", "\n", "#", "{", "h", "٣"]),
)
def test_a_damaged_file_is_read_or_refused_and_nothing_else(
    start: int, length: int, instead: str
) -> None:
    text = PART[:start] + instead + PART[start + length :]
    told = _told(text)
    assert told is None or told.startswith("9.yaml:")


def _told(text: str) -> str | None:
    """What is said about a text, None if it is right; any other error gets through."""
    try:
        read(text)
    except BadInput as bad:
        return str(bad)
    return None
