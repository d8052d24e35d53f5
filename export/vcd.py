"""A trace as a value change dump (IEEE 1364-2005, clause 18), for a waveform viewer.

A step takes `STEP` nanoseconds, whatever it holds; its rounds share that time in equal parts, so
that what happens between the quiet moments is seen, and the last part is the quiet moment.
"""

from __future__ import annotations

import io
import re
from collections.abc import Mapping, Sequence
from types import TracebackType
from typing import Any, TextIO

from vcd.writer import VCDWriter

from breadproof.specs.machine.trace import Trace
from breadproof.specs.netlist.model import Netlist

STEP = 1000
"""Nanoseconds a step."""
DATE = "(none: the same run gives the same file)"


def vcd(netlist: Netlist, trace: Trace) -> str:
    """The trace as text. Scopes: ``controls``, ``nets`` (vectors as one each), and the board.

    ``step`` and ``round`` count from 0.
    """
    out = io.StringIO()
    with Dump(netlist, out) as dump:
        for step in trace.steps:
            dump.step(step.controls, [one.nets for one in step.rounds])
    return out.getvalue()


class Dump:
    """A dump that is written step by step, into a text file; the end is written when it is left."""

    def __init__(self, netlist: Netlist, out: TextIO) -> None:
        """Begin with the names of all that is dumped."""
        from breadproof import __version__

        self.writer = VCDWriter(
            out, timescale="1 ns", date=DATE, version=f"breadproof {__version__}", init_timestamp=0
        )
        board = _name(netlist.board)
        self.counters = {
            name: self.writer.register_var(board, name, "integer", size=32, init=0)
            for name in ("step", "round")
        }
        self.controls = _Controls(self.writer, f"{board}.controls", netlist)
        self.nets = _Nets(self.writer, f"{board}.nets", netlist)
        self.steps = 0

    def __enter__(self) -> Dump:
        """Itself."""
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Write the end."""
        self.writer.close(self.steps * STEP)

    def step(
        self, controls: Mapping[str, tuple[int, ...]], rounds: Sequence[Mapping[str, int]]
    ) -> None:
        """One step: its controls, and the nets in each of its rounds."""
        for position, nets in enumerate(rounds):
            time = self.steps * STEP + position * STEP // len(rounds)
            self.writer.change(self.counters["step"], time, self.steps)
            self.writer.change(self.counters["round"], time, position)
            self.controls.change(time, dict(controls))
            self.nets.change(time, dict(nets))
        self.steps += 1


def _name(text: str) -> str:
    """A name without white space and dots, which part the names of a dump."""
    return re.sub(r"[\s.]+", "_", text)


class _Controls:
    def __init__(self, writer: VCDWriter, scope: str, netlist: Netlist) -> None:
        self.writer = writer
        self.variables: dict[str, tuple[Any, ...]] = {}
        for control in netlist.controls:
            if control.kind in ("in", "both"):
                width = len(control.bits) - (control.kind == "both")
                name = _name(control.name)
                size = {"size": width, "init": 0}
                whole = writer.register_var(scope, name, "wire", **size)
                outside = [
                    writer.register_var(scope, f"{name}_outside", "wire", size=1, init=0)
                ] * (control.kind == "both")
                self.variables[control.name] = (*outside, whole)
            else:
                self.variables[control.name] = tuple(
                    writer.register_var(scope, _name(bit), "wire", size=1, init=0)
                    for bit in control.bits
                )

    def change(self, time: int, controls: dict[str, tuple[int, ...]]) -> None:
        for name, variables in self.variables.items():
            bits = list(controls[name])
            for variable in variables[:-1]:
                self.writer.change(variable, time, bits.pop(0))
            value = int("".join(map(str, bits)), 2)
            self.writer.change(variables[-1], time, value)


class _Nets:
    def __init__(self, writer: VCDWriter, scope: str, netlist: Netlist) -> None:
        self.writer = writer
        names = [net.name for net in netlist.nets]
        grouped = {index for vector in netlist.vectors for index in vector.nets}
        rows: list[tuple[str, tuple[str, ...]]] = [
            (net.name, (net.name,)) for net in netlist.nets if net.index not in grouped
        ]
        rows += [
            (f"{vector.name}[{vector.left}:{vector.right}]", tuple(names[i] for i in vector.nets))
            for vector in netlist.vectors
        ]
        self.variables = [
            (writer.register_var(scope, _name(name), "wire", size=len(bits), init=0), bits)
            for name, bits in rows
        ]

    def change(self, time: int, nets: dict[str, int]) -> None:
        for variable, bits in self.variables:
            value = 0
            for name in bits:
                value = 2 * value + nets[name]
            self.writer.change(variable, time, value)
