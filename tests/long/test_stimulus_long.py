"""Scripts on all boards and in all engines; the fade engine's program in each."""

from pathlib import Path

import pytest

from breadproof.export.stimulus.setting import bench_player, fast_player
from tests.boards.corpus import BOARDS
from tests.stimulus.agreement import bench, compiled, drawn, rows, simulated, walked
from tests.stimulus.boards import PAD, SCRIPT, loaded, played
from tests.stimulus.core import after_synthesis

SHIPPED = [path for path in sorted(BOARDS.glob("*.yaml")) if path.name != "corpus.yaml"]


def test_verilator_sees_what_icarus_sees(iverilog: str, verilator: str, tmp_path: Path) -> None:
    one, _ = drawn(tmp_path, PAD, 11, 25)
    expected = rows(one, bench(one, None)[0])
    assert simulated(iverilog, one, tmp_path) == expected
    assert simulated(verilator, one, tmp_path) == expected


def test_verilator_plays_light_store(verilator: str, tmp_path: Path) -> None:
    text = (BOARDS / "scripts" / "light-store.yaml").read_text("utf-8")
    one = loaded(tmp_path, BOARDS / "light-store.yaml", text)
    assert simulated(verilator, one, tmp_path) == rows(one, bench(one, None)[0])


@pytest.mark.needs("g++")
@pytest.mark.parametrize("seed", [None, 8])
@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_all_boards(path: Path, seed: int | None, iverilog: str, tmp_path: Path) -> None:
    one, script = drawn(tmp_path, path, seed or 2, 40)
    pause, rounds = bench(one, seed)
    expected = rows(one, pause)
    assert list(walked(one, script, seed, rounds)) == expected
    assert compiled(one, seed, tmp_path).records == pause.records
    if seed is None:
        assert simulated(iverilog, one, tmp_path) == expected


@pytest.mark.needs("g++")
def test_the_fade_engines_program_runs_alike(iverilog: str, tmp_path: Path) -> None:
    text = (BOARDS / "scripts" / "fade-engine.yaml").read_text("utf-8")
    one = loaded(tmp_path, BOARDS / "fade-engine.yaml", text)
    slow = played(bench_player(one.setting, None, every_round=False))
    fast, _ = fast_player(one.setting, None, tmp_path, lambda told: None, every_round=False)
    assert played(fast).records == slow.records
    assert simulated(iverilog, one, tmp_path) == rows(one, slow)


def test_the_fade_engines_program_runs_alike_after_synthesis(iverilog: str, tmp_path: Path) -> None:
    """On the mapped netlist of its core; the cells are yosys's models."""
    text = (BOARDS / "scripts" / "fade-engine.yaml").read_text("utf-8")
    one = loaded(tmp_path, BOARDS / "fade-engine.yaml", text)
    fast, _ = fast_player(one.setting, None, tmp_path, lambda told: None, every_round=False)
    pause = played(fast)
    assert after_synthesis(one, pause.records, iverilog, tmp_path) == rows(one, pause)


def test_a_script_runs_alike_after_synthesis(iverilog: str, tmp_path: Path) -> None:
    one = loaded(tmp_path, PAD, SCRIPT)
    slow = played(bench_player(one.setting, None, every_round=False))
    expected = rows(one, slow)
    assert len(expected) > 20
    assert after_synthesis(one, slow.records, iverilog, tmp_path) == expected
