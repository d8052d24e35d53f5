"""The pages for the browser: valid HTML, linked without a gap, and good to read."""

from __future__ import annotations

import json
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from urllib.parse import unquote

import html5lib
import pytest

from breadproof import cli
from breadproof.verify.manual.browser import html_files
from breadproof.verify.manual.page import Page
from breadproof.verify.manual.written import guide_files
from tests.manual.made import pages
from tests.support import shots
from tests.support.browser import Browser

LOOKED_AT = ("index", "verify", "board", "4-counterexample", "input-open")
"""One page of each kind."""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site")
    assert cli.main(["manual", "--html", str(folder)]) == 0
    return folder


class Parsed:
    """A page as html5lib's parser, which follows the HTML standard, has it; an error is raised."""

    def __init__(self, text: str) -> None:
        parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
        self.root = parser.parse(text)
        self.ids = [one.get("id") for one in self.root.iter() if one.get("id")]
        self.targets = [
            target
            for one in self.root.iter()
            for target in (one.get("href"), one.get("src"))
            if target
        ]


def test_every_page_is_valid_and_every_link_leads_somewhere(site: Path) -> None:
    parsed = {file.name: Parsed(file.read_text("utf-8")) for file in site.glob("*.html")}
    assert len(parsed) == len(pages()) + 1
    for name, page in parsed.items():
        assert len(set(page.ids)) == len(page.ids), name
        for target in page.targets:
            file, _, place = unquote(target).partition("#")
            assert file == "" or (site / file).is_file(), f"{name}: {target}"
            if place:
                assert place in parsed[file or name].ids, f"{name}: {target}"
    reached = {target.partition("#")[0] for target in parsed["index.html"].targets}
    assert {f"{page.name}.html" for page in pages()} <= reached


def test_rules_and_commands_that_are_named_are_linked(site: Path) -> None:
    links = {name: Parsed((site / f"{name}.html").read_text("utf-8")).targets for name in LOOKED_AT}
    assert {"gate-unused.html", "control-open.html"} <= set(links["input-open"])
    assert "input-open.html" not in links["input-open"]
    assert "start.html" in links["board"]


def test_the_parser_would_find_fault() -> None:
    with pytest.raises(html5lib.html5parser.ParseError):
        Parsed("<!doctype html><title>x</title><p><b>x</p>")


def test_the_files_of_the_guide_lie_beside_it(site: Path) -> None:
    for name, data in guide_files().items():
        assert (site / name).read_bytes() == data
    assert {"lamps-1.yaml", "report.png", "lamps.svg"} <= set(guide_files())


def test_nothing_comes_from_outside_and_nothing_runs(site: Path) -> None:
    for file in site.glob("*.html"):
        root = Parsed(file.read_text("utf-8")).root
        assert [one.tag for one in root.iter() if one.tag in ("script", "iframe", "object")] == []
        assert "//" not in "".join(Parsed(file.read_text("utf-8")).targets)
    assert "@import" not in (site / "manual.css").read_text("utf-8")


def test_what_a_page_says_stays_text() -> None:
    hostile = "<script>alert(1)</script> & <b>"
    text = f"# {hostile}\n\n{hostile}\n\n```console\n$ {hostile}\n```\n\n```diff\n+{hostile}\n```\n"
    page = Page(name="x", group="meaning", says=hostile, text=text)
    made = html_files([page])
    for name in ("x.html", "index.html"):
        root = Parsed(str(made[name])).root
        assert [one for one in root.iter() if one.tag == "script"] == []
    assert "".join(Parsed(str(made["x.html"])).root.itertext()).count(hostile) == 4


# ------------------------------------------------------------------------ in Chromium


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with shots.chromium() as one:
        yield one


@pytest.mark.needs("chromium")
def test_axe_finds_nothing_and_nothing_is_wider_than_the_window(
    chromium: Browser, site: Path
) -> None:
    axe = files("axe_core_python").joinpath("axe.min.js").read_text("utf-8")
    for name in LOOKED_AT:
        for width, dark in ((1280, False), (360, True)):
            chromium.window(width, 900, dark)
            chromium.open(site / f"{name}.html")
            chromium.run(axe)
            found = chromium.run(
                "axe.run(document, {resultTypes: ['violations']}).then(found => JSON.stringify("
                "found.violations.map(one => [one.id, one.nodes.map(node => node.html)])))"
            )
            assert json.loads(found) == [], f"{name} at {width}"
            wide = chromium.run("document.documentElement.scrollWidth <= innerWidth")
            assert wide is True, f"{name} at {width}"
    assert chromium.complaints == []


@pytest.mark.needs("chromium")
def test_the_pictures_of_the_guide_are_there_and_in_scale(chromium: Browser, site: Path) -> None:
    chromium.window(1280, 900)
    for name, count in (("4-counterexample", 2), ("5-holes", 1)):
        chromium.open(site / f"{name}.html")
        sizes = chromium.run(
            "[...document.images].map(one => [one.complete, one.naturalWidth, one.width, one.alt])"
        )
        assert len(sizes) == count
        for complete, natural, shown, alternative in sizes:
            assert complete
            assert 0 < shown <= natural
            assert len(alternative) > 20


@pytest.mark.needs("chromium")
def test_a_screenshot_has_something_on_it(chromium: Browser, site: Path, tmp_path: Path) -> None:
    shot = shots.Shot(page="verdicts.html", until="h2", words="h1")
    shots.shoot_with(chromium, shot, site, tmp_path / "shot.png")
    width, height = shots.size_of(tmp_path / "shot.png")
    assert width == shot.width
    assert 150 < height < 500
    assert shots.words_on(tmp_path / "shot.png") == "What a verdict means"
    # A page of one colour would be compressed to next to nothing.
    assert (tmp_path / "shot.png").stat().st_size > 5_000
