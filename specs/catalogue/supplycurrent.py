"""What a chip takes from its supply at most while nothing switches: I_CC of the data books.

Guaranteed maxima, never typical values, with the inputs and outputs as the book has them where the
part takes most (outputs low; of three-state parts the worst of low, high and off). Where no value
is known there is none: it is never taken for zero.
"""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.catalogue.limits import Family
from breadproof.specs.catalogue.part import PartType

MEMORY = "from memory of the data book"
MILLI = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyCurrent:
    """Amperes, and where they are from."""

    amperes: float
    source: str


_LS: dict[str, float] = {
    "00": 4.4, "01": 4.4, "02": 5.4, "03": 4.4, "04": 6.6, "05": 6.6, "08": 8.8, "09": 8.8,
    "10": 3.3, "11": 6.6, "12": 3.3, "13": 7, "14": 21, "15": 6.6, "20": 2.2, "21": 4.4, "22": 2.2,
    "26": 4.4, "27": 6.8, "28": 13.8, "30": 1.1, "32": 9.8, "33": 13.8, "37": 12, "38": 12,
    "40": 6, "42": 13, "47": 13, "48": 38, "51": 2.8, "73": 6, "74": 8, "76": 6, "83": 39,
    "85": 20, "86": 10, "90": 15, "92": 15, "93": 15, "107": 6, "109": 8, "112": 6, "113": 6,
    "114": 6, "122": 11, "123": 20, "125": 20, "126": 22, "132": 14, "136": 10, "138": 10,
    "139": 11, "145": 13, "148": 20, "151": 10, "153": 10, "155": 10, "156": 10, "157": 16,
    "158": 8, "160": 32, "161": 32, "162": 32, "163": 32, "164": 27, "165": 36, "170": 40,
    "173": 30, "174": 26, "175": 18, "181": 37, "190": 35, "191": 35, "192": 34, "193": 34,
    "194": 23, "195": 21, "221": 27, "240": 50, "241": 54, "242": 50, "243": 54, "244": 54,
    "245": 95, "251": 12, "253": 14, "257": 19, "258": 19, "259": 36, "266": 13, "273": 27,
    "279": 7, "280": 27, "283": 39, "365": 24, "366": 21, "367": 24, "368": 21, "373": 40,
    "374": 45, "377": 28, "378": 22, "379": 15, "386": 10, "390": 26, "393": 26, "540": 52,
    "541": 55, "670": 50,
}  # fmt: skip
_TTL: dict[str, float] = {
    "00": 22, "01": 22, "02": 27, "03": 22, "04": 33, "05": 33, "08": 33, "10": 16.5, "14": 60,
    "20": 11, "30": 6, "32": 38, "42": 56, "74": 30, "86": 50, "90": 42, "93": 39, "121": 40,
    "123": 66, "150": 68, "151": 48, "153": 60, "154": 56, "157": 48, "161": 101, "163": 101,
    "164": 54, "173": 72, "174": 65, "175": 45, "181": 150, "192": 102, "193": 102,
}  # fmt: skip
_S: dict[str, float] = {
    "00": 36, "02": 45, "04": 54, "08": 57, "10": 27, "20": 18, "32": 68, "74": 50, "86": 75,
    "138": 74, "139": 90, "151": 70, "153": 70, "157": 78, "163": 127, "174": 144, "175": 96,
    "181": 220, "241": 180, "244": 180, "373": 190, "374": 160,
}  # fmt: skip
_ALS: dict[str, float] = {
    "00": 3, "02": 4, "04": 4.5, "08": 4, "10": 2.3, "32": 4.9, "74": 4, "138": 10, "161": 21,
    "163": 21, "244": 27, "245": 58, "273": 29, "373": 27, "374": 31,
}  # fmt: skip
_F: dict[str, float] = {
    "00": 10.2, "02": 13, "04": 15.3, "08": 12.9, "10": 7.7, "20": 5.1, "32": 15.5, "74": 16,
    "86": 28, "138": 20, "139": 20, "151": 21, "153": 20, "157": 23, "161": 65, "163": 65,
    "174": 45, "175": 34, "181": 65, "240": 75, "241": 90, "244": 90, "245": 120, "283": 55,
    "373": 55, "374": 86,
}  # fmt: skip
_AS: dict[str, float] = {"00": 17.4, "04": 26.3, "10": 13.1}

MILLIAMPERES: dict[str, dict[str, float]] = {
    "LS": _LS, "TTL": _TTL, "S": _S, "ALS": _ALS, "F": _F, "AS": _AS,
}  # fmt: skip
"""I_CC of the 74 series by family and number, for parts of which the book's value is remembered; of
two values (two makers, two issues of a book) the higher one. Compared with copies of data sheets:
74151, LS74, LS161, LS165, LS173, ALS245, F161 and F245."""


def supply_current(kind: PartType, family: Family) -> SupplyCurrent | None:
    """The guaranteed maximum of a part in a family; None where it is not known.

    A part file's own value goes first, then the part's in the book of its family, then what the
    standards allow every part of a CMOS family at rest.
    """
    own = kind.limits
    if own is not None and own.i_cc is not None:
        return SupplyCurrent(amperes=own.i_cc, source=own.source)
    if family.military:
        return None  # some of the 54 series take more, and the standards' values end at 85 degrees
    booked = MILLIAMPERES.get(family.name, {}).get(kind.number)
    if booked is not None:
        return SupplyCurrent(amperes=booked * MILLI, source=MEMORY)
    if kind.moments:
        return None  # a monostable takes more while it times than the standards say of logic
    rest = family.quiescent
    classes = [value for value in (rest.gates, rest.flip_flops, rest.larger) if value is not None]
    if not classes:
        return None
    return SupplyCurrent(amperes=max(classes), source=rest.source)
