"""The shipped board as Verilog, read by three tools that share nothing with us.

Icarus Verilog and Verilator (Debian), and yosys's own Verilog reader (PyPI's pyosys; the yosys that
Amaranth ships cannot read Verilog).
"""

import subprocess
import sys
from pathlib import Path

import pytest

from breadproof.export.verilog import verilog
from breadproof.specs.load import load_netlist

BOARD = Path(__file__).parents[2] / "specs" / "boards" / "light-store.yaml"
READ = """
import sys
from pyosys import libyosys

design = libyosys.Design()
for command in (f"read_verilog {sys.argv[1]}", "hierarchy -check -auto-top", "proc",
                "check -assert"):
    libyosys.run_pass(command, design)
"""


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("light-store") / "light_store.v"
    path.write_text(verilog(load_netlist(BOARD)), encoding="utf-8")
    return path


def test_icarus_accepts_it(source: Path, iverilog: str, tmp_path: Path) -> None:
    ran = subprocess.run(
        [iverilog, "-g2005", "-Wall", "-Wno-timescale", "-o", tmp_path / "out", source],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (ran.returncode, ran.stderr) == (0, "")


def test_verilator_finds_nothing(source: Path, verilator: str) -> None:
    ran = subprocess.run(
        [verilator, "--lint-only", "-Wall", source], capture_output=True, text=True, check=False
    )
    assert (ran.returncode, ran.stderr) == (0, "")


def test_yosys_reads_it(source: Path) -> None:
    ran = subprocess.run(
        [sys.executable, "-c", READ, source], capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0, ran.stdout[-2000:] + ran.stderr
    assert "Found and reported 0 problems." in ran.stdout
