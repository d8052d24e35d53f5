"""Names of drawings that no board file can use, and vectors that names show; written by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breadproof.specs.edif.naming import Names, is_legal, legal, seen_vectors, told_vectors
from breadproof.specs.load import load_netlist
from tests.edif.support import board, cell, wrapped

LEGAL = {
    "sel": "sel", "clk_n": "clk_n", "_x": "_x", "VCC": "VCC", "Q3": "Q3",
    "N$12": "N_12", "/RESET": "RESET_n", "~OE": "OE_n", "RESET#": "RESET_n", "WR*": "WR_n",
    "CS_N#": "CS_N", "+5V": "P5V", "+3.3V": "P3V3", "-12V": "M12V", "U1.3": "U1_3",
    "74LS00-1": "n_74LS00_1", "DATA<3>": "DATA_3", "A(0)": "A_0", "pair/out": "pair_out",
    "always": "always_", "next": "next_", "a b  c": "a_b_c", "$": "n", "": "n", "µP": "P",
    "net-(R1-Pad2)": "net_R1_Pad2", "é": "n", "--": "n",
}  # fmt: skip


@pytest.mark.parametrize("name", LEGAL)
def test_legal_names(name: str) -> None:
    assert legal(name, "n") == LEGAL[name]


@given(st.text())
def test_any_name_becomes_legal(name: str) -> None:
    assert is_legal(legal(name, "n"))
    assert legal(legal(name, "n"), "n") == legal(name, "n")


def test_names_that_are_taken() -> None:
    names = Names(("a",))
    assert [names.take(name) for name in ("a", "b", "a", "a_2", "b")] == [
        "a_2", "b", "a_3", "a_2_2", "b_2",
    ]  # fmt: skip


VECTORS = {
    "in brackets of all kinds": (
        ["D<0>", "D<1>", "A[2]", "A[1]", "A[0]", "B(4)", "B(5)"],
        ["D[1:0]", "A[2:0]", "B[5:4]"],
    ),
    "one missing": (["D<0>", "D<2>", "D<3>"], []),
    "one alone": (["D[0]"], []),
    "numbers without brackets, four and more, from 0 or 1": (
        ["D0", "D1", "D2", "D3", "A1", "A2", "A3", "A4", "A5", "C0", "C1", "C2"],
        ["D[3:0]", "A[5:1]"],
    ),
    "names that programs make up, and supplies": (
        ["N1", "N2", "N3", "N4", "NET0", "NET1", "NET2", "NET3", "VCC0", "VCC1", "VCC2", "VCC3"],
        [],
    ),
    "no zeros in front, and from 0 or 1": (
        ["D00", "D01", "D02", "D03", "E4", "E5", "E6", "E7"],
        [],
    ),
    "a net of the stem's name": (["D", "D0", "D1", "D2", "D3"], []),
}


@pytest.mark.parametrize("case", VECTORS)
def test_vectors_that_names_show(case: str) -> None:
    labels, expected = VECTORS[case]
    found = seen_vectors(labels, frozenset())
    assert [f"{bits.stem}[{bits.left}:{bits.right}]" for bits in found] == expected
    for bits in found:
        assert len(bits.labels) == abs(bits.left - bits.right) + 1
        assert set(bits.labels) <= set(labels)


def test_vectors_that_are_told() -> None:
    found = told_vectors("d[0:1] bus[7:7] lost[1:0]", ["d[0]", "d[1]", "bus[7]", "lost[0]"])
    assert [bits.labels for bits in found] == [("d[0]", "d[1]"), ("bus[7]",)]
    assert seen_vectors(["d[0]", "d[1]"], frozenset(("d",)))[0].labels == ("d[0]", "d[1]")


def test_parts_nets_and_the_board_files_own_share_one_space(tmp_path: Path) -> None:
    """What can stay as it is stays; of two that come to one name the later gets a number."""
    uses = "".join(
        f'(instance i{n} (viewRef v (cellRef RES (libraryRef parts))) (designator "{name}"))'
        for n, name in enumerate(("R$1", "R_1", "CLK"))
    )
    joins = "".join(
        f'(net (rename n{n} "{name}") (joined (portRef &1 (instanceRef i{n}))))'
        for n, name in enumerate(("/CLK", "CLK_n", "CLK"))
    )
    text = wrapped(f"(interface) (contents {uses} {joins})", cell("RES", "&1", "&2"))
    path = board(tmp_path, text, "cells: {RES: resistor}", "parts: {CLK_2: push-button}\n")
    found = load_netlist(path)
    assert [part.name for part in found.parts] == ["R_1_2", "R_1", "CLK", "CLK_2"]
    assert [net.name for net in found.nets] == ["CLK_n_2", "CLK_n", "CLK_3"]


def test_a_drawing_among_joined_boards(tmp_path: Path) -> None:
    """A board with a drawing is a board like any other."""
    use = "(instance R1 (viewRef v (cellRef RES (libraryRef parts))))"
    net = "(net a (joined (portRef &1 (instanceRef R1))))"
    text = wrapped(f"(interface) (contents {use} {net})", cell("RES", "&1", "&2"))
    board(tmp_path, text, "cells: {RES: resistor}")
    path = tmp_path / "two.yaml"
    path.write_text(
        "board: two\nboards: {x: board.yaml, y: board.yaml}\njoins: [x.a to y.a]\n", "utf-8"
    )
    assert [pin.label for pin in load_netlist(path).nets[0].pins] == ["x/R1.1", "y/R1.1"]
