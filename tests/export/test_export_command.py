"""`breadproof export`: exit statuses, whole files or none, and what is refused."""

import os
from pathlib import Path

import pytest

from breadproof.cli import main
from tests.export import boards


def run(*words: object) -> int:
    return main(["export", *(str(word) for word in words)])


@pytest.fixture
def latch(tmp_path: Path) -> Path:
    """A board on which nobody can fight."""
    return boards.written(tmp_path, boards.LATCH)


@pytest.fixture
def fighting(tmp_path: Path) -> Path:
    """Two transceivers, and a port, on one net: they can fight."""
    return boards.written(tmp_path, boards.TRANSCEIVERS)


def test_board_without_fights_is_written(
    latch: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "store.py"
    out.write_text("old", encoding="utf-8")
    assert run(latch, "--to", "amaranth", "-o", out) == 0
    assert capsys.readouterr() == ("", "")
    text = out.read_text(encoding="utf-8")
    assert "class Latch(wiring.Component):" in text
    assert "No net has two drivers that could fight." in text
    assert sorted(path.name for path in tmp_path.iterdir()) == ["board.yaml", "parts", "store.py"]
    assert run(latch, "--to", "amaranth") == 0
    assert capsys.readouterr().out == text
    assert run(latch, "--to", "amaranth", "-o", "-") == 0
    assert capsys.readouterr().out == text


def test_rtlil_is_written(latch: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(latch, "--to", "rtlil") == 0
    out = capsys.readouterr().out
    assert out.startswith("# Latch of two gates, set and cleared by buttons (latch).\n")
    assert "\nmodule \\latch\n" in out


def test_board_that_may_fight_is_refused_and_nothing_is_written(
    fighting: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "store.v"
    assert run(fighting, "--to", "verilog", "-o", out, "--time-limit", "20") == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert "not exported: two drivers can fight on a." in said.err
    assert f"breadproof export {fighting} --to verilog --unproved" in said.err
    assert not out.exists()


def test_unproved_writes_it_and_says_so(fighting: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(fighting, "--to", "amaranth", "--unproved") == 0
    out = capsys.readouterr().out
    assert "NOT PROVED: two drivers may fight on a, b." in out


@pytest.mark.parametrize(
    ("place", "why"),
    [
        ("no/such/folder/store.py", "there is no folder"),
        (".", "it is a folder"),
        ("board.yaml", "it is the board file itself"),
    ],
)
def test_places_that_cannot_be_written_are_refused(
    latch: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], place: str, why: str
) -> None:
    before = latch.read_bytes()
    target = tmp_path / place
    assert run(latch, "--to", "amaranth", "-o", target) == 2
    err = capsys.readouterr().err
    assert err.startswith(f"{target}:1:1: error: '{target}' cannot be written: {why}")
    assert "[output-unwritable]" in err
    assert "Name a file in a folder that you may write to" in err
    assert latch.read_bytes() == before


def test_full_disk_leaves_the_old_file_whole(
    latch: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    out = tmp_path / "store.py"
    out.write_text("old", encoding="utf-8")

    def full(self: Path, target: Path) -> Path:
        raise OSError(28, os.strerror(28))

    monkeypatch.setattr(Path, "replace", full)
    assert run(latch, "--to", "amaranth", "-o", out) == 2
    assert "No space left on device" in capsys.readouterr().err
    assert out.read_text(encoding="utf-8") == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["board.yaml", "parts", "store.py"]


def test_wrong_board_is_told_before_anything_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board = boards.written(tmp_path, boards.LATCH.replace("74LS00", "74LS9999"))
    out = tmp_path / "store.py"
    assert run(board, "--to", "amaranth", "-o", out) == 2
    assert "74LS9999" in capsys.readouterr().err
    assert not out.exists()
