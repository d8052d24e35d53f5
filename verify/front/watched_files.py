"""Which files a board was read from, and whether one of them has changed since."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

Stamp = tuple[int, int] | None
"""When a file was written and how large it is; None if it is not there."""

_CODE = (".py", ".pyc", ".so", ".lark", ".cfg", ".toml")
_SETTLED = 0.03
"""Seconds for which a file has to stand still: an editor may be at it."""
PATIENCE = 1.0
"""Seconds after which it is read all the same."""


class WatchedFiles:
    """The files that were opened while a board was read, those that were missing included."""

    def __init__(self, always: Sequence[Path]) -> None:
        """``always`` are watched whether they were opened or not."""
        self.always = tuple(path.resolve() for path in always)
        self.opened: set[Path] = set()
        self.stamps: dict[Path, Stamp] = {}
        self.listening = False
        # A hook stays for as long as the process does: there is no way to take it back.
        sys.addaudithook(self._heard)

    def _heard(self, event: str, arguments: tuple[object, ...]) -> None:
        if event != "open" or not self.listening:
            return
        name = arguments[0]
        if isinstance(name, str | os.PathLike) and not str(name).endswith(_CODE):
            self.opened.add(Path(os.path.abspath(name)))

    @contextmanager
    def reading(self) -> Iterator[None]:
        """Note what is opened meanwhile; what was known before stays known."""
        self.listening = True
        self.stamps = self._now()
        try:
            yield
        finally:
            self.listening = False
            for path in self.opened:
                self.stamps.setdefault(path, _stamp(path))

    def _now(self) -> dict[Path, Stamp]:
        return {path: _stamp(path) for path in (*self.always, *sorted(self.opened))}

    def changed(self) -> bool:
        """Whether any of them is other than when it was read."""
        return any(_stamp(path) != stamp for path, stamp in self.stamps.items())

    def settle(self) -> None:
        """Wait until whoever writes is done."""
        end = time.monotonic() + PATIENCE
        before = self._now()
        while time.monotonic() < end:
            time.sleep(_SETTLED)
            now = self._now()
            if now == before and all(now[path] is not None for path in self.always):
                return
            before = now


def _stamp(path: Path) -> Stamp:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size
