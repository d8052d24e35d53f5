"""Pins as the `times:` of a part file write them, several in a word: ``A#``, ``D*``, ``Q[3:0]``."""

from __future__ import annotations

import re

from breadproof.specs.catalogue.part import PinKind, PinType
from breadproof.specs.catalogue.vectors import indices
from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.yamltree import Text, Tree, near

_RANGE = re.compile(r"([A-Za-z_][A-Za-z0-9_]*)\[([0-9]{1,3}):([0-9]{1,3})\]([A-Za-z0-9_]*)")
_WORD = re.compile(r"[^ ]+")


class Pins:
    """Finds the pins of one part that words mean; what means none is noted."""

    def __init__(self, pins: tuple[PinType, ...], problems: Problems) -> None:
        """Take the pins of the part."""
        self._kinds = {pin.name: pin.kind for pin in pins}
        self._names = tuple(pin.name for pin in pins)
        self._problems = problems
        self.inputs = tuple(pin.name for pin in pins if pin.kind.reads)
        self.outputs = tuple(pin.name for pin in pins if pin.kind.drives)

    def kind(self, pin: str) -> PinKind:
        """The kind of a pin that was found."""
        return self._kinds[pin]

    def wrong(self, message: str, tree: Tree, hint: str, span: Span | None = None) -> None:
        """Note a problem, at the tree or, if given, the place."""
        self._problems.error("part-time", message, tree.span if span is None else span, hint=hint)

    def runs(self, text: Text, start: int, end: int) -> tuple[str, ...] | None:
        """The numbers that ``#`` runs over in a stretch of the text; ("",) if it has none.

        Every word with a ``#`` must have the same numbers; None, and noted, where they differ.
        """
        found: tuple[str, ...] | None = None
        for match in _WORD.finditer(text.value, start, end):
            word = match[0]
            if "#" not in word:
                continue
            form = re.compile(re.escape(word).replace(r"\#", "([0-9]+)", 1).replace(r"\#", r"\1"))
            numbers = tuple(
                sorted((m[1] for n in self._names if (m := form.fullmatch(n))), key=_order)
            )
            if not numbers:
                self._unknown(text, match.start(), word)
                return None
            if found is not None and numbers != found:
                self._problems.error(
                    "part-time",
                    f"'{word}' runs over {', '.join(numbers)}, "
                    f"the one before over {', '.join(found)}",
                    text.at(match.start(), len(word)),
                    hint="'#' is the same number in every name; write '*' for any number.",
                )
                return None
            found = numbers
        return ("",) if found is None else found

    def named(
        self, text: Text, start: int, end: int, number: str, allowed: tuple[str, ...]
    ) -> tuple[str, ...] | None:
        """The pins in a stretch of the text, ``#`` being ``number``; None, and noted, if wrong.

        ``allowed`` is `inputs` or `outputs`.
        """
        pins: list[str] = []
        right = True
        for match in _WORD.finditer(text.value, start, end):
            word = match[0].replace("#", number)
            found = self._word(word)
            unknown = [name for name in found if name not in self._names]
            if unknown or not found:
                self._unknown(text, match.start(), match[0], unknown[0] if unknown else word)
                right = False
            elif not set(found) <= set(allowed):
                other = next(name for name in found if name not in allowed)
                self._problems.error(
                    "part-time",
                    f"'{other}' is no {'input' if allowed is self.inputs else 'output'}",
                    text.at(match.start(), len(match[0])),
                    hint=f"Write one of: {', '.join(allowed)}.",
                )
                right = False
            pins += found
        return tuple(dict.fromkeys(pins)) if right else None

    def _word(self, word: str) -> tuple[str, ...]:
        vector = _RANGE.fullmatch(word)
        if vector is not None:
            numbers = indices(int(vector[2]), int(vector[3]))
            return tuple(f"{vector[1]}{number}{vector[4]}" for number in numbers)
        if "*" in word:
            form = re.compile(re.escape(word).replace(r"\*", "[0-9]+"))
            return tuple(name for name in self._names if form.fullmatch(name))
        return (word,)

    def _unknown(self, text: Text, at: int, word: str, name: str = "") -> None:
        self._problems.error(
            "part-time",
            f"the part has no pin '{name or word}'",
            text.at(at, len(word)),
            hint=near(name or word, self._names) or f"Its pins: {', '.join(self._names)}.",
        )


def _order(number: str) -> tuple[int, str]:
    return int(number), number
