"""Rounds per second of light-store and fade-engine, as ratios to Amaranth's simulator.

Run by hand: ``python tests/bench/bench_simulate.py``. All in one run, in processor time, so that a
busy machine tells the same: Amaranth's simulator, ``--fast``, and the exported Verilog with the
exported test bench in Icarus Verilog and in Verilator (where they are installed). What each takes
to get ready is told beside it. The boards' clocks run, and nothing else is done.
"""

from __future__ import annotations

import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from breadproof.export.stimulus.player import Player, Reason
from breadproof.export.stimulus.setting import Setting, bench_player, fast_player, setting
from breadproof.export.stimulus.verilog_bench import verilog_bench
from breadproof.export.verilog import verilog
from breadproof.specs.load import load_machine
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.script import read_script

BOARDS = Path(__file__).parents[2] / "specs" / "boards"
CLOCKS = {"light-store": ("tempo", "MODE: SHOW"), "fade-engine": ("OSC", "C63.later: 1")}
PERIODS = {"amaranth": 300, "fast": 200_000, "iverilog": 3_000, "verilator": 200_000}

Measured = tuple[float, float]
"""Seconds to get ready, and rounds per second."""


def spent() -> float:
    """Processor seconds of this process and of what it ran."""
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return time.process_time() + children.ru_utime + children.ru_stime


def prepared(board: str, engine: str, folder: Path) -> Setting:
    """The board with its clock running as long as the engine is given."""
    clock, first = CLOCKS[board]
    file = folder / "script.yaml"
    lines = ["stimulus:", f"  - drive: {{{first}}}", f"  - clock: {{{clock}: {PERIODS[engine]}}}"]
    file.write_text("\n".join([*lines, ""]), "utf-8")
    problems = Problems()
    read = read_script(file, problems)
    return setting(load_machine(BOARDS / f"{board}.yaml"), read, problems)


def played(make: Callable[[], Player]) -> Measured:
    """A player made and played."""
    begun = spent()
    player = make()
    ready = spent()
    reason = player.play(10**12).reason
    assert reason is Reason.ENDED, reason
    return ready - begun, player.rounds / (spent() - ready)


def simulated(one: Setting, tool: str, folder: Path) -> Measured:
    """The exported test bench in a Verilog simulator."""
    (folder / "board.v").write_text(verilog(one.machine.netlist), "utf-8")
    (folder / "bench.v").write_text(verilog_bench(one, "script.yaml"), "utf-8")
    if tool == "iverilog":
        build = [tool, "-g2005", "-o", "bench", "bench.v", "board.v"]
        command = ["vvp", "-n", "bench"]
    else:
        build = [tool, "--binary", "--timing", "-O3", "-Wno-fatal", "--top-module", "t_bench"]
        build += ["-Mdir", "made", "bench.v", "board.v"]
        command = ["made/Vt_bench"]
    begun = spent()
    subprocess.run(build, cwd=folder, check=True, capture_output=True)
    ready = spent()
    ran = subprocess.run(command, cwd=folder, check=True, capture_output=True, text=True)
    words = next(line for line in ran.stdout.splitlines() if line.startswith("PASSED")).split()
    return ready - begun, int(words[3]) / (spent() - ready)


def measured(board: str, engine: str, folder: Path) -> Measured:
    """One engine on one board."""
    one = prepared(board, engine, folder)
    if engine == "amaranth":
        return played(lambda: bench_player(one, None, every_round=False))
    if engine == "fast":
        cache = folder / "cache"
        return played(lambda: fast_player(one, None, cache, lambda _: None, every_round=False)[0])
    return simulated(one, engine, folder)


def main() -> None:
    """Print a line for each board and engine."""
    for board in CLOCKS:
        reference = 0.0
        for engine in PERIODS:
            if engine in ("iverilog", "verilator") and shutil.which(engine) is None:
                continue
            with tempfile.TemporaryDirectory() as name:
                ready, rate = measured(board, engine, Path(name))
            reference = reference or rate
            sys.stdout.write(
                f"{board:12} {engine:10} {rate:12,.0f} rounds/s {rate / reference:8.1f} x   "
                f"ready after {ready:5.1f} s\n"
            )
            sys.stdout.flush()


if __name__ == "__main__":
    main()
