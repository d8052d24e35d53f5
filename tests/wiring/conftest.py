"""Boards written in a test, and what the wiring rules say about them."""

from collections.abc import Callable
from pathlib import Path

import pytest

from breadproof.specs.load import load_netlist
from breadproof.verify.wiring.finding import Finding
from breadproof.verify.wiring.registry import check_wiring

Check = Callable[[str], tuple[Finding, ...]]


@pytest.fixture
def check(tmp_path: Path) -> Check:
    """The findings above a note for a board of which the text after its first line is given."""

    def run(text: str) -> tuple[Finding, ...]:
        path = tmp_path / "board.yaml"
        path.write_text("board: stage\n" + text, "utf-8")
        found = check_wiring(load_netlist(path))
        return tuple(finding for finding in found if finding.severity.value != "note")

    return run
