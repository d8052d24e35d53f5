"""The page of a board beside Verilog that somebody wrote."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.cli import main
from tests.revisions.modules import MODULES

from .made import CHASE
from .reading import Read


def test_the_run_is_told_step_by_step(pages: dict[str, Path]) -> None:
    """The module goes on from any of 11, 13 and 15, at which a 163 with CLR_n low is cleared."""
    said = Read(pages["beside"].read_text("utf-8")).words()
    assert "ten.yaml and ten.v" in said
    assert "not the same behaviour" in said
    assert "DIFFERENT: step, 1 step after power-up, and in no shorter run" in said
    assert "step what is done step board step Verilog" in said
    assert "0 power comes on" in said
    assert "1 beat goes high 4'h0" in said


def test_the_command_writes_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    module = MODULES["ten-steps"]
    (tmp_path / "ten.v").write_text(module.verilog, "utf-8")
    (tmp_path / "ports.yaml").write_text(module.ports, "utf-8")
    words = ["compare", str(CHASE / "ten-steps-163.yaml"), str(tmp_path / "ten.v"), "--jobs", "1"]
    page = tmp_path / "out.html"
    call = [*words, "--ports", str(tmp_path / "ports.yaml"), "--report", str(page)]
    assert main(call) == 0
    assert "THE SAME, in runs of any length" in Read(page.read_text("utf-8")).words()


def test_exported_verilog_has_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board, verilog = str(CHASE / "chase.yaml"), str(tmp_path / "chase.v")
    assert main(["export", board, "--to", "verilog", "-o", verilog]) == 0
    assert main(["compare", board, verilog, "--report", str(tmp_path / "out.html")]) == 2
    assert "there is no page" in capsys.readouterr().err
    assert not (tmp_path / "out.html").exists()
