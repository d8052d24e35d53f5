"""Names as printed on a chip: maker's letters, 74, family letters, number, package letters."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from breadproof.specs.catalogue.families import FAMILIES

LOGIC_FAMILIES = tuple(name for name in FAMILIES if name != "MOS")
_LETTERS = tuple(name for name in LOGIC_FAMILIES if name != "4000B")

# What follows the number says package, grade and reel: N, P, AN, E4, -15, /883, DR2G; common
# practice of all makers. The makers' letters come first: two or three as a rule.
_TAIL = r"(?:[A-Z]{1,5}[0-9]{0,2}[A-Z]{0,3})?(?:[-/ ,.].*)?"
_SERIES_74 = re.compile(rf"[A-Z]{{0,5}}(54|74)([A-Z]{{0,5}})([0-9]{{2,5}}){_TAIL}")
# The 4000 series (JEDEC standard 13-B): 40xx and 45xx, also as 140xx and 145xx; 40xxx are numbers
# of the 74 series. B is buffered, UB is not.
_SERIES_4000 = re.compile(rf"([A-Z]{{0,5}})1?(4[05][0-9]{{2}}|40[0-9]{{3}})(UB|B|A)?{_TAIL}")
_BARE = re.compile(r"[0-9]{2,5}")
# Numbers of 5 V memories: 21xx, 61xx and 62xxx static, 27xx and 28xx erasable, with or without C
# for CMOS, 39SFxxx flash (common practice of memory makers).
_MEMORY = re.compile(
    rf"[A-Z]{{0,5}}(?:6C)?(6[12]C?[0-9]{{2,4}}|21[0-9]{{2}}|2[78]C?[0-9]{{2,4}}|39SF[0-9]{{3}}){_TAIL}"
)
_SAME_MEMORY = {"1008": "628128", "4008": "628512"}
"""What stands behind the 6C of static memories that are counted in kilobits (common practice)."""
_KILOBITS = re.compile(rf"[A-Z]{{0,5}}6C({'|'.join(_SAME_MEMORY)}){_TAIL}")
_EARLIER = re.compile(r"[A-Z]{0,5}2016[A-Z]{0,3}(?:-[0-9]{2,3})?")
"""The 2016 is the 6116 of other makers: the same pins and mode table (common practice). Grades of
one figure are not the same from maker to maker, so there is none behind it."""
# The timers, under their makers' letters.
_TIMERS = ("555", "556")
_TIMER = re.compile(rf"[A-Z]{{1,4}}({'|'.join(_TIMERS)}){_TAIL}")
_FAMILIAR = re.compile(r"([A-Z]{1,5})([0-9]{2,5})")

_AS_40 = {
    "14": "40106", "161": "40161", "163": "40163", "174": "40174", "175": "40175",
    "193": "40193", "194": "40194",
}  # fmt: skip
"""Numbers of the 74 series that the 4000 series has with the same pins (from memory)."""
_FROM_40 = {printed: number for number, printed in _AS_40.items()}

_UNBUFFERED = ("4007", "4049", "4069")
"""Numbers of the 4000 series that exist only unbuffered: their part files say so."""

_INSTEAD = {
    "H": ("S", "F"), "L": ("LS", "TTL"), "C": ("HC", "HCT"), "LV": ("AHC", "LVC"),
    "VHC": ("AHC", "HC"), "VHCT": ("AHCT", "HCT"), "ABT": ("ACT", "F"), "BCT": ("ACT", "F"),
    "FCT": ("ACT", "F"),
}  # fmt: skip
"""Families that are near to some whose limits are not known here (common practice)."""


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
    """What a printed name says: the number of the part file, and the family's name.

    ``military``: of the 54 series. ``bare``: the family is only that of the board.
    """

    number: str
    family: str
    military: bool = False
    bare: bool = False


def recognise(printed: str, default_family: str, numbers: Sequence[str]) -> PrintedName:
    """The number and family of a printed name.

    ``7400`` is the family without letters, TTL, and ``4040B`` one of the 4000 series; a bare
    ``157`` is of the default family; memories are MOS. ``numbers`` are those that the catalogue
    has: a name that is one of them needs no pattern (a user's own parts), and near misses come from
    them.

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
        if memory is not None:
            return PrintedName(number=name, family="MOS")
        return PrintedName(number=name, family=default_family, bare=True)
    found = _in_series(printed, upper, numbers) or _alone(upper, default_family, numbers)
    if found is None or found.number not in numbers:
        raise _unknown(printed, found.family if found else default_family, numbers)
    return found


def _in_series(printed: str, upper: str, numbers: Sequence[str]) -> PrintedName | None:
    """A name of the 54, 74 or 4000 series."""
    series = _SERIES_74.fullmatch(upper)
    if series is not None:
        family, number = series[2] or "TTL", series[3]
        if family not in _LETTERS:
            raise _unknown_family(printed, family, number, numbers)
        return PrintedName(number=number, family=family, military=series[1] == "54")
    series = _SERIES_4000.fullmatch(upper)
    alone = series is not None and not (series[1] or series[3] or series[2] in _FROM_40)
    if series is None or alone or series[1] in _LETTERS:
        return None
    number = _FROM_40.get(series[2], series[2])
    other = series[3] in ("A", "UB") and not (series[3] == "UB" and number in _UNBUFFERED)
    if other and number in numbers:
        what = "early (A)" if series[3] == "A" else "unbuffered (UB)"
        raise UnknownPart(
            printed,
            f"no limits are known of the {what} parts of the 4000 series, such as '{printed}'",
            [full_name(number, "4000B")],
        )
    return PrintedName(number=number, family="4000B")


def _alone(upper: str, default_family: str, numbers: Sequence[str]) -> PrintedName | None:
    """A memory, a timer, a part whose number has letters of its own, or a bare number."""
    memory = _MEMORY.fullmatch(upper)
    if memory is not None:
        number = memory[1].replace("C", "") if memory[1][0] == "6" else memory[1]
        if number in numbers:
            return PrintedName(number=number, family="MOS")
    same = _KILOBITS.fullmatch(upper)
    other = _SAME_MEMORY[same[1]] if same else "6116" if _EARLIER.fullmatch(upper) else ""
    if other in numbers:
        return PrintedName(number=other, family="MOS")
    timer = _TIMER.fullmatch(upper)
    if timer is not None:
        return PrintedName(number=timer[1], family="MOS")
    own = _by_its_letters(upper, numbers) or (upper if _BARE.fullmatch(upper) else None)
    return PrintedName(number=own, family=default_family, bare=True) if own else None


def _by_its_letters(upper: str, numbers: Sequence[str]) -> str | None:
    """A part whose number has letters of its own, with package letters behind it."""
    for number in sorted(numbers, key=len, reverse=True):
        mine = not number.isdigit() and upper.startswith(number.upper())
        if mine and re.fullmatch(_TAIL, upper[len(number) :]):
            return number
    return None


def full_name(number: str, family: str) -> str:
    """The name of a part without maker's and package letters: 74LS157, 7400, 4017B, 6116."""
    if family == "MOS" or number in _TIMERS or not number.isdigit():
        return number
    if family == "4000B":
        return f"{_AS_40.get(number, number)}B"
    return f"74{'' if family == 'TTL' else family}{number}"


def _unknown_family(printed: str, family: str, number: str, numbers: Sequence[str]) -> UnknownPart:
    near = _INSTEAD.get(family) or get_close_matches(family, _LETTERS, n=2, cutoff=0.3)
    return UnknownPart(
        printed,
        f"no limits are known of the family '{family}' in '{printed}'",
        [full_name(number, name) for name in near or ("LS", "HC")] if number in numbers else [],
    )


def _unknown(printed: str, family: str, numbers: Sequence[str]) -> UnknownPart:
    name = printed.strip().upper()
    tail = _FAMILIAR.search(name)
    sure = family if family in LOGIC_FAMILIES else "LS"
    sure = tail[1] if tail and tail[1] in _LETTERS else sure
    candidates = [_candidate(number, sure) for number in numbers]
    if _BARE.fullmatch(name):
        candidates += [number for number in numbers if number not in candidates]
    wanted = f"74{tail[1]}{tail[2]}" if tail and tail[1] in _LETTERS else name
    near = get_close_matches(name, candidates, n=3, cutoff=0.6)
    near = near or get_close_matches(wanted, candidates, n=3, cutoff=0.6)
    return UnknownPart(printed, f"there is no part '{printed}' in the catalogue", near)


def _candidate(number: str, family: str) -> str:
    """A name that would be found for a number, in that family where it can be."""
    if _MEMORY.fullmatch(number):
        return number
    in_4000 = number in _AS_40 or _SERIES_4000.fullmatch(number) is not None
    return full_name(number, "LS" if family == "4000B" and not in_4000 else family)
