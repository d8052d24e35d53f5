"""A thousand random boards through all witnesses; run by name: pytest tests/long."""

from tests.random_boards.running import run_many
from tests.random_boards.test_random_boards import others


def test_witnesses_agree_on_a_thousand_boards() -> None:
    count = run_many(1000, others)
    assert count["boards"] >= 1000
    assert count["whole runs"] >= 0.6 * count["boards"]
