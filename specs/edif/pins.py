"""Which pin of a part a port of a cell is.

Marks of active-low pins are one and the same here (``/OE``, ``~OE``, ``OE#``, ``OE*``, ``nOE``,
``OE_L``, ``OE_B``), and so are ``1A`` and ``A1``, ``D[3]``, ``D<3>`` and ``D3`` (common practice of
data books). A name that could be two pins is none.
"""

from __future__ import annotations

import re

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.model import Part, Pin

SUPPLIES = ("VCC", "+5V", "5V", "VDD", "+5", "VCC5", "+5VCC", "5V0", "P5V")
GROUNDS = ("GND", "VSS", "0V", "GROUND", "DGND")
"""What supply nets and pins are called (common practice), the usual name first."""
_NUMBERED = re.compile(r"(?:P|PIN|PAD)?[_ ]?(\d{1,3})\Z", re.IGNORECASE)
_LEADING = "/~!-"
_TRAILING = "#*\\'"


def plain(name: str) -> tuple[str, bool]:
    """A pin's name without marks, in capitals, and whether it is marked as active low."""
    text = name.strip()
    low = False
    while text[:1] and text[0] in _LEADING and len(text) > 1:
        text, low = text[1:], True
    while text[-1:] and text[-1] in _TRAILING and len(text) > 1:
        text, low = text[:-1], True
    if re.match(r"n[A-Z0-9]", text):
        text, low = text[1:], True
    found = re.match(r"(.+?)_(?:[NnLlBb]|[Bb][Aa][Rr])\Z", text)
    if found is not None:
        text, low = found[1], True
    return re.sub(r"[\[\]<>(){}_ ]", "", text).upper(), low


class PinNames:
    """The pins of a part by all that they may be called."""

    def __init__(self, part: Part) -> None:
        """Index a part's pins."""
        self.part = part
        self.numbers = {pin.number: pin for pin in part.pins if pin.kind is not PinKind.MOMENT}
        self.exact: dict[str, list[Pin]] = {}
        self.loose: dict[str, list[Pin]] = {}
        for pin in self.numbers.values():
            for word, low in _words(pin.name):
                self.exact.setdefault(f"{word}{'_N' if low else ''}", []).append(pin)
                self.loose.setdefault(word, []).append(pin)

    def numbered(self, text: str) -> Pin | None:
        """The pin with a number, written ``3``, ``P3`` or ``PIN3``."""
        found = _NUMBERED.match(text.strip())
        number = found[1].lstrip("0") if found else ""
        return self.numbers.get(text.strip()) or self.numbers.get(number)

    def named(self, text: str, gate: int | None = None) -> Pin | None:
        """The pin with a name; ``gate`` is the number of the gate that the name is of."""
        for pin in self.part.pins:
            if pin.name == text and pin.kind is not PinKind.MOMENT:
                return pin
        word, low = plain(text)
        mark = "_N" if low else ""
        for key in (f"{word}{mark}", f"{word}{gate}{mark}" if gate else ""):
            if key and (exact := _only(self.exact.get(key))):
                return exact
        for key in (word, f"{word}{gate}" if gate else ""):
            if key and (loose := _only(self.loose.get(key))):
                return loose
        return self.supply(text)

    def supply(self, text: str) -> Pin | None:
        """The one supply or ground pin, by any name that such pins have."""
        for names, kind in ((SUPPLIES, PinKind.SUPPLY), (GROUNDS, PinKind.GROUND)):
            if text.strip().upper() in names:
                return _only([pin for pin in self.numbers.values() if pin.kind is kind])
        return None


def _only(pins: list[Pin] | None) -> Pin | None:
    return pins[0] if pins is not None and len(pins) == 1 else None


def _words(name: str) -> set[tuple[str, bool]]:
    """``Q1_n`` as Q1 and 1Q, both active low; ``C10`` also as 1C0."""
    word, low = plain(name)
    found = re.fullmatch(r"([A-Z]+)(\d)(\d?)", word)
    if found is None:
        return {(word, low)}
    letters, first, second = found.groups()
    return {(word, low), (f"{first}{letters}{second}", low)}
