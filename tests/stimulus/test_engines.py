"""Scripts by chance: the Machine, Amaranth, the compiled board, Icarus and Verilator agree."""

from pathlib import Path

import pytest

from breadproof.export.stimulus.player import Reason
from breadproof.export.stimulus.setting import bench_player, fast_player
from tests.boards.corpus import BOARDS
from tests.export import boards as small
from tests.stimulus.agreement import bench, compiled, drawn, rows, simulated, walked
from tests.stimulus.boards import PAD, SCRIPT, loaded, played

BARE = {"gated": small.GATED, "memory": small.MEMORY, "ripple": small.RIPPLE, "pad": PAD}


@pytest.mark.parametrize("seed", [None, 5])
@pytest.mark.parametrize("name", BARE)
def test_the_machine_does_what_the_simulator_does(
    name: str, seed: int | None, tmp_path: Path
) -> None:
    one, script = drawn(tmp_path, BARE[name], seed or 0, 20)
    pause, rounds = bench(one, seed)
    found = rows(one, pause)
    assert len(set(found)) > 5
    assert list(walked(one, script, seed, rounds)) == found


@pytest.fixture(scope="module")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("cache")


@pytest.mark.needs("g++")
def test_the_compiled_board_does_the_same_in_every_round(tmp_path: Path, cache: Path) -> None:
    for seed in (None, 3, 4):
        one, _ = drawn(tmp_path, PAD, seed or 9, 20)
        slow, _ = bench(one, seed)
        assert compiled(one, seed, cache).records == slow.records
    assert len(list((cache / "compiled").iterdir())) == 1


@pytest.mark.needs("g++")
@pytest.mark.parametrize(
    ("script", "reason"),
    [
        (SCRIPT, Reason.ENDED),
        (SCRIPT.replace("{bus: 10}", "{bus: 11}"), Reason.CHECK),
        (SCRIPT.replace("most: 20", "most: 9"), Reason.OVERRUN),
    ],
)
def test_both_engines_stop_at_the_same_place(
    script: str, reason: Reason, tmp_path: Path, cache: Path
) -> None:
    one = loaded(tmp_path, PAD, script, every_step=False)
    slow = bench_player(one.setting, None, every_round=False)
    fast, _ = fast_player(one.setting, None, cache, lambda text: None, every_round=False)
    first, second = played(slow), played(fast)
    assert first == second
    assert first.reason is reason
    assert (slow.step, slow.rounds, slow.row()) == (fast.step, fast.rounds, fast.row())
    assert slow.leaves() == fast.leaves()
    words = range(one.machine.memories[0].words)
    assert [slow.word(0, at) for at in words] == [fast.word(0, at) for at in words]


@pytest.mark.needs("g++")
def test_small_budgets_pause_and_change_nothing(tmp_path: Path, cache: Path) -> None:
    one = loaded(tmp_path, PAD, SCRIPT)
    whole = played(bench_player(one.setting, None, every_round=False))
    for player in (
        bench_player(one.setting, None, every_round=False),
        fast_player(one.setting, None, cache, lambda text: None, every_round=False)[0],
    ):
        pauses = [player.play(3)]
        while pauses[-1].reason is Reason.PAUSED:
            pauses.append(player.play(3))
        assert len(pauses) > 20
        assert sum((pause.records for pause in pauses), ()) == whole.records


def test_icarus_sees_the_same(iverilog: str, tmp_path: Path) -> None:
    """Verilator does, too: tests/long."""
    one, _ = drawn(tmp_path, PAD, 11, 25)
    assert simulated(iverilog, one, tmp_path) == rows(one, bench(one, None)[0])


def test_light_store_is_played_alike(iverilog: str, tmp_path: Path) -> None:
    """Its script: patterns stored by hand, and the show; every check of it holds in all of them."""
    text = (BOARDS / "scripts" / "light-store.yaml").read_text("utf-8")
    one = loaded(tmp_path, BOARDS / "light-store.yaml", text)
    expected = rows(one, bench(one, None)[0])
    assert simulated(iverilog, one, tmp_path) == expected
