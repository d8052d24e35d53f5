"""`breadproof export --to btor2|aiger|smtlib`: what is written, what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.cli import main
from tests.prove.boards import Sketch, sketch, small
from tests.support.btor_checker import BtorChecker

FORMULAS = (
    'assert: {kept: {says: "", formula: "always (q || !q)"}, '
    'rises: {says: "", formula: "never rose(q)"}}\n'
)


def run(board: Path, *words: object) -> int:
    return main(["export", str(board), *(str(word) for word in words)])


def saved(made: Sketch, more: str = "") -> Path:
    path = made.folder / "board.yaml"
    path.write_text(made.text(more), encoding="utf-8")
    return path


@pytest.fixture
def flop(tmp_path: Path) -> Path:
    return saved(
        sketch(tmp_path, "U1:9001", {"c": "U1.CLK", "d": "U1.D", "q": "U1.Q"}, "c d"), FORMULAS
    )


def test_btor2_on_standard_output(flop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(flop, "--to", "btor2") == 0
    text = capsys.readouterr().out
    assert text.startswith("; small (small), written by breadproof ")
    assert "; Nothing is assumed.\n" in text
    checker = BtorChecker(text)
    assert {"kept", "rises", "glitch:U1.3", "race:U1.3", "float:U1.3"} <= set(checker.bad)
    # c rises while d is high: step 1 of a run
    assert checker.reached(2)["rises"] == 1


def test_only_one_formula(flop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(flop, "--to", "btor2", "--only", "kept", "--only", "rises") == 0
    assert list(BtorChecker(capsys.readouterr().out).bad) == ["kept", "rises"]
    assert run(flop, "--to", "smtlib", "--only", "rises") == 0
    text = capsys.readouterr().out
    assert "(define-fun |rises after| " in text
    assert "|kept" not in text
    assert run(flop, "--to", "aiger", "--only", "raises") == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "the board has no formula 'raises'" in said.err
    assert "Did you mean rises?" in said.err
    assert run(flop, "--to", "verilog", "--only", "rises") == 2
    assert "hardware has no formulas" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "start"), [("x.aag", b"aag "), ("x.aig", b"aig "), ("x", b"aig ")]
)
def test_aiger_by_the_name_of_the_file(flop: Path, name: str, start: bytes) -> None:
    out = flop.parent / name
    assert run(flop, "--to", "aiger", "-o", out) == 0
    assert out.read_bytes().startswith(start)
    assert b"\nb0 glitch:U1.3\n" in out.read_bytes()


def test_aiger_as_text_on_standard_output(flop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(flop, "--to", "aiger") == 0
    assert capsys.readouterr().out.startswith("aag ")


def test_fights_do_not_stand_in_the_way(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """They are a property like any other."""
    board = saved(small(tmp_path, "bus of two"))
    assert run(board, "--to", "btor2", "--only", "fights:bus") == 0
    assert BtorChecker(capsys.readouterr().out).reached(1) == {"fights:bus": 0}


def test_large_memories(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pins = {f"a{k}": f"U1.A{k}" for k in range(15)} | {f"d{k}": f"U1.IO{k}" for k in range(8)}
    ports = " ".join(["w_n", "o_n", *pins])
    pins |= {"w_n": "U1.WE_n", "o_n": "U1.OE_n", "GND": "U1.GND U1.CS_n", "VCC": "U1.VCC"}
    text = 'assert: {one: {says: "", formula: "always (w_n || !d0)"}}\n'
    board = saved(sketch(tmp_path, "", pins, ports, {"U1": "62256"}), text)
    out = tmp_path / "x.aig"
    assert run(board, "--to", "aiger", "-o", out) == 2
    said = capsys.readouterr().err
    assert "memory U1.M (262144 bits); at most 65536 bits are written out as latches" in said
    assert "--to btor2" in said
    assert not out.exists()
    assert run(board, "--to", "btor2") == 0
    assert " array " in capsys.readouterr().out


def test_a_board_that_does_not_get_quiet(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board = saved(small(tmp_path, "ring of one"))
    assert run(board, "--to", "smtlib") == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert "not exported: " in said.err
    assert "a loop of gates can find no level at rest" in said.err
