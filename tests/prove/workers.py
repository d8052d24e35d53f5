"""Work for the tests of crews: what real engines do, and what goes wrong with workers."""

from __future__ import annotations

import os
import pickle
import signal
import time
from collections.abc import Callable

from breadproof.verify.prove.crew import Tell


def square(tell: Tell, number: int) -> int:
    """Says what it is at, and answers."""
    tell(f"squaring {number}")
    return number * number


def slow(tell: Tell, seconds: float) -> str:
    """Takes its time."""
    time.sleep(seconds)
    return "done"


def dies(tell: Tell, number: int) -> None:
    """Is killed at work."""
    os.kill(os.getpid(), number)


def leaves(tell: Tell, status: int) -> None:
    """Ends without a word."""
    os._exit(status)


def fails(tell: Tell) -> None:
    """Has a bug."""
    raise KeyError("U7")


def eats(tell: Tell) -> int:
    """Wants more memory than there is."""
    pieces = [bytearray(1 << 24) for _ in range(1 << 10)]
    return len(pieces)


def solver_eats(tell: Tell) -> str:
    """The solver wants more memory than there is."""
    import z3

    solver = z3.SolverFor("QF_FD")
    names = range(600_000)
    solver.from_string("".join(f"(declare-fun x{n} () Bool)(assert x{n})" for n in names))
    return str(solver.check())


def search_eats(tell: Tell) -> bool:
    """The solver of the search wants more memory than there is."""
    from pysat.solvers import Minisat22

    solver = Minisat22()
    for start in range(0, 100_000_000, 100_000):
        solver.append_formula([[k, k + 1, -k - 2] for k in range(start + 1, start + 100_000)])
    return bool(solver.solve())


class Unreadable:
    """Can be sent, and not be read."""

    def __reduce__(self) -> tuple[Callable[..., object], tuple[object, ...]]:
        return pickle.loads, (b"no pickle",)


def nonsense(tell: Tell) -> Unreadable:
    """Sends what cannot be read."""
    return Unreadable()


def unsendable(tell: Tell) -> object:
    """Answers with what cannot be sent."""
    return lambda: 0


def stubborn(tell: Tell) -> None:
    """Cannot be asked to stop."""
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    while True:
        time.sleep(60)
