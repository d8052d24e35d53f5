"""Three hundred random boards through `verify`; run by name: pytest tests/long."""

from pathlib import Path

from tests.prove.test_random_verify import look


def test_runs_on_three_hundred_random_boards_replay(tmp_path: Path) -> None:
    runs = [look(tmp_path, seed) for seed in range(31000, 31300)]
    assert sum(runs) > 1000
