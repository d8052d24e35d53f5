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


def and_or_58(p: Levels) -> Shows:
    """The gates of the 51 without the inverter."""
    return {name: 1 - level for name, level in _levels(aoi_51(p))}


def odd_or_even_135(p: Levels) -> Shows:
    """Odd while the control of a pair of gates is low, even while it is high."""
    controls = {1: "C12", 2: "C12", 3: "C34", 4: "C34"}
    return {
        f"Y{k}": int((even if p[control] else odd)([p[f"A{k}"], p[f"B{k}"]]))
        for k, control in controls.items()
    }


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
EIGHTS = [(f"A{k}", f"Y{k}") for k in range(1, 9)]
TENS = [(f"A{k}", f"Y{k}") for k in range(1, 11)]
FOUR_AND_TWO = [(f"A1{k}", f"Y1{k}") for k in (1, 2, 3, 4)] + [(f"A2{k}", f"Y2{k}") for k in (1, 2)]


def both_low(p: Levels, y: str) -> bool:
    return not p["G1_n"] and not p["G2_n"]


def own_low(p: Levels, y: str) -> bool:
    return not p[f"G{y[1]}_n"]


def own_high(p: Levels, y: str) -> bool:
    return bool(p[f"G{y[1]}"])


def of_241(p: Levels, y: str) -> bool:
    return not p["G1_n"] if y[1] == "1" else bool(p["G2"])


def high_when_off(function: Function) -> Function:
    """Of open collectors: off and high are the same."""
    return lambda p: {y: 1 if level == "Z" else level for y, level in function(p).items()}


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


def decoders_239(p: Levels) -> Shows:
    return {name.removesuffix("_n"): 1 - level for name, level in _levels(decoder_139(p))}


def _levels(shows: Shows) -> list[tuple[str, int]]:
    return [(name, level) for name, level in shows.items() if isinstance(level, int)]


def decoders_155(p: Levels) -> Shows:
    """The first is on while C1 is high, the second while C2_n is low."""
    address = p["A"] + 2 * p["B"]
    first = address if p["C1"] and not p["G1_n"] else None
    second = address if not p["C2_n"] and not p["G2_n"] else None
    return {f"Y1{k}_n": int(k != first) for k in range(4)} | {
        f"Y2{k}_n": int(k != second) for k in range(4)
    }


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


def equal_518(p: Levels) -> Shows:
    one, other = word(p, numbered("P", range(8))), word(p, numbered("Q", range(8)))
    return {"PEQQ": int(one == other and not p["G_n"])}


def magnitude_686(p: Levels) -> Shows:
    """G1_n enables the first output, G2_n the second."""
    shows = dict(magnitude("PEQQ_n", "PGTQ_n")(p))
    if p["G1_n"]:
        shows["PEQQ_n"] = 1
    if p["G2_n"]:
        shows["PGTQ_n"] = 1
    return shows


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


def priority_348(p: Levels) -> Shows:
    """As the 148, with the address off where there is none."""
    shows = priority_148(p)
    return {n: "Z" if n[0] == "A" and shows["GS_n"] else level for n, level in shows.items()}


def parity_180(p: Levels) -> Shows:
    """Even: EVEN_IN goes to EVEN and ODD_IN to ODD, or crosswise; alike inputs are inverted."""
    if p["EVEN_IN"] == p["ODD_IN"]:
        return dict.fromkeys(("EVEN", "ODD"), 1 - p["EVEN_IN"])
    odd_ones = sum(p[c] for c in "ABCDEFGH") % 2
    return {"EVEN": p["EVEN_IN"] ^ odd_ones, "ODD": p["ODD_IN"] ^ odd_ones}
