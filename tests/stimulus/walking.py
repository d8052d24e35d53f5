"""A script played on the Machine, by a reading of its own of what the entries mean.

Written from the help of 'breadproof simulate': one thing at a time, and the board settles between.
It shares with the engines what the board holds at power-on and what nobody decides; nothing else.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from breadproof.export.stimulus.start import Start, free_level
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import TraceStep
from breadproof.specs.machine.walk import Walker

Rounds = Mapping[tuple[int, int], Mapping[str, int]]
"""Levels of nets by step and round, of a run that took the levels which loops may take."""


def number(text: str) -> int:
    """``12``, ``8'hA5``, ``4'b0101`` (IEEE 1364, 3.5.1)."""
    found = re.fullmatch(r"(?:\d*'([bdho]))?([0-9A-Fa-f_]+)", text)
    assert found is not None, text
    return int(found[2], {"b": 2, "o": 8, "h": 16, "d": 10, None: 10}[found[1]])


class Walk:
    """``entries`` are plain YAML: the list under ``stimulus``."""

    def __init__(
        self, machine: Machine, start: Start, readers: list[str], loops: Rounds | None = None
    ) -> None:
        self.machine, self.loops = machine, loops or {}
        self.step = 0
        variables = {loop.name: loop.variables for loop in machine.loops}

        def free(reader: str) -> int:
            if start.seed is None or reader not in readers:
                return 0
            return free_level(start.seed, self.step, readers.index(reader))

        def choice(loop: str, cut: int) -> int:
            nets = self.loops.get((self.step, self.walker.round_number), {})
            return nets.get(variables[loop][cut], 0)

        self.walker = Walker(machine, free=free, choice=choice, storage=dict(start.storage))
        self.walker.memories = [list(start.words[one.label]) for one in machine.memories]
        for control in machine.netlist.controls:
            if control.kind == "changeover":
                self.walker.controls[control.name] = (1, *(0,) * (len(control.bits) - 1))

    def play(self, entries: list[Any]) -> Iterator[TraceStep]:
        yield self.walker.power_up()
        yield from self._all(entries)

    def _all(self, entries: list[Any]) -> Iterator[TraceStep]:
        for entry in entries:
            ((what, body),) = entry.items()
            if what == "drive":
                for name, value in body.items():
                    yield from self._drive(name, str(value))
            elif what == "press":
                for name in body if isinstance(body, list) else [body]:
                    yield from self._set(name, (1,))
                    yield from self._set(name, (0,))
            elif what == "clock":
                ((name, times),) = body.items()
                for _ in range(2 * int(times)):
                    yield from self._set(name, (1 - self.walker.controls[name][0],))
            elif what == "repeat":
                for _ in range(int(body["times"])):
                    yield from self._all(body["stimulus"])

    def _set(self, name: str, bits: tuple[int, ...]) -> Iterator[TraceStep]:
        if self.walker.controls[name] != bits:
            self.step += 1
            yield self.walker.step({name: bits})

    def _drive(self, name: str, value: str) -> Iterator[TraceStep]:
        part = self.machine.netlist.part(name)
        if part is not None and part.device == "dip-switch":
            for way in range(1, part.ways + 1):
                yield from self._set(f"{name}[{way}]", (number(value) >> (way - 1) & 1,))
            return
        if part is not None and part.positions:
            target = tuple(int(position == value) for position in part.positions)
            if self.walker.controls[name] != target:
                if value != "between" and any(self.walker.controls[name]):
                    yield from self._set(name, (0,) * len(target))
                yield from self._set(name, target)
            return
        width = len(self.walker.controls[name])
        control = next(one for one in self.machine.netlist.controls if one.name == name)
        if control.kind == "both":
            if value == "released":
                yield from self._set(name, (0, *self.walker.controls[name][1:]))
                return
            bits = (1, *(number(value) >> bit & 1 for bit in reversed(range(width - 1))))
        else:
            bits = tuple(number(value) >> bit & 1 for bit in reversed(range(width)))
        yield from self._set(name, bits)
