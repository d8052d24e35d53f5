"""A small board's bitstream: its pins as another program reads them, its netlist in Icarus, and
what the command writes and says. The light-store's are in tests/long."""

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any, Literal

import pytest

from breadproof import cli
from breadproof.export.fpga import build as building
from breadproof.export.fpga.build import Built
from breadproof.export.fpga.troubles import Unbuildable
from breadproof.specs.machine.machine import Machine
from breadproof.verify.equal.proof import Equality
from tests.fpga.boards import PAD, PAD_TARGET, machine_of, written
from tests.fpga.building import built_of, mapped_of
from tests.fpga.icestorm import PinUse, unpacked
from tests.fpga.mapped import PadPlay, played


@dataclass(frozen=True)
class Made:
    folder: Path
    machine: Machine
    built: Built

    def arguments(self, *more: str) -> list[str]:
        board, target = self.folder / "board.yaml", self.folder / "target.yaml"
        words = ["export", str(board), "--to", "bitstream", "--target", str(target), *more]
        return [*words, "-o", str(self.folder / "pad.bin")]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    folder = tmp_path_factory.mktemp("pad")
    machine = machine_of(folder, PAD)
    _, built = built_of(machine.netlist, written(folder, PAD_TARGET, "target.yaml"))
    return Made(folder=folder, machine=machine, built=built)


@pytest.mark.needs("iceunpack")
def test_the_pins_are_those_of_the_target(made: Made, tmp_path: Path) -> None:
    found = unpacked(made.built.bitstream, "1k-tq144", tmp_path)
    bus = {str(pin): PinUse(way="both", pulled_up=False) for pin in range(112, 120)}
    assert found == bus | {
        "21": PinUse(way="in", pulled_up=False),
        "1": PinUse(way="in", pulled_up=True),
        "2": PinUse(way="in", pulled_up=True),
        "3": PinUse(way="in", pulled_up=True),
        "4": PinUse(way="in", pulled_up=False),
        "7": PinUse(way="in", pulled_up=True),
        "99": PinUse(way="out", pulled_up=False),
    }


def test_the_mapped_netlist_does_what_the_board_does(
    made: Made, iverilog: str, tmp_path: Path
) -> None:
    play = PadPlay(machine=made.machine, dice=Random(1))
    play.run(50)
    shown = {line.partition(" ")[0] for line in play.expected}
    buses = {line.partition(" ")[2] for line in play.expected}
    assert shown == {"0", "1"}
    assert len(buses) > 8
    assert played(made.built.netlist, play, iverilog, tmp_path) == play.expected


def test_the_report(made: Made) -> None:
    uses = {use.what: use for use in made.built.report.uses}
    # hx1k: 1,280 logic cells and 16 memory blocks of 4 kbit; tq144: 96 pins (data sheet). A 6116
    # has 16 kbit; 15 pins are in the target.
    assert uses["logic cells"].available == 1280
    assert (uses["memory blocks"].used, uses["memory blocks"].available) == (4, 16)
    assert (uses["pins"].used, uses["pins"].available) == (15, 96)
    assert made.built.report.needed == 12e6
    assert made.built.report.achieved > 12e6


@pytest.fixture
def at_once(made: Made, monkeypatch: pytest.MonkeyPatch) -> None:
    """The command gets the bitstream that was built already."""

    def at_once(*given: Any) -> Built:
        given[-1](made.built.design, made.built.netlist)
        return made.built

    monkeypatch.setattr(building, "build", at_once)


@pytest.mark.usefixtures("at_once")
def test_the_command(made: Made, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(made.arguments()) == 0
    out, err = capsys.readouterr()
    sheet = made.folder / "pad.safety.md"
    lines = out.splitlines()
    assert "equal, proved: in every round the design does what the board does" in err
    assert "equal       proved (mapped netlist): " in out
    assert lines[0] == f"{made.folder / 'pad.bin'}: pad-hx1k, hx1k in tq144"
    assert lines[1].split()[0] == "fits"
    assert "rounds      2 at most in a step, proved; one takes 3 clocks" in out
    assert lines[-1] == f"{sheet}: read it before anything is wired"
    assert (made.folder / "pad.bin").read_bytes() == made.built.bitstream
    text = sheet.read_text("utf-8")
    assert "Proved: on `d` no two drivers meet at any quiet moment" in text
    assert "| 7 | in | outside(d) | low | up |" in text
    assert "| 99 | out | L1 | low | |" in text
    assert "Proved: at every clock the mapped netlist gives every pin what the design" in text


@pytest.mark.usefixtures("at_once")
def test_without_proof_the_sheet_says_so(made: Made, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(made.arguments("--unproved", "--no-proof")) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "equal       not proved: nothing was compared with the board" in out
    text = (made.folder / "pad.safety.md").read_text("utf-8")
    assert "**NOT PROVED** that no two drivers meet on `d`" in text
    assert "**NOT PROVED** that no two drivers of the board fight." in text
    assert "**NOT PROVED** that the board's modules" in text


@pytest.mark.usefixtures("at_once")
@pytest.mark.parametrize(("verdict", "status"), [("differs", 1), ("undecided", 3)])
def test_modules_that_are_not_proved_equal_are_no_bitstream(
    verdict: Literal["differs", "undecided"],
    status: int,
    made: Made,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    found = Equality(verdict=verdict, because="the net lit_n is strange")
    monkeypatch.setattr("breadproof.verify.equal.inside.equal_inside", lambda *_: found)
    words = made.arguments("--unproved")
    words[-1] = str(made.folder / "unequal.bin")
    assert cli.main(words) == status
    assert "the net lit_n is strange" in capsys.readouterr().err
    assert not list(made.folder.glob("unequal*"))


def with_netlist(made: Made, monkeypatch: pytest.MonkeyPatch, netlist: str) -> list[str]:
    """A call whose synthesis has made that; the bitstream is not proved free of fights."""

    def build(*given: Any) -> Built:
        given[-1](made.built.design, netlist)
        return made.built

    assert netlist != made.built.netlist
    monkeypatch.setattr(building, "build", build)
    words = made.arguments("--unproved")
    words[-1] = str(made.folder / "other.bin")
    return words


def test_a_netlist_that_differs_is_no_bitstream(
    made: Made, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A pad that synthesis has turned round."""
    spoilt = made.built.netlist.replace('"PIN_TYPE": "000001"', '"PIN_TYPE": "101001"')
    assert cli.main(with_netlist(made, monkeypatch, spoilt)) == 1
    err = capsys.readouterr().err
    assert "not exported: synthesis has not kept what the design does: the pad clock_buffer" in err
    assert not list(made.folder.glob("other*"))


def test_a_netlist_that_is_not_read_is_not_proved(
    made: Made, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    strange = made.built.netlist.replace('"SB_CARRY"', '"SB_MAC16"')
    assert cli.main(with_netlist(made, monkeypatch, strange)) == 0
    line = (
        "proved of the board's modules; not proved of the mapped netlist: a cell of kind SB_MAC16"
    )
    assert line in capsys.readouterr().out
    text = (made.folder / "other.safety.md").read_text("utf-8")
    assert "**NOT PROVED**: that synthesis and placing" in text


def test_a_folder_that_may_not_be_written_into(
    made: Made, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is told before anything is proved or built. (Whoever runs this may write anywhere.)"""
    monkeypatch.setattr(building, "build", broken)
    monkeypatch.setattr("os.access", lambda path, mode: mode != os.W_OK)
    assert cli.main(made.arguments()) == 2
    assert "nothing may be written into" in capsys.readouterr().err


@pytest.mark.usefixtures("at_once")
def test_a_fight_is_no_bitstream(made: Made, capsys: pytest.CaptureFixture[str]) -> None:
    """Without the assumption the other board may drive against the memory."""
    board = written(made.folder, PAD[: PAD.index("assume:")], "fighting.yaml")
    words = made.arguments()
    words[1] = str(board)
    words[-1] = str(made.folder / "fighting.bin")
    assert cli.main(words) == 1
    assert "two drivers can fight on d" in capsys.readouterr().err
    assert not list(made.folder.glob("fighting.*i*"))


def stopped(*_: object) -> Built:
    raise KeyboardInterrupt


def broken(*_: object) -> Built:
    raise RuntimeError("nextpnr-ice40: it failed and said nothing")


@pytest.mark.parametrize(("build", "status"), [(stopped, 130), (broken, 4)])
def test_nothing_is_left_half_written(
    build: Callable[..., Built],
    status: int,
    made: Made,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(building, "build", build)
    before = sorted(made.folder.iterdir())
    words = made.arguments("--unproved", "--no-proof")
    words[-1] = str(made.folder / "left.bin")
    assert cli.main(words) == status
    assert sorted(made.folder.iterdir()) == before
    capsys.readouterr()


def test_a_clock_that_is_too_slow_for_nothing(made: Made) -> None:
    """The tools' answer is compared with what is needed: 300 MHz is more than an hx1k does."""
    target = PAD_TARGET.replace("12 MHz", "300 MHz")
    mapped = mapped_of(made.machine.netlist, written(made.folder, target, "fast.yaml"))
    with pytest.raises(Unbuildable, match=r"fast\.yaml:4:8: error: the design runs at"):
        building.check_clock(made.built.report, mapped)
