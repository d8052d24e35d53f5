"""Boards of the corpus, cut in two at random and joined again: every check comes out as on the
whole board. A machine does not know on which breadboard its chips are. All boards: `tests/long`."""

from pathlib import Path

import pytest

from tests.support.cut_alike import alike


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize("name", ["cue-pad", "tempo", "quick-store"])
def test_halves_are_the_whole(name: str, seed: int, tmp_path: Path) -> None:
    assert alike(name, tmp_path, seed) > 3
