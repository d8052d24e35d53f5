"""Counted changes at length: the sources are those of `tests.machine.test_changes`."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from tests.machine.test_changes import agrees_with_settling, covered, exact
from tests.random_boards.boards import build


@pytest.mark.parametrize("part", range(20))
def test_counts_are_exact_without_loops(part: int) -> None:
    seen = [count for seed in range(1000 + 250 * part, 1250 + 250 * part) for count in exact(seed)]
    assert all(seen.count(count) > 60 for count in (0, 1, 2))


@pytest.mark.parametrize("part", range(20))
def test_counts_cover_loops(tmp_path: Path, part: int) -> None:
    seen = [count for seed in range(100 + 40 * part, 140 + 40 * part)
            for count in covered(tmp_path, seed)]  # fmt: skip
    assert all(seen.count(count) > 20 for count in (0, 1, 2))


@pytest.mark.parametrize("part", range(20))
def test_where_a_level_stays_counting_is_settling(part: int) -> None:
    seeds = range(1000 + 8 * part, 1008 + 8 * part)
    found = [agrees_with_settling(build(Random(seed)), seed) for seed in seeds]
    found += [agrees_with_settling(build(Random(s), joins=100), s) for s in seeds]
    assert sum(found) > 10
