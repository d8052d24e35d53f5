"""Chips of a user's own, for the tests of commands."""

from pathlib import Path

BUFFER = """\
part: BUF1
title: One buffer
does: buffer
package: DIP-4
families: [LS]
source: the workshop's own
pins: {1: A in, 2: GND ground, 3: Y out, 4: VCC supply}
logic: {Y: A}
rows:
  - from: the workshop's own table
    columns: A | Y
    table: [L | L, H | H]
"""
INVERTING = BUFFER.replace("{Y: A}", '{Y: "!A"}').replace("[L | L, H | H]", "[L | H, H | L]")
BROKEN = BUFFER.replace("{Y: A}", "{Y: B}")
BOARD = """\
board: own
parts: {U1: BUF1, U2: BUF1}
nets:
  VCC: [U1.4, U2.4]
  GND: [U1.2, U2.2]
  a: [U1.1]
  b: [U1.3, U2.1]
  y: [U2.3]
ports: {a: in, y: out}
assert:
  half: {says: The first one follows., formula: "always (b == a && U1.Y == U1.A)"}
"""


def folder(at: Path, **texts: str) -> Path:
    """A folder of part files, by their numbers."""
    at.mkdir()
    for number, text in texts.items():
        (at / f"{number}.yaml").write_text(text, "utf-8")
    return at


def board(at: Path, head: str = "") -> Path:
    """The board of two buffers, with lines before it."""
    path = at / "own.yaml"
    path.write_text(head + BOARD, "utf-8")
    return path
