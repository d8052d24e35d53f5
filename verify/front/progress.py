"""The line on a terminal that says what a command is at."""

from __future__ import annotations

import shutil
import sys
import threading
import time
from types import TracebackType

_PATIENCE = 1.0
"""Seconds before anything is said."""


class Progress:
    """One line on a terminal that says what is being done, after a second; gone at the end.

    A thread writes it, since one question to the solver can take long.
    """

    def __init__(self) -> None:
        """Say nothing yet."""
        self.text = ""
        self.shown = False
        self.lock = threading.Lock()
        self.done = threading.Event()
        self.thread: threading.Thread | None = None

    def __enter__(self) -> Progress:
        """Start the clock, if anybody looks."""
        if sys.stderr.isatty():
            self.thread = threading.Thread(target=self._run, daemon=True)
            self.thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Remove the line."""
        self.done.set()
        if self.thread is not None:
            self.thread.join()
        if self.shown:
            self._write("")

    def __call__(self, text: str) -> None:
        """Note what is being done now."""
        self.text = text

    def _run(self) -> None:
        start = time.monotonic()
        written = ""
        while not self.done.wait(0.1 if self.shown else _PATIENCE):
            line = f"{time.monotonic() - start:.0f} s  {self.text}"
            if line != written:
                written = line
                self.shown = True
                self._write(line)

    def _write(self, line: str) -> None:
        width = shutil.get_terminal_size().columns - 1
        with self.lock:
            # Back to the first column, and clear to the end of the line (ECMA-48: CR, EL).
            sys.stderr.write(f"\r{line[:width]}\x1b[K")
            sys.stderr.flush()
