"""A thousand random boards through all witnesses; run by name: pytest tests/long."""

from collections import Counter
from random import Random

from tests.random_boards.boards import build
from tests.random_boards.icarus import check_one
from tests.random_boards.running import run_many
from tests.random_boards.test_contact_loops import follow_rings
from tests.random_boards.test_random_boards import follow_boards, others


def test_witnesses_agree_on_a_thousand_boards() -> None:
    count = run_many(1000, others)
    assert count["boards"] >= 1000
    assert count["whole runs"] >= 0.6 * count["boards"]


def test_icarus_sees_what_the_second_evaluator_sees_on_a_thousand_boards(iverilog: str) -> None:
    count: Counter[str] = Counter()
    for seed in range(100, 1100):
        check_one(iverilog, build(Random(seed)), seed, count)
    assert count["whole runs"] >= 600


def test_no_run_of_two_thousand_rings_is_left_out() -> None:
    count = follow_rings(100, 2100)
    assert count["whole runs"] >= 800
    assert count["open rounds"] >= 1500


def test_no_run_of_two_hundred_random_boards_is_left_out() -> None:
    count = follow_boards(100, 300)
    assert count["whole runs"] >= 60
    assert count["open rounds"] >= 50
