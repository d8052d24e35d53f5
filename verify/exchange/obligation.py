"""All that is to be proved of a board, as one file in an open format."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Literal

from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.exchange.aiger import aiger_binary, aiger_text
from breadproof.verify.exchange.btor2 import btor2
from breadproof.verify.exchange.circuit import circuit
from breadproof.verify.exchange.flat import flat
from breadproof.verify.exchange.smtlib import smtlib
from breadproof.verify.prove.quiet import find_rounds
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.system import System, board_system

Form = Literal["btor2", "aiger", "smtlib"]
FORMS: tuple[Form, ...] = ("btor2", "aiger", "smtlib")


class Unsteady(Exception):
    """The board is not proved to get quiet; ``fails`` tells that it is proved not to."""

    def __init__(self, because: str, *, fails: bool) -> None:
        """Keep why."""
        super().__init__(because)
        self.fails = fails


def obligation(machine: Machine, only: Sequence[str], seconds: float) -> System:
    """The board's transition system with all its properties, or those named in ``only``.

    Raises:
        KeyError: ``only`` names what is no formula or check of levels.
        Unsteady: that the board gets quiet, and in how many rounds, is not proved in ``seconds``.
    """
    answer = find_rounds(machine, Deadline(seconds))
    if answer.verdict != "holds":
        raise Unsteady(answer.because, fails=answer.verdict == "fails")
    system = board_system(machine, answer.rounds)
    known = {one.name for one in system.safety}
    for name in only:
        if name not in known:
            raise KeyError(name)
    return system.only(only) if only else system


def written(netlist: Netlist, system: System, form: Form, *, binary: bool = False) -> str | bytes:
    """The system in one of the formats; ``binary`` is for AIGER alone.

    Raises:
        TooManyWords: the memories are too large to be written out in AIGER.
    """
    title = _title(netlist, system)
    match form:
        case "smtlib":
            return smtlib(system, title)
        case "btor2":
            return btor2(circuit(system), [*title, "", *_filled(FRAMES)])
        case "aiger":
            write = aiger_binary if binary else aiger_text
            return write(flat(circuit(system)), [*title, "", *_filled(FRAMES)])


FRAMES = (
    "Frame k shows step k of a run: frame 0 its first moment, every later one the step to the next "
    "quiet moment. 'bad' is what must never be, and for a cover what is hoped for. The constraint "
    "says that such a run is one of the board. 'justice' is an endless run in which a strong "
    "operator waits for ever from where the input 'from now on' is given; 'fair' is what the "
    "assumptions make come again and again."
)


def _title(netlist: Netlist, system: System) -> list[str]:
    from breadproof import __version__

    assumed = [formula.name for formula in netlist.formulas if formula.kind == "assume"]
    moved = "at most one control changes"
    if netlist.together == "all":
        moved = "any controls change at once"
    elif netlist.together:
        moved += f" (or {'; '.join(' with '.join(group) for group in netlist.together)})"
    said = [
        f"A step: {moved}, then rounds follow until the board is quiet, proved to be at most "
        f"{system.rounds}. Storage and memories come up holding anything.",
        f"Under the assumptions {', '.join(assumed)}." if assumed else "Nothing is assumed.",
        "Levels alone prove little where a pin can pulse, race or float: a formula rests on the "
        "checks of the pins in its cone, which are properties here as well.",
    ]
    if system.nested:
        why = "stands under a clock within a clock"
        if netlist.bounces:
            why = "waits on a board with contacts that bounce"
        said.append(
            f"Of endless runs nothing is said about {', '.join(system.nested)}: a strong operator "
            f"{why}."
        )
    first = f"{netlist.title or netlist.board} ({netlist.board}), written by breadproof "
    return [*_filled(first + __version__), *(line for text in said for line in _filled(text))]


def _filled(text: str) -> list[str]:
    return textwrap.wrap(" ".join(text.split()), 96, break_on_hyphens=False)
