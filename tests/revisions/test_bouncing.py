"""Revisions of which one says that a contact bounces: the same board, and other proofs."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.cli import main
from tests.prove.test_bouncing import BARE, LATCHED


def told(
    folder: Path, capsys: pytest.CaptureFixture[str], boards: tuple[str, str]
) -> tuple[int, str]:
    paths = [folder / "old.yaml", folder / "new.yaml"]
    for path, text in zip(paths, boards, strict=True):
        path.write_text(text, "utf-8")
    status = main(["compare", *map(str, paths), "--jobs", "1"])
    return status, " ".join(capsys.readouterr().out.split())


def test_a_contact_bounces_now(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """By hand: a clock that a bare button makes rises once a press only if nothing bounces."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    new = f'{BARE}assert:\n  once: "always (!fell(GO) -> stable(q))"\n'
    status, text = told(tmp_path, capsys, (new.replace("bounces: GO\n", ""), new))
    assert status == 1
    assert "no change in wiring; 1 change in what the file says GO bounces now" in text
    assert "THE SAME, in runs of any length" in text
    assert "once holds, now fails" in text


def test_what_is_the_same_however_contacts_move(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The latch's output taken through two more inverters; an assumption about the finger is left
    aside, since contacts are moved here."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    old = f'{LATCHED}ports: {{q: out}}\nassume:\n  slow: "always (GO == UP -> next (GO != DOWN))"\n'
    new = old.replace(
        "U2.6, U2.2, U1.3]", "U2.6, U2.2, U3.1]\n  d1: [U3.2, U3.3]\n  d2: [U3.4, U1.3]"
    )
    new = new.replace("  U2: 74HC00\n", "  U2: 74HC00\n  U3: 74HC04\n")
    new = new.replace("VCC: [", "VCC: [U3.14, ").replace(
        "GND: [", "GND: [U3.7, U3.5, U3.9, U3.11, U3.13, "
    )
    _, text = told(tmp_path, capsys, (old, new))
    assert "THE SAME, in runs of any length" in text
    assert (
        "assumptions that only one board makes, or that speak of contacts that bounce: slow" in text
    )
