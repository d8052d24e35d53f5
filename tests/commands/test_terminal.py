"""What is printed fits the terminal, whatever its width: read through a pseudo-terminal (POSIX)."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import shutil
import struct
import subprocess
import sys
import termios
from pathlib import Path

import pytest

from tests.stimulus.boards import PAD, SCRIPT

from .test_verify import KEYS

REVISIONS = Path(__file__).resolve().parents[2] / "specs" / "boards" / "revisions"
CALLS = {
    "verify": ("verify", "keys.yaml"),
    "compare": ("compare", "chase.yaml", "chase-moved.yaml"),
    "simulate": ("simulate", "pad.yaml", "--script", "script.yaml", "--watch", "at,bus,MODE,D1"),
}
STYLE = re.compile(r"\x1b\[[0-9;]*m")
"""Select graphic rendition (ECMA-48, 8.3.117): what it says takes no room."""


def shown(folder: Path, words: tuple[str, ...], columns: int) -> str:
    """What a command writes on a terminal of so many columns."""
    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 40, columns, 0, 0))
    own = {"PYTHONIOENCODING": "utf-8", "TERM": "xterm", "XDG_CACHE_HOME": str(folder / "cache")}
    variables = {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "NO_COLOR")} | own
    with subprocess.Popen(
        [sys.executable, "-m", "breadproof", *words],
        stdout=slave,
        stderr=subprocess.DEVNULL,
        env=variables,
        cwd=folder,
    ) as process:
        os.close(slave)
        parts: list[bytes] = []
        while True:
            try:
                parts.append(os.read(master, 4096))
            except OSError:  # the other end is closed
                break
        assert process.wait() in (0, 1)
    os.close(master)
    return b"".join(parts).decode().replace("\r\n", "\n")


@pytest.mark.parametrize(
    ("kind", "columns"),
    [(kind, columns) for kind in CALLS for columns in (60, 80, 200) if columns != 80]
    + [("verify", 80)],
)
def test_no_line_is_wider_than_the_terminal(tmp_path: Path, kind: str, columns: int) -> None:
    (tmp_path / "keys.yaml").write_text(KEYS, "utf-8")
    (tmp_path / "pad.yaml").write_text(PAD, "utf-8")
    (tmp_path / "script.yaml").write_text(SCRIPT, "utf-8")
    for name in ("chase", "chase-moved"):
        shutil.copy(REVISIONS / f"{name}.yaml", tmp_path)
    told = shown(tmp_path, CALLS[kind], columns)
    assert STYLE.search(told)
    lines = STYLE.sub("", told).splitlines()
    # A command stays whole, so that it can be copied.
    lines = [line for line in lines if not line.startswith("  breadproof ")]
    assert len(lines) > 10
    assert [line for line in lines if len(line) > columns] == []
    # What there is room for is not broken off early.
    assert max(map(len, lines)) > min(columns, 100) * 0.6
