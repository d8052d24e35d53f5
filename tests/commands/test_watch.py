"""`breadproof watch`: what it says after a save, and how it ends."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from queue import Empty, Queue

import pytest

from .test_verify import KEYS

PATIENCE = 60.0
"""Seconds; a busy machine is no bug."""


class Watching:
    """The command at work on ``keys.yaml``; lines as they come."""

    def __init__(self, folder: Path, *words: str) -> None:
        self.board = folder / "keys.yaml"
        self.board.write_text(KEYS, "utf-8")
        self.process = subprocess.Popen(
            [sys.executable, "-m", "breadproof", "watch", "keys.yaml", *words],
            cwd=folder,
            env={**os.environ, "XDG_CACHE_HOME": str(folder / "cache")},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            # A run that was started in the background would not hear Ctrl-C.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
        )
        self.lines: Queue[str] = Queue()
        self.reader = threading.Thread(target=self._read, daemon=True)
        self.reader.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.lines.put(line.rstrip("\n"))

    def until(self, end: str) -> list[str]:
        """The lines up to one that has ``end`` in it."""
        found: list[str] = []
        limit = time.monotonic() + PATIENCE
        while not found or end not in found[-1]:
            try:
                found.append(self.lines.get(timeout=max(0.1, limit - time.monotonic())))
            except Empty:
                pytest.fail(f"no '{end}' after {found}")
        return found

    def save(self, old: str, new: str) -> None:
        text = self.board.read_text("utf-8")
        assert old in text
        beside = self.board.with_name("keys.new")
        beside.write_text(text.replace(old, new), "utf-8")
        beside.replace(self.board)  # as editors do


@pytest.fixture
def watching(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Watching]:
    one = Watching(tmp_path, *getattr(request, "param", ()))
    yield one
    one.process.kill()
    one.process.wait()
    one.reader.join()
    assert one.process.stdout is not None
    one.process.stdout.close()


def test_what_changed_is_told_after_each_save(watching: Watching) -> None:
    first = watching.until("Ctrl-C ends it")
    assert "Wiring" in first[0]
    assert any("fail; 2 of " in line.lower() or "FAIL; " in line for line in first)
    assert any(line.startswith("  FAILS       never-lit: The lamp is never lit.") for line in first)
    assert not any("both-up" in line for line in first)

    watching.save("formula: never lamp}", "formula: never (lamp && K1)}")
    second = watching.until("Ctrl-C ends it")
    assert "as before" in second[1]
    assert "  holds       never-lit: The lamp is never lit. (was fails)" in second
    assert not any("one-off" in line for line in second)

    watching.save("up1: [K1.2, R1.2, U1.1]", "up1: [K1.2, R1.2]")
    third = "\n".join(watching.until("Ctrl-C ends it"))
    assert "U1.1" in third
    assert "keys.yaml:" in third

    watching.process.send_signal(signal.SIGINT)
    assert watching.process.wait(timeout=PATIENCE) == 130
    assert not list(watching.board.parent.glob(".*.part"))


@pytest.mark.parametrize("watching", [["--no-proofs"]], indirect=True)
def test_a_file_that_cannot_be_read_is_watched_on(watching: Watching) -> None:
    watching.until("Ctrl-C ends it")
    watching.save("  U1: 74LS08", "  U1: 74LS9908")
    broken = "\n".join(watching.until("Ctrl-C ends it"))
    assert "keys.yaml:4:7: error:" in broken
    watching.save("74LS9908", "74LS08")
    mended = watching.until("Ctrl-C ends it")
    assert any("Wiring" in line and "as before" in line for line in mended)
    assert not any("Proofs" in line for line in mended)


@pytest.mark.parametrize("watching", [["--no-proofs"]], indirect=True)
def test_files_that_the_board_is_made_of_are_watched_too(watching: Watching) -> None:
    watching.until("Ctrl-C ends it")
    watching.save("ports: {lamp: out}", "ports: {lamp: out}\nwires: wires.csv")
    missing = "\n".join(watching.until("Ctrl-C ends it"))
    assert "wires.csv" in missing
    (watching.board.parent / "wires.csv").write_text("from,to\nU1.6,lamp\n", "utf-8")
    shorted = "\n".join(watching.until("Ctrl-C ends it"))
    assert "Wiring" in shorted
    assert "U1.6" in shorted
