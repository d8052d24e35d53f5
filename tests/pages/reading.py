"""Reading a page back: its elements, links and words, without the code that made it."""

from __future__ import annotations

from collections import Counter
from html.parser import HTMLParser

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

    def words(self) -> str:
        """All that is said, with single spaces."""
        return " ".join(" ".join(self.said).split())


def come_in_order(said: str, words: list[str]) -> bool:
    """Whether a page says all that, one behind the other; the first before its contents."""
    assert words[0] in said[: said.index("What this rests on")]
    at = said.index("What this rests on") + 1  # the last entry of the contents
    for one in words[1:]:
        at = said.find(one, at)
        if at < 0:
            return False
    return True
