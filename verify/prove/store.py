"""Answers on disk, by key: a folder of small JSON files, one an answer, of limited size.

What cannot be read, was changed, or was written by another edition of the tool is as if it were not
there. Nothing in it is ever run.
"""

from __future__ import annotations

import contextlib
import copy
import json
import os
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from breadproof.verify.prove.digests import digest
from breadproof.verify.prove.edition import edition

MOST = 64 << 20
"""Bytes that a folder may take; the answers that were not asked for longest go first."""
ENTRY = 1 << 20
"""Bytes of an answer that is not worth keeping."""

Answer = dict[str, Any]


def users_folder() -> Path:
    """Where this user's answers are (XDG Base Directory Specification 0.8)."""
    base = os.environ.get("XDG_CACHE_HOME", "")
    # the specification: a path that is not absolute is to be ignored
    root = Path(base) if os.path.isabs(base) else Path.home() / ".cache"
    return root / "breadproof"


@dataclass(slots=True)
class Store:
    """The answers of a folder. With ``fresh`` none is taken from it, and all are written anew."""

    folder: Path
    fresh: bool = False
    most: int = MOST
    written: bool = field(default=False, init=False)

    def path(self, key: str) -> Path:
        """The file of a key."""
        return self.folder / key[:2] / f"{key}.json"

    def get(self, key: str) -> Answer | None:
        """The answer, or None."""
        if self.fresh:
            return None
        path = self.path(key)
        try:
            told = json.loads(path.read_text("utf-8"))
            answer: Answer = told["answer"]
            whole = told["sum"] == _sum(key, answer) and isinstance(answer, dict)
        except (OSError, ValueError, KeyError, TypeError, RecursionError):
            return None
        if not whole:
            return None
        with contextlib.suppress(OSError):
            os.utime(path)
        return answer

    def put(self, key: str, answer: Answer) -> None:
        """Keep an answer, if there is room; never half of one."""
        text = json.dumps({"sum": _sum(key, answer), "answer": answer}, ensure_ascii=False)
        if len(text) > ENTRY:
            return
        path = self.path(key)
        with contextlib.suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
            try:
                with os.fdopen(handle, "w", encoding="utf-8") as file:
                    file.write(text)
                os.replace(name, path)
                self.written = True
            except OSError:
                os.unlink(name)

    def trim(self) -> None:
        """Make room, if more was written than there may be."""
        if not self.written:
            return
        found: list[tuple[int, int, str]] = []
        with contextlib.suppress(OSError):
            for folder in os.scandir(self.folder):
                if folder.is_dir(follow_symlinks=False):
                    for file in os.scandir(folder.path):
                        about = file.stat(follow_symlinks=False)
                        found.append((about.st_mtime_ns, about.st_size, file.path))
        size = sum(one[1] for one in found)
        for _, length, path in sorted(found):
            if size <= self.most:
                return
            with contextlib.suppress(OSError):
                os.unlink(path)
            size -= length


@dataclass(slots=True)
class Remembered(Store):
    """Answers that this process remembers and writes nowhere: what is known of one board, for
    boards that are nearly the same."""

    answers: dict[str, Answer] = field(default_factory=dict, init=False)

    def get(self, key: str) -> Answer | None:
        """The answer, or None."""
        answer = self.answers.get(key)
        return None if answer is None else copy.deepcopy(answer)

    def put(self, key: str, answer: Answer) -> None:
        """Remember an answer."""
        self.answers[key] = copy.deepcopy(answer)

    def trim(self) -> None:
        """There is room."""


def _sum(key: str, answer: object) -> str:
    return digest(edition(), key, json.dumps(answer, sort_keys=True))
