"""Scalable vector graphics (W3C SVG 1.1) as a tree, and the text of one."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from xml.etree.ElementTree import Element, tostring

NAMESPACE = "http://www.w3.org/2000/svg"
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that XML 1.0 cannot hold (section 2.2)."""

Point = tuple[float, float]


def element(tag: str, *children: Element, text: str = "", **attributes: str | float) -> Element:
    """An element; ``class_`` is the attribute ``class``, ``text_anchor`` is ``text-anchor``."""
    return _made(tag, children, attributes, text)


def titled(tag: str, title: str, *children: Element, **attributes: str | float) -> Element:
    """An element that shows ``title`` under the pointer, and to a reader of the screen."""
    return _made(tag, (element("title", text=title), *children), attributes)


def rectangle(
    kind: str, x: float, y: float, width: float, height: float, rounded: float = 0
) -> Element:
    """A rectangle of a class, by its upper left corner."""
    made = element("rect", class_=kind, x=x, y=y, width=width, height=height)
    if rounded:
        made.set("rx", number(rounded))
    return made


def clean(text: str) -> str:
    """The text without what XML cannot hold."""
    return _NOT_XML.sub(" ", text)


def number(value: float) -> str:
    """A length with two digits behind the point at most."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if value % 1 else str(int(value))


def points(*places: Point) -> str:
    """A path through points, as the attribute ``d``."""
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in places)


def drawing(width: float, height: float, *children: Element) -> Element:
    """The outermost element, as large as it says, at a scale of one."""
    return element(
        "svg",
        *children,
        xmlns=NAMESPACE,
        width=width,
        height=height,
        viewBox=f"0 0 {number(width)} {number(height)}",
    )


def grouped(drawn: Element, says: str) -> None:
    """Make what is in a drawing one group that is called so by a reader of the screen.

    A drawing whose pieces can be reached is no single image (W3C ARIA in HTML: an ``svg`` itself
    takes no role of a group).
    """
    inside = element("g", *drawn, role="group")
    inside.set("aria-label", says)
    drawn[:] = [inside]


def as_text(drawn: Element) -> str:
    """The text of a drawing or of a piece of one; no declaration, no newline at the end."""
    return tostring(drawn, encoding="unicode")


def as_file(drawn: Element, style: str, title: str, *, single: bool = True) -> str:
    """A drawing as a file of its own, with its style sheet and its title inside.

    ``single``: it is one image to a reader of the screen.
    """
    inside = (element("title", text=title), element("style", text=style))
    for place, one in enumerate(inside):
        drawn.insert(place, one)
    if single:
        drawn.set("role", "img")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{as_text(drawn)}\n'


def _made(
    tag: str, children: Iterable[Element], attributes: Mapping[str, str | float], text: str = ""
) -> Element:
    made = Element(tag, {_name(key): _value(value) for key, value in attributes.items()})
    if text:
        made.text = clean(text)
    made.extend(children)
    return made


def _name(key: str) -> str:
    return key.rstrip("_").replace("_", "-") if key != "viewBox" else key


def _value(value: str | float) -> str:
    return clean(value) if isinstance(value, str) else number(value)
