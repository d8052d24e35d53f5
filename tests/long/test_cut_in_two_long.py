"""All boards of the corpus that are one board, and all twins, cut in two (`tests.netlist`)."""

from pathlib import Path

import pytest
import yaml

from tests.boards.corpus import BOARDS
from tests.support.cut_alike import alike

ALONE = [
    str(path.relative_to(BOARDS).with_suffix(""))
    for path in sorted([*BOARDS.glob("*.yaml"), *BOARDS.glob("*/*.yaml")])
    if (told := yaml.load(path.read_text("utf-8"), Loader=yaml.BaseLoader)).get("parts")
    and not {"boards", "breadboards", "wires", "edif"} & {*told}
]


@pytest.mark.parametrize("seed", [3, 4])
@pytest.mark.parametrize("name", ALONE)
def test_halves_are_the_whole(name: str, seed: int, tmp_path: Path) -> None:
    assert alike(name, tmp_path, seed, 60) > 0
