"""The page of a report: complete, closed, and safe whatever the board file holds."""

from __future__ import annotations

from collections import Counter
from html.parser import HTMLParser
from pathlib import Path

from breadproof.verify.pages.verifypage import verify_page

from .made import HOSTILE, failing_report

# HTML Living Standard, 13.1.2: elements without an end tag.
VOID = {"meta", "link", "br", "img", "hr", "input"}


class Read(HTMLParser):
    """What a page has in it; an error where elements do not close as they opened."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: Counter[str] = Counter()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.outside: list[str] = []
        self.handlers: list[str] = []
        self.said: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        if tag not in VOID:
            self.open.append(tag)
        for name, value in attrs:
            if name == "id":
                self.ids.append(value or "")
            if name == "href":
                self.links.append(value or "")
            if name in ("src", "data", "action", "srcset") or name.startswith("xlink"):
                self.outside.append(f"{name}={value}")
            if name.startswith("on"):
                self.handlers.append(name)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1:] == [tag]
        self.open.pop()

    def handle_data(self, data: str) -> None:
        if self.open[-1:] not in (["style"], ["script"]):
            self.said.append(data)


def test_a_page_needs_nothing_from_outside(tmp_path: Path) -> None:
    text = verify_page(failing_report(tmp_path), path="board.yaml")
    page = Read(text)
    assert page.outside == []
    assert page.handlers == []
    assert all(link.startswith("#") for link in page.links)
    assert "@import" not in text
    assert "http" not in text.replace("http-equiv", "").replace("http://www.w3.org/2000/svg", "")


def test_every_link_leads_to_one_place(tmp_path: Path) -> None:
    page = Read(verify_page(failing_report(tmp_path), path="board.yaml"))
    assert [name for name, times in Counter(page.ids).items() if times > 1] == []
    assert {link[1:] for link in page.links} - set(page.ids) == set()


def test_the_verdict_comes_first_and_all_is_said(tmp_path: Path) -> None:
    report = failing_report(tmp_path)
    page = Read(verify_page(report, path="my boards/b.yaml"))
    said = " ".join(" ".join(page.said).split())
    order = [said.index(word) for word in ("fail", "Formulas", "Runs", "Wiring", "What this rests")]
    assert order == sorted(order)
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
        assert f"{part.name} {part.printed}" in said


def test_what_a_board_file_says_stays_text(tmp_path: Path) -> None:
    plain = Read(verify_page(failing_report(tmp_path), path="board.yaml"))
    report = failing_report(tmp_path, HOSTILE)
    page = Read(verify_page(report, path=HOSTILE, only=("taken",)))
    assert page.tags["script"] == plain.tags["script"] == 1
    assert page.tags["img"] == 0
    assert page.handlers == []
    assert "".join(page.said).count(HOSTILE) >= 2


def test_the_same_report_gives_the_same_bytes(tmp_path: Path) -> None:
    report = failing_report(tmp_path)
    assert verify_page(report, path="b.yaml") == verify_page(report, path="b.yaml")
