"""What a proof rests on, as data: chips, tied pins, contents, assumptions that suffice for it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Grounds:
    """These being as the board has them, the property holds whatever all other chips, tied pins,
    contents do, as long as every step is over in as many rounds as it takes on the board.

    ``pins`` maps tied pins (``U7.15``) to ``low`` or ``high``, and open ones that are taken as high
    to ``open``. ``contents`` are ROMs (``U9.M``). ``least``: it does not follow without any one of
    them. Resistors, contacts and wires are taken as they are, and so is what the property is about.
    """

    parts: tuple[str, ...]
    pins: tuple[tuple[str, str], ...]
    contents: tuple[str, ...]
    assumptions: tuple[str, ...]
    least: bool
