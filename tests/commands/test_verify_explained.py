"""``verify --rests-on``: what proofs rest on, and which tied pin would mend what fails."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from breadproof import cli

SELECTOR = """\
board: selector
parts: {U1: 74LS157, U2: 74LS04}
nets:
  VCC: [U1.16, U2.14, U1.1]
  GND: [U1.8, U2.7, U1.15, U1.5, U1.6, U1.11, U1.10, U1.14, U1.13,
        U2.3, U2.5, U2.9, U2.11, U2.13]
  a: [U1.2, U2.1]
  b: [U1.3]
  y: [U1.4]
  n: [U2.2]
ports: {a: in, b: in, y: out, n: out}
assert:
  shows-a: {says: "", formula: always (y == a)}
  shows-b: {says: "", formula: always (y == b)}
  inverts: {says: "", formula: always (n != a)}
"""


def test_a_selector(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A 157 shows B while select (1) is high and strobe (15) is low (data book, 74157)."""
    monkeypatch.chdir(tmp_path)
    Path("board.yaml").write_text(SELECTOR, "utf-8")
    assert cli.main(["verify", "board.yaml", "--rests-on", "--jobs", "1", "--fresh"]) == 1
    told = capsys.readouterr().out.replace("\n              ", " ")
    assert "rests on U1.15 being tied low, U1.1 being tied high and part U1, whatever" in told
    assert "rests on part U2, whatever other parts do" in told
    assert "with U1.1 tied low instead, it holds\n" in told.replace("holds The", "holds\n")

    words = ["verify", "board.yaml", "--rests-on", "--jobs", "1", "--json", "--only", "shows-b"]
    assert cli.main([*words, "--only", "shows-a"]) == 1
    shows_a, shows_b = json.loads(capsys.readouterr().out)["results"]
    assert shows_a["rests_on"] is None
    assert shows_a["notes"] == ["with U1.1 tied low instead, it holds"]
    assert shows_a["trace"]["fewest"] is True
    assert shows_b["rests_on"] == {
        "parts": ["U1"],
        "pins": {"U1.15": "low", "U1.1": "high"},
        "contents": [],
        "assumptions": [],
        "least": True,
    }


def test_without_the_option_it_is_not_looked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("board.yaml").write_text(SELECTOR, "utf-8")
    assert cli.main(["verify", "board.yaml", "--jobs", "1", "--json"]) == 1
    for result in json.loads(capsys.readouterr().out)["results"]:
        assert (result["rests_on"], result["notes"]) == (None, [])
