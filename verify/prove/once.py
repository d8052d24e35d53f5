"""What follows from a board alone is worked out once, however many chains are built on it."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

from breadproof.specs.machine.machine import Machine

P = ParamSpec("P")
T = TypeVar("T")

BOARDS = 4
"""So many boards are remembered at a time."""


def once(function: Callable[Concatenate[Machine, P], T]) -> Callable[Concatenate[Machine, P], T]:
    """The function, which keeps its answers for the last boards; nobody may change them.

    A board is told from others by identity: machines are never changed.
    """
    kept: list[tuple[Machine, dict[object, T]]] = []

    @wraps(function)
    def answered(machine: Machine, /, *args: P.args, **kwargs: P.kwargs) -> T:
        answers = next((found for one, found in kept if one is machine), None)
        if answers is None:
            answers = {}
            kept.append((machine, answers))
            del kept[:-BOARDS]
        key = (args, tuple(kwargs.items()))
        if key not in answers:
            answers[key] = function(machine, *args, **kwargs)
        return answers[key]

    return answered
