"""Three hundred random pairs of revisions against ABC."""

from __future__ import annotations

from pathlib import Path

from tests.revisions.test_random_pairs import check


def test_three_hundred_pairs(tmp_path: Path, berkeley_abc: str) -> None:
    differ = 0
    for seed in range(150):
        same, other = check(tmp_path, 8_000 + seed, berkeley_abc)
        assert not same
        differ += other
    assert differ >= 75
