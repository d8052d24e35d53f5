"""Keys of answers at length: the same key never comes with two answers."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.prove.test_keys import conflicts


@pytest.mark.parametrize("seed", range(100, 120))
def test_the_same_key_has_the_same_answer(tmp_path: Path, seed: int) -> None:
    counts = conflicts(seed, 20, 10, tmp_path)
    assert counts["same"] >= 200
    assert counts["changed"] >= 20
