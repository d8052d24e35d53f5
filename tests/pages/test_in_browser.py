"""Pages in a real browser: from disk, without a network, with the keyboard, and under axe-core."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import pytest

from tests.support.browser import Browser, browser

from .made import PAGES

pytestmark = pytest.mark.needs("chromium")
OPEN_ALL = "document.querySelectorAll('details').forEach(one => { one.open = true })"

KINDS = sorted(PAGES)


@pytest.fixture(scope="module")
def window(
    tmp_path_factory: pytest.TempPathFactory, pages: dict[str, Path]
) -> Iterator[Callable[[str], Browser]]:
    """A browser that shows the page of a command."""
    folder = tmp_path_factory.mktemp("browser")
    program = shutil.which("chromium")
    assert program is not None
    with browser(program, folder / "profile") as one:

        def shown(kind: str) -> Browser:
            one.window(1280, 900)
            one.open(pages[kind])
            return one

        yield shown


@pytest.fixture
def page(window: Callable[[str], Browser]) -> Browser:
    return window("verify")


def _violations(page: Browser) -> object:
    axe = files("axe_core_python").joinpath("axe.min.js").read_text("utf-8")
    page.run(axe)
    found = page.run(
        "axe.run(document, {resultTypes: ['violations']}).then(found => JSON.stringify("
        "found.violations.map(one => [one.id, one.nodes.map(node => node.html.slice(0, 120))])))"
    )
    return json.loads(found)


@pytest.mark.parametrize("kind", KINDS)
def test_axe_finds_nothing(window: Callable[[str], Browser], kind: str) -> None:
    page = window(kind)
    assert _violations(page) == []
    page.run(OPEN_ALL)
    page.window(1280, 900, dark=True)
    assert _violations(page) == []


@pytest.mark.parametrize(
    ("kind", "chips"), [("verify", 3), ("compare", 4), ("simulate", 5), ("beside", 2)]
)
def test_the_console_stays_silent(window: Callable[[str], Browser], kind: str, chips: int) -> None:
    page = window(kind)
    assert page.complaints == []
    assert page.run("document.querySelectorAll('svg .b-chip').length") == chips


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_but_drawings_is_wider_than_the_window(
    window: Callable[[str], Browser], kind: str
) -> None:
    """Nor than a phone's, nor with letters of twice the size."""
    page = window(kind)
    page.run(OPEN_ALL)
    for width, zoom in ((1280, 1.0), (1280, 2.0), (640, 2.0), (360, 1.0), (320, 1.0)):
        page.window(width, 900, zoom=zoom)
        assert page.run("document.documentElement.scrollWidth <= innerWidth") is True


def test_a_phone_has_all_parts(page: Browser) -> None:
    page.run(OPEN_ALL)
    page.window(320, 900)
    rows = "document.querySelectorAll('.partlist tbody tr')"
    assert page.run(f"{rows}.length") == 7
    assert page.run(f"Array.from({rows}).every(one => one.getBoundingClientRect().height > 9)")


@pytest.mark.parametrize("kind", ["verify", "simulate"])
def test_nor_is_a_word_without_a_gap(
    window: Callable[[str], Browser], tmp_path: Path, kind: str
) -> None:
    """A title such as people paste it: a path, or a word of a language that joins them."""
    page = window(kind)
    page.window(360, 900)
    (tmp_path / "long.html").write_text(PAGES[kind](tmp_path, "Lichtpult" * 20), "utf-8")
    page.open(tmp_path / "long.html")
    assert page.run("document.documentElement.scrollWidth <= innerWidth") is True


@pytest.mark.parametrize("kind", KINDS)
def test_on_paper_nothing_is_folded_up_or_scrolls(
    window: Callable[[str], Browser], kind: str
) -> None:
    page = window(kind)
    page.paper()
    page.run("dispatchEvent(new Event('beforeprint'))")
    assert page.run("document.querySelectorAll('details:not([open], .aside)').length") == 0
    hidden = page.run(
        "JSON.stringify(Array.from(document.querySelectorAll('main *')).filter(one =>"
        " getComputedStyle(one).overflowX !== 'visible' && !one.closest('svg') &&"
        " one.scrollWidth > one.clientWidth + 1).map(one => one.outerHTML.slice(0, 100)))"
    )
    assert json.loads(hidden) == []
    assert page.run("document.documentElement.scrollWidth <= innerWidth") is True
    inked = "getComputedStyle(document.body).backgroundColor"
    assert page.run(inked) == "rgb(255, 255, 255)"  # also where dark is preferred


@pytest.mark.parametrize("kind", KINDS)
def test_whatever_has_the_focus_has_an_outline(window: Callable[[str], Browser], kind: str) -> None:
    """W3C WCAG 2.1, 2.4.7. What stands on a drawn board gets a thicker line of its own instead."""
    page = window(kind)
    page.run(OPEN_ALL)
    for _ in range(60):
        page.press("Tab")
        found = json.loads(
            page.run(
                "JSON.stringify([document.activeElement.outerHTML.slice(0, 80),"
                " getComputedStyle(document.activeElement).outlineStyle,"
                " document.activeElement.closest('.board svg') !== null ||"
                " document.activeElement === document.body])"
            )
        )
        assert found[1] != "none" or found[2], found[0]


def test_what_is_printed_is_lines_and_no_picture_elements(
    window: Callable[[str], Browser], tmp_path: Path
) -> None:
    """Images (ISO 32000-1, 8.9.5) would make a board's page as long as a film."""
    window("verify").printed(tmp_path / "page.pdf")
    assert b"/Subtype /Image" not in (tmp_path / "page.pdf").read_bytes()


def test_long_waves_are_cut_in_strips_on_paper(window: Callable[[str], Browser]) -> None:
    """Every column of the run is in one strip, in order, and has the size of letters to read."""
    page = window("simulate")
    page.paper()
    strips = json.loads(
        page.run(
            "JSON.stringify(Array.from(document.querySelectorAll('.strips > svg'))"
            ".map(one => [one.querySelector('svg').getAttribute('viewBox').split(' ')[0],"
            " one.querySelector('svg').getAttribute('viewBox').split(' ')[2],"
            " one.getBoundingClientRect().width / one.viewBox.baseVal.width]))"
        )
    )
    assert len(strips) > 3
    for (start, width, _), (after, _, _) in pairwise(strips):
        assert float(start) + float(width) == pytest.approx(float(after))
    whole = page.run("document.querySelector('.waves .scroll svg').viewBox.baseVal.width")
    assert float(strips[-1][0]) + float(strips[-1][1]) == pytest.approx(whole)
    assert min(scale for _, _, scale in strips) * 12 > 7  # pixels of the labels' height
    assert page.run("getComputedStyle(document.querySelector('.waves')).display") == "none"


REGIONS = {
    "beside": "The run step by step",
    "verify": "Waves of not-three",
    "compare": "Waves of both boards",
    "simulate": "Waves of the run",
}


@pytest.mark.parametrize("kind", KINDS)
def test_the_keyboard_reaches_every_region_that_scrolls(
    window: Callable[[str], Browser], kind: str
) -> None:
    page = window(kind)
    reached: set[str] = set()
    for _ in range(300):
        page.press("Tab")
        name = page.run("document.activeElement.getAttribute('aria-label') || ''")
        if page.run("document.activeElement === document.body"):
            break
        reached.add(name)
    wanted = json.loads(
        page.run(
            "JSON.stringify(Array.from(document.querySelectorAll('main [role=region]')).filter("
            "one => !one.closest('details:not([open])')).map(one =>"
            " one.getAttribute('aria-label')))"
        )
    )
    assert REGIONS[kind] in wanted
    assert set(wanted) - reached == set()


def test_waves_are_scrolled_to_where_a_check_fails(window: Callable[[str], Browser]) -> None:
    page = window("simulate")
    there = page.run(
        "(() => { const tip = document.querySelector('.waves .w-says').getBoundingClientRect();"
        " const room = document.querySelector('.waves .scroll').getBoundingClientRect();"
        " return tip.left >= room.left && tip.right <= room.right })()"
    )
    assert there is True


def test_a_pin_of_either_board_says_what_it_is_beside_that_board(
    window: Callable[[str], Browser],
) -> None:
    """The second D of the 175 is pin 12; the wire moved from q[1] to q[0]."""
    page = window("compare")
    page.press("Tab")  # a window that nobody has touched tells nobody of its focus
    for prefix, net in (("old", "q[1]"), ("new", "q[0]")):
        page.run(f"document.getElementById('{prefix}-pin-U1.12').focus()")
        says = page.run(f"document.querySelector('#{prefix}-board ~ .bench .says').textContent")
        assert says.startswith(f"U1.12 (D2): net {net}, with ")
        assert "changed: U1.12 (D2) moved from q[1] to q[0]" in says


def test_the_keyboard_reaches_every_finding_and_every_run(page: Browser) -> None:
    reached: set[str] = set()
    for _ in range(400):
        page.press("Tab")
        place = page.run(
            "(() => { const at = document.activeElement; const of = at.closest('[id]');"
            " return (at.getAttribute('href') || '') + ' ' + (of ? of.id : '') + ' '"
            " + (at.getAttribute('aria-label') || '') })()"
        )
        if place.strip() == "" or (place in reached and "content" in place):
            break
        reached.add(place)
    text = "\n".join(reached)
    findings = page.run("document.querySelectorAll('[id^=finding-]').length")
    assert findings >= 2
    for number in range(1, findings + 1):
        assert f"finding-{number}" in text
    for run in ("fights-bus", "not-three"):
        assert f"run-{run}" in text


def test_the_tabulator_goes_from_part_to_part_and_not_by_wires(page: Browser) -> None:
    page.run("document.querySelector('.board').focus()")
    assert page.run("document.querySelectorAll('.board .b-wire').length") > 9
    for _ in range(3):
        page.press("Tab")
        while page.run("document.activeElement.classList.contains('b-pin')"):
            page.press("Tab")  # a pin that a finding is about
        assert page.run("document.activeElement.getAttribute('class')") == "b-part"


def test_the_arrows_go_from_pin_to_pin_and_say_what_is_there(page: Browser) -> None:
    page.run("document.querySelector('.b-part').focus()")
    page.press("ArrowRight")
    page.press("ArrowRight")
    assert page.run("document.activeElement.id") == "pin-U1.2"
    says = page.run("document.querySelector('.says').textContent")
    assert says.startswith("U1.2 (A11): net switches[1], with SW1.1, RN1.2")
    assert page.run("document.querySelectorAll('.b-wire.lit').length") >= 1
    page.press("Escape")
    assert page.run("document.activeElement.classList.contains('b-part')") is True


def test_a_link_to_a_run_that_is_folded_up_opens_it(page: Browser) -> None:
    page.run("document.getElementById('run-not-three').open = false; location.hash = ''")
    page.run(
        "new Promise(done => { addEventListener('hashchange', () => setTimeout(done, 0));"
        " location.hash = '#run-not-three' })"
    )
    assert page.run("document.getElementById('run-not-three').open") is True
