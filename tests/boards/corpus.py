"""The corpus of boards: `specs/boards/corpus.yaml` as values."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

BOARDS = Path(__file__).parents[2] / "specs" / "boards"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Entry:
    """What is to be found on one board; the file says what each key means."""

    file: str
    verdict: str
    story: str
    wiring: Mapping[str, frozenset[str]]
    fails: Mapping[str, frozenset[str]]
    dead: Mapping[str, frozenset[str]]
    holds: tuple[str, ...]
    unreachable: tuple[str, ...]
    of: str
    in_passing: Mapping[str, Mapping[str, int]]

    @property
    def path(self) -> Path:
        """The board file."""
        return BOARDS / self.file


KEYS = {"verdict", "story", "wiring", "fails", "dead", "holds", "unreachable", "in-passing", "of"}


def _entry(file: str, told: Mapping[str, Any]) -> Entry:
    assert set(told) <= KEYS, f"{file}: {sorted(set(told) - KEYS)}"
    return Entry(
        file=file,
        verdict=told["verdict"],
        story=told["story"],
        wiring={code: frozenset(pins) for code, pins in told.get("wiring", {}).items()},
        fails={name: frozenset(pins) for name, pins in told.get("fails", {}).items()},
        dead={name: frozenset(pins) for name, pins in told.get("dead", {}).items()},
        holds=tuple(told.get("holds", ())),
        unreachable=tuple(told.get("unreachable", ())),
        of=told.get("of", "light-store.yaml"),
        in_passing=told.get("in-passing", {}),
    )


CORPUS = tuple(
    _entry(file, told)
    for file, told in yaml.safe_load((BOARDS / "corpus.yaml").read_text("utf-8")).items()
)
STORE = CORPUS[0]
TWINS = tuple(entry for entry in CORPUS if entry.file.startswith("twins/"))
