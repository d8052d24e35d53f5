"""Tests that need a Debian tool are left out aloud where it is missing, and fail in CI."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

SAMPLE = """
import pytest

@pytest.mark.needs("verilator")
def test_with_a_marker() -> None:
    pass

def test_with_a_fixture(verilator: str, iverilog: str) -> None:
    assert verilator.endswith("/verilator")

def test_without_tools() -> None:
    pass
"""


def _run(
    folder: Path, *, path: str, ci: str, workers: str, sample: str = SAMPLE
) -> subprocess.CompletedProcess[str]:
    tests = folder / "tests"
    tests.mkdir()
    (tests / "conftest.py").write_text((ROOT / "tests" / "conftest.py").read_text("utf-8"))
    (tests / "test_sample.py").write_text(sample)
    # Without the settings of the run that this test is part of.
    environment = {k: v for k, v in os.environ.items() if not k.startswith(("PYTEST_", "COV_"))}
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-n", workers, "-p", "no:cacheprovider", "tests"],
        cwd=folder,
        env=environment | {"PATH": path, "CI": ci},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def tools(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A PATH with stand-ins for the tools; none of them is run."""
    folder = tmp_path_factory.mktemp("bin")
    for name in ("iverilog", "verilator"):
        program = folder / name
        program.write_text("#!/bin/sh\n")
        program.chmod(0o755)
    return str(folder)


@pytest.mark.parametrize("workers", ["0", "2"])
def test_where_a_tool_is_missing_one_line_names_the_tests(tmp_path: Path, workers: str) -> None:
    run = _run(tmp_path, path="/nonexistent", ci="", workers=workers)
    assert run.returncode == 0, run.stdout + run.stderr
    lines = [line for line in run.stdout.splitlines() if "verilator" in line]
    assert lines == [
        "Left out for want of iverilog and verilator: tests/test_sample.py (2). "
        "To run them: apt-get install iverilog verilator"
    ]
    assert "1 passed" in run.stdout
    assert "skipped" not in run.stdout


def test_in_ci_a_missing_tool_is_a_failure(tmp_path: Path) -> None:
    run = _run(tmp_path, path="/nonexistent", ci="true", workers="0")
    assert run.returncode == 1
    assert "needs iverilog, verilator: apt-get install iverilog verilator" in run.stdout
    assert "1 passed, 2 errors" in run.stdout


def test_where_the_tools_are_found_all_tests_run(tmp_path: Path, tools: str) -> None:
    run = _run(tmp_path, path=tools, ci="", workers="0")
    assert run.returncode == 0, run.stdout + run.stderr
    assert "3 passed" in run.stdout
    assert "Left out" not in run.stdout


def test_a_tool_that_nobody_knows_is_refused(tmp_path: Path) -> None:
    sample = SAMPLE.replace('"verilator")', '"oscilloscope")')
    run = _run(tmp_path, path="/nonexistent", ci="", workers="0", sample=sample)
    assert run.returncode == pytest.ExitCode.USAGE_ERROR
    assert "test_sample.py::test_with_a_marker needs ['oscilloscope']" in run.stdout + run.stderr
