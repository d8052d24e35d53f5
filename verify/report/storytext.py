"""A counterexample as text: what to do, what is seen, where to probe, and the chain of chips."""

from __future__ import annotations

from breadproof.specs.machine.trace import Trace
from breadproof.verify.report.culprits import Story
from breadproof.verify.report.page import Page
from breadproof.verify.report.storywords import LinkWords, Said, told
from breadproof.verify.report.timing import diagram, draw
from breadproof.verify.report.words import wrapped

INDENT = "  "


def story_lines(story: Story, trace: Trace, page: Page) -> list[str]:
    """Steps in words, the diagram, the pins to probe and the chains."""
    picture = diagram(story)
    words = told(story, trace, picture)
    lines = [line for said in words.steps for line in _said(said, page)]
    lines += ["", *draw(picture, page, INDENT), ""]
    lines += _probes(words.probes, page)
    lines += [line for said in words.loose for line in _said(said, page)]
    for number, chain in enumerate(words.chains):
        lines += ["", *_chain(chain, "chain" if number == 0 else "and", page)]
    if words.cause:
        lines += ["", *_said(("cause", words.cause), page)]
    return lines


def _said(said: Said, page: Page) -> list[str]:
    head, text = said
    return wrapped(text, page.width, f"{INDENT}{head:<7} ")


def _probes(probes: tuple[Said, ...], page: Page) -> list[str]:
    width = max((len(label) for label, _ in probes), default=0)
    lines: list[str] = []
    for label, pins in probes:
        head = "probe" if not lines else ""
        lines += wrapped(pins, page.width, f"{INDENT}{head:<7} {label:<{width}}  ")
    return lines


def _chain(chain: tuple[LinkWords, ...], head: str, page: Page) -> list[str]:
    """The links one a line; where that is too wide for the page, each on two."""
    width = max(len(link.via) for link in chain)
    room = len(INDENT) + 16 + width
    narrow = any(room + 5 + len(link.what) > page.width for link in chain)
    lines: list[str] = []
    last_round = ""
    for place, link in enumerate(chain):
        here = link.at if link.at != last_round else ""
        last_round = link.at
        start = f"{INDENT}{head if place == 0 else '':<7} {here:<8}"
        if narrow:
            lines += wrapped(link.via, page.width, start)
            lines += wrapped(f"-> {link.what}", page.width, " " * (len(start) + 2))
        else:
            lines.append(f"{start}{link.via:<{width}}  -> {link.what}")
    return lines
