"""What chips without storage do, as Python says it.

Each function takes the levels of all inputs by name and gives what each output shows. The tables
are those of the data books, from memory; they were written from the words of the books ("the input
that is selected", "the highest input that is low"), not from the part files' equations.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from tests.against.chips import Shown

Levels = Mapping[str, int]
Shows = Mapping[str, Shown]
Function = Callable[[Levels], Shows]


def word(p: Levels, names: Iterable[str]) -> int:
    """A number, whose least significant bit is the first name."""
    return sum(p[name] << place for place, name in enumerate(names))


def numbered(stem: str, numbers: Iterable[int], tail: str = "") -> list[str]:
    """``D0 D1 D2``."""
    return [f"{stem}{number}{tail}" for number in numbers]


# gates ---------------------------------------------------------------------------------------


def gates(count: int, letters: str, says: Callable[[list[int]], bool]) -> Function:
    """``count`` gates with inputs A1 B1 … and output Y1 …"""
    return lambda p: {
        f"Y{k}": int(says([p[f"{letter}{k}"] for letter in letters])) for k in range(1, count + 1)
    }


def gate(letters: str, says: Callable[[list[int]], bool], out: str = "Y") -> Function:
    """One gate."""
    return lambda p: {out: int(says([p[letter] for letter in letters]))}


def nand(levels: list[int]) -> bool:
    return not all(levels)


def nor(levels: list[int]) -> bool:
    return not any(levels)


def odd(levels: list[int]) -> bool:
    return sum(levels) % 2 == 1


def even(levels: list[int]) -> bool:
    return sum(levels) % 2 == 0


def nor_25(p: Levels) -> Shows:
    return {f"Y{k}": int(not (p[f"G{k}"] and any(p[f"{c}{k}"] for c in "ABCD"))) for k in (1, 2)}


def and_or_invert(*groups: str) -> Function:
    """Low if all inputs of a group are high."""
    return lambda p: {"Y": int(not any(all(p[c] for c in group) for group in groups))}


def aoi_51(p: Levels) -> Shows:
    first = all(p[f"{c}1"] for c in "ABC") or all(p[f"{c}1"] for c in "DEF")
    second = (p["A2"] and p["B2"]) or (p["C2"] and p["D2"])
    return {"Y1": int(not first), "Y2": int(not second)}


def aois_51(p: Levels) -> Shows:
    shows: dict[str, Shown] = {}
    for k in (1, 2):
        pairs = (p[f"A{k}"] and p[f"B{k}"]), (p[f"C{k}"] and p[f"D{k}"])
        shows[f"Y{k}"] = int(not any(pairs))
    return shows


def or_nor_4078(p: Levels) -> Shows:
    high = any(p[c] for c in "ABCDEFGH")
    return {"Y": int(high), "X": int(not high)}


# buffers -------------------------------------------------------------------------------------


def buffers(
    pairs: Iterable[tuple[str, str]], on: Callable[[Levels, str], bool], inverts: bool = False
) -> Function:
    """Outputs that show their input, or its inverse, while ``on`` and nothing otherwise."""
    ways = tuple(pairs)
    return lambda p: {y: p[a] ^ inverts if on(p, y) else "Z" for a, y in ways}


FOURS = [(f"A{g}{k}", f"Y{g}{k}") for g in (1, 2) for k in (1, 2, 3, 4)]
SIXES = [(f"A{k}", f"Y{k}") for k in range(1, 7)]
FOUR_AND_TWO = [(f"A1{k}", f"Y1{k}") for k in (1, 2, 3, 4)] + [(f"A2{k}", f"Y2{k}") for k in (1, 2)]


def both_low(p: Levels, y: str) -> bool:
    return not p["G1_n"] and not p["G2_n"]


def own_low(p: Levels, y: str) -> bool:
    return not p[f"G{y[1]}_n"]


def own_high(p: Levels, y: str) -> bool:
    return bool(p[f"G{y[1]}"])


def of_241(p: Levels, y: str) -> bool:
    return not p["G1_n"] if y[1] == "1" else bool(p["G2"])


# decoders ------------------------------------------------------------------------------------


def one_of(
    count: int,
    address: str,
    on: Callable[[Levels], bool],
    active: int = 0,
    stem: str = "Y",
) -> Function:
    """The addressed output is active. ``address``: names, least significant first."""
    names, tail = address.split(), "" if active else "_n"

    def function(p: Levels) -> Shows:
        chosen = word(p, names) if on(p) else None
        return {f"{stem}{k}{tail}": active if k == chosen else 1 - active for k in range(count)}

    return function


def on_138(p: Levels) -> bool:
    return bool(p["G1"]) and not p["G2A_n"] and not p["G2B_n"]


def decoder_139(p: Levels) -> Shows:
    shows: dict[str, Shown] = {}
    for g in (1, 2):
        chosen = None if p[f"G{g}_n"] else p[f"A{g}"] + 2 * p[f"B{g}"]
        shows |= {f"Y{g}{k}_n": int(k != chosen) for k in range(4)}
    return shows


# selectors -----------------------------------------------------------------------------------


def selector_of_16(p: Levels) -> Shows:
    chosen = p[f"E{word(p, 'ABCD')}"]
    return {"W": 1 if p["G_n"] else 1 - chosen}


def selector_of_8(off: Shown) -> Function:
    """The 151 (off: low and high) and the 251 (off: nothing)."""

    def function(p: Levels) -> Shows:
        if p["G_n"]:
            return {"Y": "Z", "W": "Z"} if off == "Z" else {"Y": 0, "W": 1}
        chosen = p[f"D{word(p, 'ABC')}"]
        return {"Y": chosen, "W": 1 - chosen}

    return function


def selectors_of_4(off: Shown, inverts: bool = False) -> Function:
    """The 153, 253, 352 and 353."""
    return lambda p: {
        f"Y{g}": off if p[f"G{g}_n"] else p[f"C{g}{word(p, 'AB')}"] ^ inverts for g in (1, 2)
    }


def selectors_of_2(off: Shown, inverts: bool = False) -> Function:
    """The 157, 158, 257 and 258."""
    return lambda p: {
        f"Y{k}": off if p["G_n"] else p[f"{'AB'[p['S']]}{k}"] ^ inverts for k in range(1, 5)
    }


# arithmetic ----------------------------------------------------------------------------------


def adder(p: Levels) -> Shows:
    """83 and 283."""
    ones = numbered("A", range(1, 5)), numbered("B", range(1, 5))
    total = word(p, ones[0]) + word(p, ones[1]) + p["C0"]
    return {f"S{k}": total >> k - 1 & 1 for k in range(1, 5)} | {"C4": total >> 4}


def adders_183(p: Levels) -> Shows:
    shows: dict[str, Shown] = {}
    for k in (1, 2):
        total = p[f"A{k}"] + p[f"B{k}"] + p[f"CN{k}"]
        shows |= {f"S{k}": total & 1, f"CO{k}": total >> 1}
    return shows


def magnitude(equal: str, greater: str, enable: str = "") -> Function:
    """682, 684 and their kin: low if P = Q, low if P > Q."""

    def function(p: Levels) -> Shows:
        one, other = word(p, numbered("P", range(8))), word(p, numbered("Q", range(8)))
        on = not (enable and p[enable])
        shows = {equal: int(not (on and one == other))}
        return shows | ({greater: int(not (on and one > other))} if greater else {})

    return function


def priority_148(p: Levels) -> Shows:
    asked = [k for k in range(8) if not p[f"I{k}_n"]]
    if p["EI_n"] or not asked:
        return {"A0_n": 1, "A1_n": 1, "A2_n": 1, "GS_n": 1, "EO_n": p["EI_n"]}
    return {f"A{k}_n": 1 - (asked[-1] >> k & 1) for k in range(3)} | {"GS_n": 0, "EO_n": 1}


def priority_147(p: Levels) -> Shows:
    asked = max((k for k in range(1, 10) if not p[f"I{k}_n"]), default=0)
    return {f"{'ABCD'[k]}_n": 1 - (asked >> k & 1) for k in range(4)}


def parity_280(p: Levels) -> Shows:
    ones = sum(p[c] for c in "ABCDEFGHI")
    return {"EVEN": int(ones % 2 == 0), "ODD": ones % 2}


CHIPS: dict[str, Function] = {
    **dict.fromkeys(("00", "03", "26", "37", "38", "132"), gates(4, "AB", nand)),
    **dict.fromkeys(("02", "28"), gates(4, "AB", nor)),
    **dict.fromkeys(("04", "05", "06", "14"), gates(6, "A", nand)),
    **dict.fromkeys(("07",), gates(6, "A", all)),
    **dict.fromkeys(("08", "09"), gates(4, "AB", all)),
    "10": gates(3, "ABC", nand),
    "11": gates(3, "ABC", all),
    **dict.fromkeys(("13", "20", "40"), gates(2, "ABCD", nand)),
    "21": gates(2, "ABCD", all),
    "25": nor_25,
    "27": gates(3, "ABC", nor),
    "30": gate("ABCDEFGH", nand),
    "32": gates(4, "AB", any),
    "51": aoi_51,
    "51@TTL": aois_51,
    "54": and_or_invert("AB", "CDE", "FGH", "IJ"),
    "54@TTL": and_or_invert("AB", "CD", "EF", "GH"),
    "42": one_of(10, "A B C D", lambda p: True),
    "55": and_or_invert("ABCD", "EFGH"),
    "64": and_or_invert("ABCD", "EF", "GHI", "JK"),
    "83": adder,
    "86": gates(4, "AB", odd),
    "125": buffers([(f"A{k}", f"Y{k}") for k in (1, 2, 3, 4)], own_low),
    "126": buffers([(f"A{k}", f"Y{k}") for k in (1, 2, 3, 4)], own_high),
    "133": gate("ABCDEFGHIJKLM", nand),
    "138": one_of(8, "A0 A1 A2", on_138),
    "139": decoder_139,
    "148": priority_148,
    "150": selector_of_16,
    "151": selector_of_8(0),
    "153": selectors_of_4(0),
    "154": one_of(16, "A B C D", lambda p: not p["G1_n"] and not p["G2_n"]),
    "157": selectors_of_2(0),
    "158": selectors_of_2(1, inverts=True),
    "238": one_of(8, "A0 A1 A2", on_138, active=1),
    "240": buffers(FOURS, own_low, inverts=True),
    "241": buffers(FOURS, of_241),
    "244": buffers(FOURS, own_low),
    "251": selector_of_8("Z"),
    "253": selectors_of_4("Z"),
    "257": selectors_of_2("Z"),
    "258": selectors_of_2("Z", inverts=True),
    "260": gates(2, "ABCDE", nor),
    "266": gates(4, "AB", even),
    "266@HC": gates(4, "AB", even),
    "280": parity_280,
    "283": adder,
    "365": buffers(SIXES, both_low),
    "366": buffers(SIXES, both_low, inverts=True),
    "367": buffers(FOUR_AND_TWO, own_low),
    "368": buffers(FOUR_AND_TWO, own_low, inverts=True),
    "540": buffers([(f"A{k}", f"Y{k}") for k in range(1, 9)], both_low, inverts=True),
    "541": buffers([(f"A{k}", f"Y{k}") for k in range(1, 9)], both_low),
    "827": buffers([(f"A{k}", f"Y{k}") for k in range(1, 11)], both_low),
    **dict.fromkeys(("520", "521", "688"), magnitude("PEQQ_n", "", "G_n")),
    "682": magnitude("PEQQ_n", "PGTQ_n"),
    "4002": gates(2, "ABCD", nor),
    "4075": gates(3, "ABC", any),
    "4078": or_nor_4078,
}
