"""The script played on the Machine."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import TraceStep
from breadproof.specs.machine.walk import Walker
from tests.boards.fade.model import CHANNELS, Cue
from tests.boards.fade.script import MOST, Line

FIRST, SECOND = (1, 0), (0, 1)


def _number(nets: dict[str, int], vector: str, width: int) -> int:
    return sum(nets[f"{vector}[{bit}]"] << bit for bit in range(width))


class Walk:
    """The board with a cue list in its memory; whatever else storage holds at power-on is ones."""

    def __init__(self, machine: Machine, limit: int, cues: Sequence[Cue] = ()) -> None:
        """``limit`` is set at the DIP switch, open ways being 1."""
        self.board = Walker(machine, storage={one.label: 1 for one in machine.stores})
        self.board.controls.update({"STEP": FIRST, "PLAY": FIRST, "LIST": FIRST})
        for way in range(8):
            self.board.controls[f"LIMIT[{way + 1}]"] = (1 - (limit >> way & 1),)
        words = {one.label: self.board.memories[k] for k, one in enumerate(machine.memories)}
        for number, (targets, rates) in enumerate(cues):
            words["U25.M"][CHANNELS * number : CHANNELS * (number + 1)] = targets
            words["U26.M"][CHANNELS * number : CHANNELS * (number + 1)] = rates
        self.now = self.board.power_up()

    def _change(self, control: str, bits: tuple[int, ...]) -> TraceStep:
        self.now = self.board.step({control: bits})
        return self.now

    def _tick(self) -> None:
        self._change("OSC", (1 - self.board.controls["OSC"][0],))

    def play(self, script: Iterable[Line]) -> list[list[int]]:
        """The lights, each time they are to be shown."""
        shown: list[list[int]] = []
        for action, number in script:
            match action:
                case "clock":
                    for _ in range(number):
                        self._tick()
                case "until":
                    self._until(number)
                case "show":
                    nets = dict(self.now.nets)
                    shown.append([_number(nets, f"light{k}", 8) for k in range(CHANNELS)])
                case "step" | "load":
                    contact = SECOND if number else FIRST
                    self._change({"step": "STEP", "load": "LIST"}[action], contact)
                case "desk":
                    self._change("desk", tuple(number >> bit & 1 for bit in reversed(range(8))))
                case _:
                    names = {"reset": "RESET", "charged": "C63.later"}
                    self._change(names.get(action, action), (number,))
        return shown

    def _until(self, address: int) -> None:
        for _ in range(MOST):
            if _number(dict(self.now.nets), "address", 6) == address:
                return
            self._tick()
        raise AssertionError(f"microword {address} never came")
