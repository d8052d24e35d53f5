"""`breadproof picture`: what is drawn, where it goes, and what is told when it cannot be."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest

from breadproof import cli

from .test_verify import KEYS

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "keys.yaml").write_text(KEYS, "utf-8")

    def call(*words: str) -> tuple[int, str, str]:
        status = cli.main(["picture", "keys.yaml", *words])
        out, err = capsys.readouterr()
        return status, out, err

    return call


def test_the_board_goes_to_standard_output_or_into_a_file(run: Run) -> None:
    status, out, _ = run()
    assert status == 0
    assert ElementTree.fromstring(out.encode()).tag == "{http://www.w3.org/2000/svg}svg"
    assert run("-o", "board.svg") == (0, "", "")
    assert Path("board.svg").read_text("utf-8") == out


def test_levels_of_a_run_at_a_step(run: Run) -> None:
    words = ("--net", "lamp", "--run", "never-lit")
    status, out, _ = run(*words)
    assert status == 0
    assert "lamp = 1" in out
    # KEYS: the lamp is lit while no key is down, so both pulls are high then.
    assert "up1 = 1" in out
    assert "Levels in the start" in out
    status, by_pin, _ = run("--net", "U1.3", "--run", "never-lit", "--step", "start")
    assert status == 0
    assert by_pin == out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--net", "lmap"], "the board has no net 'lmap'. Did you mean lamp?"),
        (["--net", "U1.6"], "U1.6 is connected to nothing."),
        (["--net", "VCC"], "nothing to draw of 'VCC': it is a supply,"),
        (["--step", "1"], "levels belong to a net's picture: give --net, too."),
        (["--net", "lamp", "--step", "1"], "a step belongs to a run: give --run, too."),
        (["--net", "lamp", "--run", "nix"], "the board has no formula or check 'nix'."),
        (["--net", "lamp", "--run", "both-up"], "there is no run of 'both-up' to show: it holds."),
        (["--net", "lamp", "--run", "never-lit", "--step", "7"], "the run has no step '7'"),
        (["--net", "lamp", "--run", "one-off", "--step", "1.9"], "step 1 has "),
        (["-o", "none/board.svg"], "there is no folder 'none'"),
        (["-o", "keys.yaml"], "it is the board file itself"),
    ],
)
def test_what_cannot_be_drawn(run: Run, words: list[str], says: str) -> None:
    status, out, err = run(*words)
    assert (status, out) == (2, "")
    assert says in " ".join(err.split())


def test_boards_of_boards_and_their_pins(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    sequencer = Path(__file__).resolve().parents[2] / "specs" / "boards" / "sequencer.yaml"
    assert cli.main(["picture", str(sequencer), "--net", "store.U18.8", "--depth", "1"]) == 0
    out = capsys.readouterr().out
    assert "store/U18 74LS10" in out
    assert "net store/we_n" in out
    assert cli.main(["picture", str(sequencer), "--net", "store.we_n", "--depth", "1"]) == 0
    assert capsys.readouterr().out == out


def test_a_part_that_is_longer_than_a_board_stands_beside_it(run: Run) -> None:
    text = KEYS.replace("parts:\n", "parts:\n  RN: {part: resistor-network, ways: 64}\n")
    Path("keys.yaml").write_text(text, "utf-8")
    status, out, _ = run()
    assert status == 0
    tree = ElementTree.fromstring(out.encode())
    boxes = [one for one in tree.iter() if one.get("class") == "b-box"]
    assert len(boxes) == 3  # K1, K2, RN
