"""`breadproof start`: a board file that can be read at once and lacks no pin."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof import cli
from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.load import load_netlist
from breadproof.verify.wiring.registry import check_wiring


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def _chips(*numbers: str) -> list[str]:
    return [word for number in numbers for word in ("--chip", number)]


def test_what_is_begun_can_be_read_and_has_every_pin(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["start", "light-store", *_chips("74LS157", "74LS157", "6116")]) == 0
    out, err = capsys.readouterr()
    assert out == ""
    assert "breadproof watch light-store.yaml" in err
    netlist = load_netlist(Path("light-store.yaml"))
    assert netlist.board == "light-store"
    printed = {part.name: part.printed for part in netlist.parts if part.device == "chip"}
    assert printed == {"U1": "74LS157", "U2": "74LS157", "U3": "6116"}
    assert all(pin.net is not None for pin in netlist.pins())
    joined = {net.name: {pin.label for pin in net.pins} for net in netlist.nets}
    # Supplies: data book, 16-pin and 24-pin packages; the rest stands alone, to be filled in.
    assert joined["VCC"] == {"U1.16", "U2.16", "U3.24", "C1.1", "C2.1", "C3.1"}
    assert joined["GND"] == {"U1.8", "U2.8", "U3.12", "C1.2", "C2.2", "C3.2"}
    assert {len(pins) for name, pins in joined.items() if name not in ("VCC", "GND")} == {1}
    text = Path("light-store.yaml").read_text("utf-8")
    assert "  U1_G_n: [U1.15]                     # input, enable, active low\n" in text


def test_the_check_then_lists_what_is_to_be_joined() -> None:
    assert cli.main(["start", "b", *_chips("74LS00")]) == 0
    netlist = load_netlist(Path("b.yaml"))
    named = {pin for finding in check_wiring(netlist) for pin in finding.pins}
    assert {f"U1.{number}" for number in (1, 2, 4, 5, 9, 10, 12, 13)} <= named


@pytest.mark.parametrize("part", Catalogue().numbers()[::23])
def test_any_chip_can_be_begun_with(part: str) -> None:
    assert cli.main(["start", "b", "--chip", part]) == 0
    netlist = load_netlist(Path("b.yaml"))
    chip = netlist.part("U1")
    assert chip is not None
    loose = [pin.number for pin in chip.pins if pin.net is None and pin.kind.value != "nc"]
    assert [number for number in loose if number.isdigit()] == []


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["b"], "Missing option '--chip'"),
        (["2b", *_chips("74LS00")], "'2b' is no name of a board"),
        (["b", *_chips("74LS9157")], "there is no part '74LS9157' in the catalogue. Did you mean"),
        (["b", *_chips("led")], "a led is no chip"),
        (["b", *_chips("74LS00"), "-o", "none/b.yaml"], "there is no folder 'none'"),
    ],
)
def test_what_cannot_be_begun(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["start", *words]) == 2
    assert says in capsys.readouterr().err
    assert list(Path.cwd().iterdir()) == []


def test_a_file_that_is_there_is_left_alone(capsys: pytest.CaptureFixture[str]) -> None:
    Path("b.yaml").write_text("mine\n", "utf-8")
    assert cli.main(["start", "b", *_chips("74LS00")]) == 2
    assert Path("b.yaml").read_text("utf-8") == "mine\n"
    assert cli.main(["start", "b", *_chips("74LS00"), "--force"]) == 0
    assert load_netlist(Path("b.yaml")).board == "b"
    capsys.readouterr()
    assert cli.main(["start", "c", *_chips("74LS00"), "-o", "-"]) == 0
    assert capsys.readouterr().out.startswith("# A board file for breadproof.")
