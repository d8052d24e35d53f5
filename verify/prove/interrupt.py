"""Ctrl-C while the solver is at work.

Python raises KeyboardInterrupt only between two of its own instructions, and a question to the
solver is one of them, however long it takes; the solver's own handler may swallow the signal. So
a thread hears of the signal at once, and stops the question.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import z3

ENOUGH = 0
"""No signal has this number."""


@contextmanager
def interruptible() -> Iterator[None]:
    """Within it Ctrl-C raises KeyboardInterrupt soon; after that ask the solver nothing more.

    Does nothing but in the main thread, which alone gets signals.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    hears, tells = os.pipe()
    os.set_blocking(tells, False)
    before = signal.set_wakeup_fd(tells, warn_on_full_buffer=False)
    listener = threading.Thread(target=_listen, args=(hears,), daemon=True)
    listener.start()
    try:
        yield
    except KeyboardInterrupt:
        _overlook_half_made()
        raise
    finally:
        signal.set_wakeup_fd(before)
        # not by closing it: a process that was split off may have it open, too
        os.write(tells, bytes([ENOUGH]))
        listener.join()
        os.close(tells)
        os.close(hears)


def _overlook_half_made() -> None:
    """From now on nothing is told of the solver's objects that the signal left half made.

    Where it comes while one is built, the object has not all that its end asks for, and Python
    would print a traceback of that; it has nothing to give back.
    """
    before = sys.unraisablehook

    def hook(told: sys.UnraisableHookArgs) -> None:
        module = getattr(told.object, "__module__", None) or ""
        if not (isinstance(told.exc_value, AttributeError) and module.partition(".")[0] == "z3"):
            before(told)

    sys.unraisablehook = hook


def _listen(hears: int) -> None:
    while (told := os.read(hears, 1)[0]) != ENOUGH:
        if told == signal.SIGINT:
            z3.main_ctx().interrupt()
