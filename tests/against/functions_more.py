"""Arithmetic units and display decoders, as Python says it; see `tests.against.functions`."""

from __future__ import annotations

from tests.against.chips import Shown
from tests.against.functions import Function, Levels, Shows, numbered, word

FOUR = range(4)


def nibble(p: Levels, stem: str) -> int:
    return word(p, numbered(stem, FOUR))


def shown_word(stem: str, value: int) -> dict[str, Shown]:
    return {f"{stem}{k}": value >> k & 1 for k in FOUR}


def carries_out(one: int, other: int) -> dict[str, Shown]:
    """Group generate and propagate, as what they are for: a carry comes out without one coming in,
    or with one coming in. Where it is generated nobody looks at propagate."""
    generates, passes = one + other > 15, one + other + 1 > 15
    return {"G_n": int(not generates), "P_n": None if generates else int(not passes)}


def operands(p: Levels) -> tuple[int, int] | None:
    """Of 381 and 382: the two numbers that are added, or None for the logic functions."""
    a, b = nibble(p, "A"), nibble(p, "B")
    return {1: (15 - a, b), 2: (a, 15 - b), 3: (a, b)}.get(word(p, ("S0", "S1", "S2")))


def logic_381(p: Levels) -> int:
    a, b = nibble(p, "A"), nibble(p, "B")
    return {0: 0, 4: a ^ b, 5: a | b, 6: a & b, 7: 15}[word(p, ("S0", "S1", "S2"))]


def unit_381(p: Levels) -> Shows:
    """Clear, B minus A, A minus B, A plus B, exclusive OR, OR, AND, preset."""
    added = operands(p)
    if added is None:
        return shown_word("F", logic_381(p)) | {"G_n": None, "P_n": None}
    return shown_word("F", sum(added) + p["CN"]) | carries_out(*added)


def unit_382(p: Levels) -> Shows:
    """As the 381, with the carry and the overflow of numbers in two's complement."""
    added = operands(p)
    if added is None:
        return shown_word("F", logic_381(p)) | {"CN4": None, "OVR": None}
    total = sum(added) + p["CN"]
    signed = sum(x - 16 if x > 7 else x for x in added) + p["CN"]
    return shown_word("F", total) | {"CN4": total >> 4, "OVR": int(not -8 <= signed <= 7)}


def unit_181(p: Levels) -> Shows:
    """Active-high words. With M high the logic function whose truth table S is; with M low one
    number plus another plus "no carry": A or a NOR of it with B, as the book's table comes to."""
    a, b, s = nibble(p, "A"), nibble(p, "B"), nibble(p, "S")
    if p["M"]:
        # S3 S2 are what F is to be where (A, B) are (1, 1) and (1, 0); S1 and S0 what it is not to
        # be at (0, 0) and (0, 1).
        rows = ((1, 1), (1, 0), (0, 0), (0, 1))
        table = {
            row: s >> 3 - place & 1 if place < 2 else 1 - (s >> 3 - place & 1)
            for place, row in enumerate(rows)
        }
        result = sum(table[a >> k & 1, b >> k & 1] << k for k in FOUR)
        return shown_word("F", result) | {
            "AEQB": int(result == 15),
            "CN4": None,
            "G_n": None,
            "P_n": None,
        }
    one = a | (b if s & 1 else 0) | (15 - b if s & 2 else 0)
    other = (a & 15 - b if s & 4 else 0) | (a & b if s & 8 else 0)
    total = one + other + (1 - p["CN"])
    found = shown_word("F", total) | {"AEQB": int(total & 15 == 15), "CN4": 1 - (total >> 4)}
    # With active-high words carries are active low: CN4 = !G_n | !P_n & CN is low where one comes
    # out. So G_n is high where one would with a carry in, and P_n where one does without.
    passes = one + other + 1 > 15
    return found | {"G_n": int(passes), "P_n": int(one + other > 15) if passes else None}


def comparator_85(p: Levels) -> Shows:
    a, b = nibble(p, "A"), nibble(p, "B")
    names = ("AGTB_OUT", "ALTB_OUT", "AEQB_OUT")
    if a != b:
        return dict(zip(names, (int(a > b), int(a < b), 0), strict=True))
    if p["AEQB_IN"]:
        return dict(zip(names, (0, 0, 1), strict=True))
    return dict(zip(names, (1 - p["ALTB_IN"], 1 - p["AGTB_IN"], 0), strict=True))


def carries_182(p: Levels) -> Shows:
    """Each carry is one if any stage below generates one and all between pass it on."""
    shows: dict[str, Shown] = {}
    for place, name in enumerate(("CNX", "CNY", "CNZ"), 1):
        known = [p["CN"], *(1 - p[f"G{k}_n"] for k in range(place))]
        passed = [all(not p[f"P{k}_n"] for k in range(at, place)) for at in range(place + 1)]
        shows[name] = int(any(c and on for c, on in zip(known, passed, strict=True)))
    group = [all(not p[f"P{k}_n"] for k in range(at, 4)) for at in range(1, 5)]
    generates = any(not p[f"G{k}_n"] and group[k] for k in FOUR)
    return shows | {"G_n": int(not generates), "P_n": int(any(p[f"P{k}_n"] for k in FOUR))}


SEGMENTS = ("abcdef", "bc", "abdeg", "abcdg", "bcfg", "acdfg", "cdefg", "abc", "abcdefg", "abcfg")
ABOVE_9 = ("deg", "cdg", "bfg", "adfg", "defg", "")


def display(lit: int, tails: bool) -> Function:
    """47, 48, 247 and 248: of 6 and 9 with or without tails. BI_RBO_n low from outside blanks;
    with RBI_n low and lamp test high a zero is blanked, and BI_RBO_n shows it. What is read from
    a pin that nobody drives is high."""
    drawn = [*SEGMENTS, *ABOVE_9]
    if tails:
        drawn[6], drawn[9] = "acdefg", "abcdfg"

    def function(p: Levels) -> Shows:
        digit = word(p, "ABCD")
        dark_zero = bool(p["LT_n"]) and not p["RBI_n"] and digit == 0
        blanked = not p["BI_RBO_n"] or dark_zero
        on = "" if blanked else drawn[digit] if p["LT_n"] else "abcdefg"
        shows: dict[str, Shown] = {c: lit if c in on else 1 - lit for c in "abcdefg"}
        return shows | {"BI_RBO_n": 0 if dark_zero else "Z"}

    return function


CHIPS: dict[str, Function] = {
    "47": display(0, tails=False),
    "48": display(1, tails=False),
    "85": comparator_85,
    "181": unit_181,
    "182": carries_182,
    "247": display(0, tails=True),
    "248": display(1, tails=True),
    "381": unit_381,
    "382": unit_382,
}
