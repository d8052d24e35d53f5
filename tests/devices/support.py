"""Small boards with parts that are no chips, and walks over them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from breadproof.specs.load import load_machine
from breadproof.specs.machine.watch import Watcher
from breadproof.verify.verify_board import verify_board

__all__ = ["level", "said", "verdicts", "watcher"]


def watcher(
    folder: Path, text: str, controls: Mapping[str, tuple[int, ...]] | None = None
) -> Watcher:
    """A board at its first quiet moment."""
    path = folder / "board.yaml"
    path.write_text("board: cue-panel\n" + text, "utf-8")
    walk = Watcher(load_machine(path))
    walk.controls.update(controls or {})
    walk.power_up()
    return walk


def level(walk: Watcher, net: str) -> int | None:
    """A net's level at the last quiet moment; None where it has none of its own."""
    machine = walk.machine
    index = next(one.index for one in machine.netlist.nets if one.name == net)
    found = machine.nets[index]
    return walk.at(found.level) if walk.at(found.known) else None


def said(walk: Watcher) -> dict[str, bool]:
    """The covers of a board that are reached at the last quiet moment."""
    return {name: bool(bad) for name, bad in walk.said.items()}


def verdicts(folder: Path, text: str) -> dict[str, str]:
    """The verdict of each result of a board."""
    path = folder / "board.yaml"
    path.write_text("board: cue-panel\n" + text, "utf-8")
    return {one.name: one.verdict for one in verify_board(path).results}
