"""Reading drawings back: levels off the path of a wave, as an eye does, without the code that drew.

Paths use M, L and Z alone here (W3C SVG 1.1, section 8.3).
"""

from __future__ import annotations

import re
from itertools import pairwise
from xml.etree import ElementTree

SVG = "{http://www.w3.org/2000/svg}"
_PAIR = re.compile(r"[ML]\s*(-?[\d.]+)[ ,](-?[\d.]+)")


def parsed(text: str) -> ElementTree.Element:
    """The tree of a drawing; an error if it is not well-formed XML 1.0."""
    return ElementTree.fromstring(text.encode())


def corners(path: str) -> list[tuple[float, float]]:
    """The points of a path of straight lines."""
    return [(float(x), float(y)) for x, y in _PAIR.findall(path)]


def height_at(path: str, x: float) -> float | None:
    """The height of a line at ``x``; None where it does not reach."""
    places = corners(path)
    for (x0, y0), (x1, y1) in pairwise(places):
        if x0 <= x <= x1 and x0 < x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return None


def of_class(tree: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    """All elements of a class, in order."""
    return [one for one in tree.iter() if name in one.get("class", "").split()]


def texts(tree: ElementTree.Element) -> list[str]:
    """All that is written, titles aside."""
    return [one.text or "" for one in tree.iter(f"{SVG}text")]
