"""The first round in which hardware differs from its board, in numbers and in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from breadproof.specs.machine.machine import Machine
from breadproof.verify.equal.miter import Compared, Target
from breadproof.verify.prove.solver import Solver

SHOWN = 8
"""So many storage bits are told of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """The first round that differs, and the first thing in it that does.

    ``round`` counts from 0, the one at power-up. ``controls`` has the levels of each control in
    each round up to it, as `Control.bits`; ``storage`` the bits that are high at power-up
    (``U3.R[2]``). ``kind`` and ``name`` say what differs; ``pins`` are the pins on it, if it is a
    net.
    """

    round: int
    kind: str
    name: str
    pins: tuple[str, ...]
    board: int
    hardware: int
    controls: tuple[dict[str, tuple[int, ...]], ...]
    storage: tuple[str, ...]

    def told(self) -> str:
        """The difference in words, a line for each round."""
        where = f" ({', '.join(self.pins)})" if self.pins else ""
        lines = [
            f"{self.kind} {self.name}{where} is {self.board} on the board, {self.hardware} in the "
            f"hardware, in round {self.round}"
        ]
        high = ", ".join(self.storage[:SHOWN]) or "nothing"
        more = f" and {len(self.storage) - SHOWN} more" if len(self.storage) > SHOWN else ""
        lines.append(f"  at power-up {high}{more} of the storage is 1")
        lines += [
            f"  round {number}: {_controls(levels)}" for number, levels in enumerate(self.controls)
        ]
        return "\n".join(lines)


def _controls(levels: dict[str, tuple[int, ...]]) -> str:
    if not levels:
        return "there are no controls"
    return " ".join(f"{name}={''.join(map(str, bits))}" for name, bits in levels.items())


def difference(
    machine: Machine,
    solver: Solver,
    store: dict[int, int],
    run: Sequence[Compared],
    target: Target,
) -> Difference:
    """What the solver's last model says; ``target`` is what it has found to differ."""
    leaves = [literal for compared in run for literal in compared.controls.values()]
    asked = [*store.values(), *leaves, target.board, target.hardware]
    levels = solver.values(list(dict.fromkeys(asked)))
    nets = [net for net in machine.netlist.nets if target.kind == "net" and net.name == target.name]
    return Difference(
        round=len(run) - 1,
        kind=target.kind,
        name=target.name,
        pins=tuple(pin.label for net in nets for pin in net.pins),
        board=levels[target.board],
        hardware=levels[target.hardware],
        controls=tuple(
            {
                name: tuple(levels[compared.controls[bit]] for bit in bits)
                for name, bits in machine.controls.items()
            }
            for compared in run
        ),
        storage=tuple(bit.label for bit in machine.stores if levels[store[bit.leaf]]),
    )
