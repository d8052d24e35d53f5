"""`--parts DIR`: a user's own chips, for every command that reads a board.

What is expected follows from the issue: a folder of one's own is searched first, and what is wrong
in it is told with file, line and column. The buffers are this module's own.
"""

from pathlib import Path

import pytest

from breadproof import cli
from tests.commands.own import BROKEN, BUFFER, INVERTING, board, folder


def run(*words: object, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    status = cli.main([str(word) for word in words])
    out, err = capsys.readouterr()
    return status, out, err


def test_a_board_of_own_chips_is_proved(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = folder(tmp_path / "own", BUF1=BUFFER)
    status, out, err = run("verify", board(tmp_path), "--parts", own, capsys=capsys)
    assert (status, err) == (0, "")
    assert "holds       half: The first one follows." in out
    assert f"breadproof export {tmp_path}/own.yaml --parts {own} --to verilog" in out


def test_the_first_folder_counts(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one = folder(tmp_path / "one", BUF1=INVERTING)
    two = folder(tmp_path / "two", BUF1=BUFFER)
    path = board(tmp_path)
    status, out, _ = run("verify", path, "--parts", one, "--parts", two, capsys=capsys)
    assert status == 1
    assert "FAILS       half: The first one follows." in out
    assert run("verify", path, "--parts", two, "--parts", one, capsys=capsys)[0] == 0


def test_the_option_stands_before_what_the_board_file_names(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder(tmp_path / "named", BUF1=BUFFER)
    own = folder(tmp_path / "own", BUF1=INVERTING)
    path = board(tmp_path, "catalogue: named\n")
    assert run("verify", path, capsys=capsys)[0] == 0
    assert run("verify", path, "--parts", own, capsys=capsys)[0] == 1


def test_a_board_of_own_chips_is_exported(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = folder(tmp_path / "own", BUF1=BUFFER)
    path = board(tmp_path)
    status, out, err = run("export", path, "--to", "verilog", "--parts", own, capsys=capsys)
    assert status == 0
    assert "equal, proved" in err
    assert "module own(" in out
    assert run("export", path, "--to", "verilog", capsys=capsys)[0] == 2


@pytest.mark.parametrize("words", [["verify"], ["export", "--to", "verilog"]])
def test_a_mistake_in_an_own_chip_is_told_once_and_where(
    words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = folder(tmp_path / "own", BUF1=BROKEN)
    status, out, err = run(*words, board(tmp_path), "--parts", own, capsys=capsys)
    assert (status, out) == (2, "")
    assert err == (
        f"{own}/BUF1.yaml:8:12: error: 'B' is neither a pin, nor inner, nor storage [part-name]\n"
        "    logic: {Y: B}\n"
        "               ^\n"
        "  There are A, GND, VCC, Y; inner names stand above their use.\n"
    )


@pytest.mark.parametrize("words", [["verify", "own.yaml"], ["parts"], ["parts", "BUF1"]])
def test_a_folder_that_is_missing_is_told(
    words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = board(tmp_path)
    words = [str(path) if word == "own.yaml" else word for word in words]
    status, out, err = run(*words, "--parts", tmp_path / "none", capsys=capsys)
    assert (status, out) == (2, "")
    assert err.startswith(f"{tmp_path}/none:1:1: error: there is no such folder of part files")
