"""The page of a report: complete, closed, and safe whatever the board file holds."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from breadproof.verify.pages.verifypage import verify_page

from .made import HOSTILE, PAGES, failing_report
from .reading import Read, come_in_order

KINDS = sorted(PAGES)


@pytest.mark.parametrize("kind", KINDS)
def test_a_page_needs_nothing_from_outside(pages: dict[str, Path], kind: str) -> None:
    text = pages[kind].read_text("utf-8")
    page = Read(text)
    assert page.outside == []
    assert page.handlers == []
    assert all(link.startswith("#") for link in page.links)
    assert "@import" not in text
    assert "http" not in text.replace("http-equiv", "").replace("http://www.w3.org/2000/svg", "")


@pytest.mark.parametrize("kind", KINDS)
def test_every_link_leads_to_one_place(pages: dict[str, Path], kind: str) -> None:
    page = Read(pages[kind].read_text("utf-8"))
    assert page.links
    assert [name for name, times in Counter(page.ids).items() if times > 1] == []
    assert {link[1:] for link in page.links} - set(page.ids) == set()


def test_the_verdict_comes_first_and_all_is_said(tmp_path: Path) -> None:
    report = failing_report(tmp_path)
    page = Read(verify_page(report, path="my boards/b.yaml"))
    said = page.words()
    assert come_in_order(said, ["fail", "Formulas", "Runs", "Wiring", "What this rests on"])
    assert "0 of 2 formulas hold, 1 fail, 1 cannot be reached; 2 of 4 checks hold" in said
    assert "never (rose(TAKE) && bus == 2'd3)" in said
    assert "press TAKE while MODE is at SHOW" in said
    for finding in report.wiring:
        assert finding.message in said
        assert (
            f"my boards/b.yaml:{finding.span.line}:{finding.span.column} [{finding.code}]" in said
        )
    assert "It ran out of time" not in said
    assert "Because it ran out of time." in said
    assert "A proof about the logic is no safety case." in said
    for part in report.machine.netlist.parts:
        if part.device == "chip":
            assert f"{part.name} {part.printed}" in said


def test_parts_are_told_apart_by_value_and_place(tmp_path: Path) -> None:
    """TWO_SOURCES of tests/report/boards.py: a 244, RN1 of four times 4.7k, SW1 of two ways."""
    said = Read(verify_page(failing_report(tmp_path), path="b.yaml")).words()
    assert "U1 74LS244 Octal three-state buffer pin 1 in b1." in said
    assert "RN1 4.7k, 4 with a common pin resistor network" in said
    assert "SW1 2 ways DIP switch front panel" in said
    assert "MODE SET | SHOW change-over switch front panel" in said


@pytest.mark.parametrize("kind", KINDS)
def test_what_a_board_file_says_stays_text(
    pages: dict[str, Path], tmp_path: Path, kind: str
) -> None:
    page = Read(PAGES[kind](tmp_path, HOSTILE))
    plain = Read(pages[kind].read_text("utf-8"))
    assert page.tags["script"] == plain.tags["script"] == 1
    assert page.tags["img"] == 0
    assert page.handlers == []
    assert "".join(page.said).count(HOSTILE) >= 1


def test_paths_and_names_stay_text(tmp_path: Path) -> None:
    page = Read(verify_page(failing_report(tmp_path), path=HOSTILE, only=(HOSTILE,)))
    assert page.tags["script"] == 1
    assert page.tags["img"] == 0
    assert "".join(page.said).count(HOSTILE) >= 2


def test_the_same_report_gives_the_same_bytes(tmp_path: Path) -> None:
    report = failing_report(tmp_path)
    assert verify_page(report, path="b.yaml") == verify_page(report, path="b.yaml")
