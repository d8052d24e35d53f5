"""The fade engine on its mapped netlist, with the cells as yosys models them, beside the others.

Its whole program is in `tests/long`.
"""

from pathlib import Path

from breadproof.export.stimulus.setting import bench_player
from tests.boards.corpus import BOARDS
from tests.stimulus.agreement import rows
from tests.stimulus.boards import loaded, played
from tests.stimulus.core import after_synthesis


def test_the_fade_engine_begins_alike_after_synthesis(iverilog: str, tmp_path: Path) -> None:
    """RESET, and the first words of the microprogram."""
    text = (BOARDS / "scripts" / "fade-engine.yaml").read_text("utf-8")
    head = text[: text.index("  - drive: {C63.later: 1}")]
    one = loaded(tmp_path, BOARDS / "fade-engine.yaml", head)
    slow = played(bench_player(one.setting, None, every_round=False))
    assert after_synthesis(one, slow.records, iverilog, tmp_path) == rows(one, slow)
