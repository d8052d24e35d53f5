"""The beginning of a part file: blanks to be filled in, and comments that teach the format."""

from __future__ import annotations

import re

from breadproof.specs.catalogue.blanks import BLANK
from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.families import FAMILIES
from breadproof.specs.catalogue.names import UnknownPart, full_name
from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.catalogue.partpins import FLAGS, KINDS, ROLES

PACKAGE = "DIP-14"
LARGEST = 64
"""Pins of the largest package that stands across a breadboard's trench (common practice)."""

_PACKAGE = re.compile(r"DIP-([1-9][0-9]?)")
_NUMBER = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,30}")

_HEAD = """\
# A part file of your own. Fill in every {blank}, then run
#   breadproof parts --check {number}.yaml
# and use it on a board with --parts FOLDER, or with 'catalogue: FOLDER' in the board file.
# One file a function, shared by all families. A value with : # [ ] {{ }} ! & | in it goes in
# quotes. 'breadproof parts --start 157' shows a file that is filled in.
"""
_COPY = """\
# A copy of the part {number}, to be changed. In a folder of your own it is taken in place of that
# which ships: breadproof verify BOARD --parts FOLDER, or 'catalogue: FOLDER' in the board file.
#   breadproof parts --check {number}.yaml
# runs its rows. For another chip, write another number here and name the file after it.
"""
_BODY = """\
part: "{number}"                  # as board files name it; the file is {number}.yaml
title: {blank}                    # such as: Quad 2-line to 1-line data selector
does: {blank}                     # such as: data selector; 'breadproof parts' lists by it
package: {package}
# Families it exists in: {families}.
# MOS stands alone, for memories and other chips with TTL levels that are in no logic family.
families: [{blank}]
# Which data sheet, and whether you had it before you: "data sheet of the maker, at hand".
source: {blank}

# One line a pin: NAME kind [role] [flags], from the data sheet's pin-out.
#   kinds  {kinds}
#   roles  of inputs: {roles}
#          (data if left out)
#   flags  {flags}
# Names as in the data sheet; what is active low ends in _n. D7 to D0 are also D[7:0] in formulas.
#   1: S in select        3: Y1 out        5: Q7 three-state        6: NC nc
pins:
{pins}

# The level of every output, drawn as the logic diagram in the data sheet: glitches depend on it.
# Operators are those of IEEE 1364: ! ~ & | ^ == ? : and so on.
#   Y1: "!G_n & A1"                              an output
#   Y2: {{level: "A2", when: "!G_n"}}              three-state, both ways: while it drives
#   Z1: "!(A1 & B1)"                             an open collector: 0 pulls low, 1 lets go
logic:
  {blank}: {blank}

# What several outputs share can have a name (leave it out if nothing is shared):
# inner:
#   count: "ENP & ENT"

# What it holds, under names that are no pins (leave it out if it holds nothing):
# storage:
#   R[3:0]:                                      a register: four flip-flops with one clock
#     clock: rose(CLK)                           or fell(CLK)
#     next: "LD_n ? R + 4'd1 : D[3:0]"           what it takes at the edge
#     clear: "!CLR_n"                            while this holds, and without a clock; preset too
#   L[7:0]: {{open: LE, from: "D[7:0]"}}           a latch: follows while it is open
# memory:
#   M: {{words: 2048, bits: 8, address: "A[10:0]", write: "!CS_n & !WE_n", from: "IO[7:0]"}}
#                                                read in logic as M[A[10:0]]

# The data sheet's tables, copied from it and never worked out from the formulas above: they are
# what the formulas are checked against. Inputs, then |, then outputs or storage.
#   inputs   H L, X any, ^ rising and v falling edge, h3F and d9 numbers, a b c any value
#   outputs  H L, Z off, = as before, ! the other level, numbers, a and ~a, X not looked at
#   columns: G_n A# B# | Y#     with     for: 1 2 3 4     is a table for each of four gates
rows:
  - from: {blank}
    columns: {blank}
    table:
      - {blank}

# Delays and limits can follow; specs/parts/README.md in the source tells how.
"""
_FLAGS = {
    "pulled-up": "a resistor inside holds it high",
    "schmitt": "has hysteresis",
}


class BadStart(ValueError):
    """What no part file can be begun with; ``where`` is the option or argument."""

    def __init__(self, message: str, where: str) -> None:
        super().__init__(message)
        self.where = where


def started(catalogue: Catalogue, printed: str, package: str | None) -> tuple[str, str]:
    """The text of a part file to begin with, and the part's number.

    A number that is known gives a copy of its file; any other, blanks for a ``package``.

    Raises:
        BadStart: the number can name no file, the package does not exist, or a package was given
            for a number that is known.
    """
    try:
        number = catalogue.find(printed, "LS").type.number
    except UnknownPart:
        return _blank(printed.strip(), package or PACKAGE)
    if package is not None:
        raise BadStart(f"the {number} is known, and its package with it", "--package")
    return _copy(catalogue, number), number


def _copy(catalogue: Catalogue, number: str) -> str:
    return _COPY.format(number=number) + "\n" + catalogue.text(number)


def _blank(printed: str, package: str) -> tuple[str, str]:
    number = _own_number(printed)
    size = _PACKAGE.fullmatch(package.upper())
    if size is None or int(size[1]) % 2 or int(size[1]) > LARGEST:
        raise BadStart(
            f"'{package}' is no package; write DIP-16, with 2 to {LARGEST} pins", "--package"
        )
    last = int(size[1])
    # Where most chips of the 74 series have them (common practice); the comment says to look.
    corners = {last // 2: "GND ground", last: "VCC supply"}
    pins = [
        f"  {pin}: {corners[pin]}{' ' * 8}# here on most chips: check it"
        if pin in corners
        else f"  {pin}: {BLANK}"
        for pin in range(1, last + 1)
    ]
    kinds = ", ".join(kind for kind in KINDS if kind != PinKind.NOT_CONNECTED.value)
    body = _BODY.format(
        blank=BLANK,
        number=number,
        package=f"DIP-{last}",
        families=", ".join(FAMILIES),
        kinds=f"{kinds}, {PinKind.NOT_CONNECTED.value} (not connected)",
        roles=", ".join(ROLES),
        flags=", ".join(f"{flag} ({_FLAGS[flag]})" for flag in FLAGS),
        pins="\n".join(pins),
    )
    return _HEAD.format(blank=BLANK, number=number) + "\n" + body, number


def _own_number(printed: str) -> str:
    """``999`` of 74LS999; a name in no series as it is.

    Raises:
        BadStart: it cannot be the name of a file.
    """
    if _NUMBER.fullmatch(printed) is None:
        raise BadStart(
            f"'{printed}' can name no part: letters, digits, - and _ can stand in a number",
            "NUMBER",
        )
    for family in FAMILIES:
        for digits in re.findall(r"[0-9]{2,5}", printed):
            if printed.upper() == full_name(digits, family):
                return str(digits)
    return printed
