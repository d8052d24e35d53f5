"""A thousand random boards through all witnesses; run by name: pytest tests/long."""

from collections import Counter
from random import Random

from tests.random_boards.boards import build
from tests.random_boards.icarus import check_one
from tests.random_boards.running import run_many
from tests.random_boards.test_random_boards import others


def test_witnesses_agree_on_a_thousand_boards() -> None:
    count = run_many(1000, others)
    assert count["boards"] >= 1000
    assert count["whole runs"] >= 0.6 * count["boards"]


def test_icarus_sees_what_the_second_evaluator_sees_on_a_thousand_boards(iverilog: str) -> None:
    count: Counter[str] = Counter()
    for seed in range(100, 1100):
        check_one(iverilog, build(Random(seed)), seed, count)
    assert count["whole runs"] >= 600
