"""Levels of nets on small boards, as a table by hand tells them, in three witnesses.

A level is ``H`` or ``L``, ``Z`` where the net floats, ``?`` where it is driven or pulled and yet
has no level, ``!`` where two drive against each other.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from functools import partial
from pathlib import Path

from breadproof.export.simulate import Bench
from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.walk import Walker
from tests.support.second_evaluator import SecondBoard


def machine_of(text: str) -> Machine:
    """The machine of a board file's text."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "board.yaml")
        path.write_text(text, "utf-8")
        return load_machine(path)


class Witnessed:
    """A board without storage in the Machine, in the second evaluator and in Amaranth."""

    def __init__(self, text: str) -> None:
        self.machine = machine_of(text)
        self.netlist = self.machine.netlist
        self.bench = Bench(self.netlist)

    def controls(self, levels: Mapping[str, int | None]) -> dict[str, tuple[int, ...]]:
        """Bits of controls: a level, or None for nobody outside (a ``both`` port)."""
        found: dict[str, tuple[int, ...]] = {}
        for control in self.netlist.controls:
            level = levels.get(control.name, 0)
            found[control.name] = (level or 0,)
            if control.kind == "both":
                found[control.name] = (int(level is not None), level or 0)
        return found

    def see(self, levels: Mapping[str, int | None], nets: str) -> str:
        """The levels of nets, in one letter a net; all three witnesses must agree."""
        controls = self.controls(levels)
        seen: dict[str, list[tuple[int, int, int]]] = {name: [] for name in nets.split()}
        letters: dict[str, str] = {}
        for free in (0, 1):
            choice = partial(_always, free)
            walker = Walker(self.machine, free=choice, controls=dict(controls))
            walker.power_up()
            now = walker.before
            assert now is not None
            second = SecondBoard(self.netlist, controls, {}, {})
            told = second.power_up(choice, _nothing_chosen)[-1].nets
            self.bench.set_free(dict.fromkeys(self.machine.free, free))
            self.bench.step(controls)
            shown = self.bench.levels()
            for name, levels_seen in seen.items():
                net = self.netlist.net(name)
                assert net is not None
                node = self.machine.nets[net.index]
                mine = now.levels[node.level]
                levels_seen.append((mine, told[name], shown[name]))
                known, driven = now.levels[node.known], now.levels[node.driven]
                letters[name] = "LH"[mine] if known else "?" if driven else "Z"
                if now.levels[node.fights]:
                    letters[name] = "!"
        for name, levels_seen in seen.items():
            low, high = {"H": (1, 1), "L": (0, 0)}.get(letters[name], (0, 1))
            assert levels_seen == [(low,) * 3, (high,) * 3], (name, letters[name])
        return " ".join(letters.values())


def _always(level: int, reader: str) -> int:
    return level


def _nothing_chosen(number: int) -> None:
    return None
