"""One script on the Machine and in the engines: the same nets at every quiet moment, and rounds."""

import random
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

from breadproof.export.stimulus.player import Pause, Reason
from breadproof.export.stimulus.setting import bench_player, fast_player
from breadproof.export.stimulus.verilog_bench import verilog_bench
from breadproof.export.verilog import verilog
from tests.stimulus.boards import Loaded, loaded, played
from tests.stimulus.drawing import entries
from tests.stimulus.walking import Rounds, Walk

Rows = list[tuple[int, tuple[int, ...]]]
"""For each step the rounds until then, and the nets."""


def drawn(folder: Path, board: str | Path, seed: int, count: int) -> tuple[Loaded, list[Any]]:
    """A board with a script by chance."""
    netlist = loaded(folder, board, "stimulus: []").machine.netlist
    script = entries(netlist, random.Random(seed), count)
    return loaded(folder, board, yaml.safe_dump({"stimulus": script}, sort_keys=False)), script


def rows(one: Loaded, pause: Pause) -> Rows:
    """What a run recorded at its quiet moments; every step is recorded once."""
    assert pause.reason is Reason.ENDED, pause
    places = one.setting.sights.row.nets.values()
    return [
        (record.rounds, tuple(record.row >> place & 1 for place in places))
        for record in pause.records
        if record.whole
    ]


def bench(one: Loaded, seed: int | None) -> tuple[Pause, Rounds]:
    """In Amaranth's simulator: the run, and the nets in all rounds."""
    pause = played(bench_player(one.setting, seed, every_round=True))
    nets = one.setting.sights.row.nets.items()
    rounds = {
        (record.step, record.round): {name: record.row >> place & 1 for name, place in nets}
        for record in pause.records
        if not record.whole
    }
    return pause, rounds


def walked(one: Loaded, script: list[Any], seed: int | None, rounds: Rounds) -> Iterator[Any]:
    """On the Machine. Where loops may take any level they take that of the other run."""
    setting = one.setting
    readers = list(setting.generated.lowered.free)
    walk = Walk(one.machine, setting.start(seed), readers, rounds)
    done = 0
    for step in walk.play(script):
        done += len(step.rounds)
        yield done, tuple(step.nets[name] for name in setting.sights.row.nets)


def compiled(one: Loaded, seed: int | None, cache: Path) -> Pause:
    player, _ = fast_player(one.setting, seed, cache, lambda text: None, every_round=True)
    return played(player)


def simulated(tool: str, one: Loaded, folder: Path) -> Rows:
    """The exported Verilog with the exported test bench, in Icarus or Verilator."""
    (folder / "board.v").write_text(verilog(one.machine.netlist), "utf-8")
    (folder / "bench.v").write_text(verilog_bench(one.setting, "script.yaml"), "utf-8")
    lines = run(build(tool, folder), "+levels").splitlines()
    assert lines[-1].startswith("PASSED"), lines[-1]
    found = [line.split() for line in lines[:-1]]
    return [(int(rounds), tuple(map(int, reversed(nets)))) for _, rounds, nets in found]


def build(tool: str, folder: Path) -> list[str]:
    """``bench.v`` and ``board.v`` of a folder made into a program; how it is called."""
    if "iverilog" in tool:
        command = [tool, "-g2005", "-Wall", "-Wno-timescale", "-o", "bench", "bench.v", "board.v"]
        made = ["vvp", "-n", str(folder / "bench")]
    else:
        command = [tool, "--binary", "--timing", "-Wno-fatal", "-O0", "-CFLAGS", "-O0"]
        command += ["--top-module", "t_bench", "-Mdir", "made", "bench.v", "board.v"]
        made = [str(folder / "made" / "Vt_bench")]
    ran = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    assert "iverilog" not in tool or not ran.stderr, ran.stderr
    return made


def run(command: list[str], *arguments: str) -> str:
    """What it prints, but for Verilator's own line at the end."""
    ran = subprocess.run([*command, *arguments], capture_output=True, text=True, check=True)
    return "\n".join(line for line in ran.stdout.splitlines() if not line.startswith("- "))
