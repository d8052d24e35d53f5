"""Chips that go into each other's sockets: their pins against each other.

Which chips are pin-compatible, and where they differ, is common practice and told by the data
books' cross references, from memory. The names are compared place by place; of chips that differ
in the sense of their outputs or inputs alone, without the mark of the sense.
"""

from __future__ import annotations

import pytest

from tests.against.chips import part_of

SAME = (
    "00 03 08 09 24 26 32 37 38 86 132 136",
    "02 28 33 128",
    "04 05 06 07 14 16 17 19",
    "10 11 12 15 27",
    "13 18 20 21 22 40 140",
    "42 45 145",
    "64 65",
    "73@TTL 73",
    "76@TTL 76",
    "123 423 221",
    "151 251",
    "153 253 352 353",
    "154 159",
    "155 156",
    "157 158 257 258",
    "160 161 162 163",
    "168 169",
    "170 670",
    "190 191",
    "192 193",
    "196 197",
    "240 244 756 760",
    "241 757",
    "242 243",
    "245 640 643 645",
    "266 386 7266",
    "299 323",
    "363 373",
    "364 374",
    "365 366",
    "367 368",
    "465 466",
    "467 468",
    "518 519",
    "520 521 522 688 689",
    "540 541",
    "543 544",
    "564 576",
    "563 580",
    "568 569",
    "620 623",
    "646 648",
    "651 652",
    "682 684 685",
    "686 687",
    "697 699",
    "827 828",
    "861 862",
    "863 864",
    "867 869",
    "4016 4066",
    "4049 4050",
    "4510 4516",
    "4518 4520",
)
BUT_FOR_SENSE = (
    "89 189 219",
    "137 237",
    "138 238",
    "139 239",
    "373 533",
    "374 534",
    "518 520",
    "563 573",
    "564 574",
    "821 822",
    "823 824",
    "825 826",
    "841 842",
    "843 844",
    "845 846",
    "4514 4515",
)
"""An output or input of one is the inverse of the other's."""
EXCEPT: dict[str, set[str]] = {
    "137 138": {"4", "5"},
    "174 378": {"1"},
    "175 379": {"1"},
    "190 192": {"4", "5", "12", "13", "14"},
    "240 241": {"19"},
    "125 126": {"1", "4", "10", "13"},
    "273 374": {"1"},
    "273 377": {"1"},
    "373 374": {"11"},
    "374 377": {"1"},
    "563 564": {"11"},
    "573 574": {"11"},
    "594 595": {"13"},
    "841 821": {"13"},
    "843 823": {"13", "14"},
    "873 874": {"14", "23"},
}
"""The pins in which two chips differ, and in no others: a clock for a latch enable, a clear for an
output enable, an enable of the other sense."""
MEMORIES = {
    "2716 27C16 28C16 6116": set[str](),
    "2732 27C32": set[str](),
    "2764 27C64": set[str](),
    "27128 27C128": set[str](),
    "27256 27C256": set[str](),
    "27C64 27C128 27C256 28C64 6264 62256": {"A13", "A14"},
    "62256 28C256": set[str](),
    "27C010 28C010 39SF010": set[str](),
    "27C010 628128": {"A14", "A15"},
    "27C020 39SF020": set[str](),
    "27C040 39SF040": {"A18"},
}
"""Addresses and data that one package's memories have in common are at the same pins, but for
those named: where static memories and flash have them, EPROMs have the programming voltage or the
programming pulse."""


def names(number: str, *, sense: bool = True) -> dict[str, str]:
    """The pins by place."""
    pins = part_of(number).pins
    return {
        pin.number: pin.name if sense else _plain(pin.name)
        for pin in pins
        if pin.kind.value != "moment"
    }


def _plain(name: str) -> str:
    """Without the mark of the sense; S, O and Q are all letters of outputs of the 89 and kin."""
    plain = name.removesuffix("_n")
    return {"ME": "CS", "S0": "O0", "S1": "O1", "S2": "O2", "S3": "O3"}.get(plain, plain)


def pairs(groups: tuple[str, ...]) -> list[tuple[str, str]]:
    """The first of each group with each other."""
    split = [group.split() for group in groups]
    return [(first, other) for first, *others in split for other in others]


@pytest.mark.parametrize(("one", "other"), pairs(SAME))
def test_same_pins(one: str, other: str) -> None:
    assert names(one) == names(other)


@pytest.mark.parametrize(("one", "other"), pairs(BUT_FOR_SENSE))
def test_same_pins_but_for_the_sense(one: str, other: str) -> None:
    assert names(one, sense=False) == names(other, sense=False)
    assert names(one) != names(other)


@pytest.mark.parametrize("pair", EXCEPT)
def test_same_pins_but_for_some(pair: str) -> None:
    one, other = (names(number) for number in pair.split())
    assert one.keys() == other.keys()
    assert {place for place in one if one[place] != other[place]} == EXCEPT[pair]


@pytest.mark.parametrize("group", MEMORIES)
def test_memories_in_one_socket(group: str) -> None:
    one, *others = group.split()
    here = {name: place for place, name in names(one).items()}
    for other in others:
        there = {name: place for place, name in names(other).items()}
        common = {name for name in here if name[0] in "AI" and name in there}
        assert len(common) >= 19
        apart = {name for name in common if here[name] != there[name]}
        assert apart <= MEMORIES[group]
        if len(others) == 1:
            assert apart == MEMORIES[group] & common
