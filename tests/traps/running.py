"""One small board, run by the Machine, the second evaluator and the Amaranth modules at once."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from breadproof.specs.load import load_machine
from tests.support.witnesses import (
    AmaranthWitness,
    MachineWitness,
    Moment,
    SecondWitness,
    Seen,
    Start,
    Witness,
    agree,
)


class Bench:
    """A board with three witnesses, which must agree; what they saw is to be compared by hand.

    ``seed`` decides which of several stable values a loop is offered.
    """

    def __init__(
        self,
        folder: Path,
        text: str,
        *,
        storage: Mapping[str, int] | None = None,
        words: Mapping[str, Mapping[int, int]] | None = None,
        controls: Mapping[str, tuple[int, ...]] | None = None,
        free: Mapping[str, int] | None = None,
        seed: int = 0,
    ) -> None:
        path = folder / "board.yaml"
        path.write_text(text, "utf-8")
        machine = load_machine(path)
        start = Start(
            storage=storage or {},
            memories={
                memory.label: [
                    (words or {}).get(memory.label, {}).get(n, 0) for n in range(memory.words)
                ]
                for memory in machine.memories
            },
            controls={c.name: (0,) * len(c.bits) for c in machine.netlist.controls}
            | dict(controls or {}),
        )
        self.first = MachineWitness(machine, start, seed)
        self.others: list[Witness] = [
            SecondWitness(machine.netlist, start),
            AmaranthWitness(machine.netlist, start),
        ]
        self.free = dict(free or {})
        self.steps = 0

    def power_up(self) -> Seen:
        """The rounds to the first quiet moment."""
        return self._run({})

    def step(self, **controls: tuple[int, ...] | int) -> Seen:
        """Change controls; a single level stands for a control of one bit."""
        return self._run({name: (v,) if isinstance(v, int) else v for name, v in controls.items()})

    def change(self, controls: Mapping[str, tuple[int, ...]]) -> Seen:
        """As `step`, for controls whose names are no identifiers."""
        return self._run(controls)

    def _run(self, controls: Mapping[str, tuple[int, ...]]) -> Seen:
        moment = Moment(controls=controls, free=lambda reader: self.free.get(reader, 0))
        mine = self.first.step(moment) if self.steps else self.first.power_up(moment)
        second: Seen | None = None
        for other in self.others:
            told = Moment(controls=controls, free=moment.free, machine=mine, second=second)
            theirs = other.step(told) if self.steps else other.power_up(told)
            agree(self.steps, self.first, mine, other, theirs)
            second = second or theirs
        self.steps += 1
        return mine

    def word(self, memory: str, address: int) -> int:
        """A word of a memory in the Machine."""
        return self.first.memories()[memory][address]


def levels(seen: Seen, *nets: str) -> list[tuple[int, ...]]:
    """The levels of nets, round by round."""
    return [tuple(one.nets[net] for net in nets) for one in seen.rounds]
