"""Ctrl-C in the middle of the solver's own Python code."""

from __future__ import annotations

import sys

import pytest
import z3

from breadproof.verify.prove.interrupt import interruptible


def test_nothing_is_told_of_what_was_half_made(monkeypatch: pytest.MonkeyPatch) -> None:
    """z3's objects end with a traceback on standard error if their beginning was cut short; of
    other objects Python tells as ever."""
    told: list[object] = []
    monkeypatch.setattr(sys, "unraisablehook", lambda about: told.append(about.exc_value))

    class Other:
        def __del__(self) -> None:
            raise AttributeError("of another kind")

    z3.Solver.__new__(z3.Solver)  # made, not begun, and gone at once
    assert len(told) == 1
    with pytest.raises(KeyboardInterrupt), interruptible():
        raise KeyboardInterrupt
    z3.Solver.__new__(z3.Solver)
    z3.Context.__new__(z3.Context)
    assert len(told) == 1
    Other()
    assert str(told[-1]) == "of another kind"
