"""Names as printed on a chip: maker's letters, 74, family letters, number, package letters."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from breadproof.specs.catalogue.families import FAMILIES

LOGIC_FAMILIES = tuple(name for name in FAMILIES if name != "MOS")

_SERIES_74 = re.compile(r"[A-Z]{0,5}74([A-Z]{0,4})([0-9]{2,5})[A-Z]{0,4}([-/ ].*)?")
_BARE = re.compile(r"[0-9]{2,5}")
# Numbers of 5 V memories: 61xx and 62xxx static, 27xx and 28xx erasable, with or without C for
# CMOS (common practice of memory makers).
_MEMORY = re.compile(r"[A-Z]{0,5}((?:6[12]|2[78])C?[0-9]{2,4})[A-Z]{0,4}([-/ ].*)?")
_FAMILIAR = re.compile(r"([A-Z]{1,4})([0-9]{2,5})")


class UnknownPart(LookupError):
    """No part file for what is printed. ``suggestions`` are names that would be found."""

    def __init__(self, printed: str, why: str, suggestions: Sequence[str]) -> None:
        """Take what was printed, what is wrong with it, and near names."""
        super().__init__(why)
        self.printed = printed
        self.why = why
        self.suggestions = tuple(suggestions)

    @property
    def hint(self) -> str:
        """The way out as one line."""
        if self.suggestions:
            return f"Did you mean {' or '.join(self.suggestions)}?"
        return f"{self.why[0].upper()}{self.why[1:]}; `breadproof parts` lists all."


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintedName:
    """What a printed name says: the number of the part file, and the family's name."""

    number: str
    family: str


def recognise(printed: str, default_family: str, numbers: Sequence[str]) -> PrintedName:
    """The number and family of a printed name.

    ``7400`` is the family without letters, TTL; a bare ``157`` is of the default family; memories
    are MOS. ``numbers`` are those that the catalogue has: a name that is one of them needs no
    pattern (a user's own parts), and near misses come from them.

    Raises:
        UnknownPart: the name has no meaning, its family has no known limits, or there is no such
            number.
    """
    name = printed.strip()
    upper = name.upper()
    if default_family not in LOGIC_FAMILIES:
        why = f"'{default_family}' is no logic family ({', '.join(LOGIC_FAMILIES)} are)"
        raise UnknownPart(printed, why, ())
    memory = _MEMORY.fullmatch(upper)
    if name in numbers:
        return PrintedName(number=name, family="MOS" if memory else default_family)
    series = _SERIES_74.fullmatch(upper)
    if series is not None:
        family, number = series[1] or "TTL", series[2]
        if family not in LOGIC_FAMILIES:
            raise _unknown_family(printed, family, number, numbers)
    elif memory is not None:
        family, number = "MOS", memory[1]
    elif _BARE.fullmatch(upper):
        family, number = default_family, upper
    else:
        raise _unknown(printed, default_family, numbers)
    if number not in numbers:
        raise _unknown(printed, family, numbers)
    return PrintedName(number=number, family=family)


def full_name(number: str, family: str) -> str:
    """The name of a part without maker's and package letters: 74LS157, 7400, 6116."""
    if family == "MOS" or not number.isdigit():
        return number
    return f"74{'' if family == 'TTL' else family}{number}"


def _unknown_family(printed: str, family: str, number: str, numbers: Sequence[str]) -> UnknownPart:
    near = get_close_matches(family, LOGIC_FAMILIES, n=2, cutoff=0.3) or ["LS", "HC"]
    return UnknownPart(
        printed,
        f"no limits are known of the family '{family}' in '{printed}'",
        [full_name(number, name) for name in near] if number in numbers else [],
    )


def _unknown(printed: str, family: str, numbers: Sequence[str]) -> UnknownPart:
    name = printed.strip().upper()
    sure = family if family in LOGIC_FAMILIES else "LS"
    candidates = [
        full_name(number, "MOS" if _MEMORY.fullmatch(number) else sure) for number in numbers
    ]
    if _BARE.fullmatch(name):
        candidates += [number for number in numbers if number not in candidates]
    tail = _FAMILIAR.search(name)
    wanted = f"74{tail[1]}{tail[2]}" if tail and tail[1] in LOGIC_FAMILIES else name
    near = get_close_matches(name, candidates, n=3, cutoff=0.6)
    near = near or get_close_matches(wanted, candidates, n=3, cutoff=0.6)
    return UnknownPart(printed, f"there is no part '{printed}' in the catalogue", near)
