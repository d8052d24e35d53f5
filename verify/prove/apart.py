"""A piece of work in an interpreter of its own, wherever that is: bytes in, bytes out.

Run as a module it reads a call from standard input, does it within the limits it is told, and
writes what it comes to. The caller may be a thread of a cluster's worker: the solver, which is not
made for two threads, is never called there.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
from typing import Any

from breadproof.verify.prove.crew import GRACE, Lost, Work, done, limit, why_ended
from breadproof.verify.prove.edition import edition


def call(work: Work, args: tuple[Any, ...], seconds: float, memory: int) -> bytes:
    """A call as bytes, for `do_apart`."""
    return pickle.dumps((edition(), seconds, memory, pickle.dumps((work, args))))


def do_apart(called: bytes) -> bytes:
    """Have a call done by another process; its answer as bytes, for `answer`."""
    *_, seconds, _, _ = pickle.loads(called)
    words = [sys.executable, "-m", "breadproof.verify.prove.apart"]
    try:
        run = subprocess.run(
            words, input=called, capture_output=True, timeout=seconds + GRACE, check=False
        )
    except subprocess.TimeoutExpired:
        return pickle.dumps(Lost("out of time"))
    if run.returncode:
        return pickle.dumps(why_ended(run.returncode))
    return run.stdout


def answer(told: object) -> object:
    """What came back, as it was meant.

    Raises:
        Lost: it was no answer, or the work came to nothing.
    """
    try:
        value: object = pickle.loads(told)  # type: ignore[arg-type]  # whatever was sent
    except Exception as error:  # noqa: BLE001  # whatever a broken answer may raise
        raise Lost(f"its answer cannot be read ({type(error).__name__})") from None
    if isinstance(value, Lost):
        raise value
    return value


def main() -> None:
    """Do the call on standard input."""
    theirs, seconds, memory, inner = pickle.loads(sys.stdin.buffer.read())
    out = os.dup(1)
    os.dup2(2, 1)  # what the solver may say goes the other way
    if theirs == edition():
        limit(memory, seconds)
        work, args = pickle.loads(inner)
        found = done(work, lambda text: None, args)
    else:
        found = Lost("another version of breadproof is installed there")
    with os.fdopen(out, "wb") as stream:
        stream.write(pickle.dumps(found))


if __name__ == "__main__":
    main()
