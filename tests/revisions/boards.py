"""Boards of texts, and of the corpus, for tests of revisions."""

from __future__ import annotations

import tempfile
from functools import lru_cache
from pathlib import Path

from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.model import Netlist

BOARDS = Path(__file__).parents[2] / "specs" / "boards"


def netlist_of(text: str) -> Netlist:
    """The netlist of a board file's text."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "board.yaml")
        path.write_text(text, "utf-8")
        return load_netlist(path)


@lru_cache
def corpus(name: str) -> Netlist:
    """The netlist of a board of the corpus."""
    return load_netlist(BOARDS / f"{name}.yaml")
