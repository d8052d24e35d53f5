"""Pages in a real browser: from disk, without a network, with the keyboard, and under axe-core."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from importlib.resources import files

import pytest

from breadproof.verify.pages.verifypage import verify_page
from tests.support.browser import Browser, browser

from .made import failing_report

pytestmark = pytest.mark.needs("chromium")


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    folder = tmp_path_factory.mktemp("page")
    file = folder / "out.html"
    file.write_text(verify_page(failing_report(folder), path="board.yaml"), "utf-8")
    program = shutil.which("chromium")
    assert program is not None
    with browser(program, folder / "profile") as one:
        one.window(1280, 900)
        one.open(file)
        yield one


def _violations(page: Browser) -> object:
    axe = files("axe_core_python").joinpath("axe.min.js").read_text("utf-8")
    page.run(axe)
    found = page.run(
        "axe.run(document, {resultTypes: ['violations']}).then(found => JSON.stringify("
        "found.violations.map(one => [one.id, one.nodes.map(node => node.html.slice(0, 120))])))"
    )
    return json.loads(found)


@pytest.mark.parametrize("dark", [False, True])
def test_axe_finds_nothing(page: Browser, dark: bool) -> None:
    page.window(1280, 900, dark)
    assert _violations(page) == []


def test_the_console_stays_silent(page: Browser) -> None:
    assert page.complaints == []
    assert page.run("document.querySelectorAll('svg .b-chip').length") == 3


@pytest.mark.parametrize(("width", "zoom"), [(1280, 2), (640, 2), (1280, 1)])
def test_nothing_but_drawings_is_wider_than_the_window(
    page: Browser, width: int, zoom: float
) -> None:
    page.window(width, 900, zoom=zoom)
    assert page.run("document.documentElement.scrollWidth <= innerWidth") is True


def test_the_keyboard_reaches_every_finding_and_every_run(page: Browser) -> None:
    page.window(1280, 900)
    page.run("document.activeElement.blur(); scrollTo(0, 0)")
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
    assert "Waves of not-three" in text


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
