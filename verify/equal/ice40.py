"""Cells of the iCE40 as plain gates, as the maker's cell library says what they are.

(Lattice, iCE40 Technology Library; the tests hold this page against yosys's own models.)
"""

from __future__ import annotations

import re

from breadproof.verify.equal.plain import Cell, Plain, number
from breadproof.verify.equal.readback import Bit, Unreadable

_REGISTER = re.compile(r"SB_DFF(?P<enable>E)?(?P<reset>SR|SS)?")
_RAM_MODES = 4


def plain_cell(plain: Plain, name: str, cell: Cell) -> bool:
    """Make a cell plain, if it is one of the iCE40's.

    Raises:
        Unreadable: it does something that is not known here.
    """
    kind = cell["type"]
    if kind == "SB_LUT4":
        inputs = [_pin(cell, f"I{place}") for place in range(4)]
        table = number(cell["parameters"].get("LUT_INIT", "0"))
        if not isinstance(table, int):
            raise Unreadable(f"{name} has no whole table")
        plain.drive(_pin(cell, "O", ""), plain.table(table, inputs))
    elif kind == "SB_CARRY":
        a, b, c = (_pin(cell, pin) for pin in ("I0", "I1", "CI"))
        plain.drive(_pin(cell, "CO", ""), plain.table(0b11101000, (a, b, c)))
    elif kind == "SB_RAM40_4K":
        _ram(plain, name, cell)
    elif kind == "SB_IO":
        brings = ("D_IN_0", "D_IN_1")
        plain.pad(name, kind, cell, "PACKAGE_PIN", brings, {"CLOCK_ENABLE": "1"})
    elif found := _REGISTER.fullmatch(kind):
        _register(plain, cell, found)
    else:
        return False
    return True


def _pin(cell: Cell, pin: str, otherwise: str = "0") -> Bit:
    """The bit at a pin of one bit; ``otherwise`` if it is left open, in the library's words."""
    bits: list[Bit] = cell["connections"].get(pin, [otherwise])
    return bits[0] if bits else otherwise


def _register(plain: Plain, cell: Cell, kind: re.Match[str]) -> None:
    """It comes up low. Set and reset wait for the clock, and for the enable if there is one."""
    q = _pin(cell, "Q", "")
    after = _pin(cell, "D")
    if kind["reset"]:
        level = "0" if kind["reset"] == "SR" else "1"
        after = plain.mux(_pin(cell, kind["reset"][-1]), level, after)
    if kind["enable"]:
        after = plain.mux(_pin(cell, "E", "1"), after, q)
    plain.register(q, after, _pin(cell, "C"), 0)


def _ram(plain: Plain, name: str, cell: Cell) -> None:
    """A block of 256 words of 16 bits, or 512 of 8, 1024 of 4, 2048 of 2 (modes 0 to 3).

    In mode m the upper m address bits choose one of 2**m bits of each of the ``16 >> m`` lanes,
    and lane k is read and written at bit ``k << m``, plus 1 in mode 2 and 3 in mode 3.
    """
    at, parameters = cell["connections"], cell["parameters"]
    mode, write_mode = (number(parameters.get(f"{way}_MODE", 0)) for way in ("READ", "WRITE"))
    clock = _pin(cell, "RCLK")
    enable = plain.and_(_pin(cell, "WE"), _pin(cell, "WCLKE", "1"))
    writes = enable != "0"
    if mode not in range(_RAM_MODES) or (writes and (mode != write_mode)):
        raise Unreadable(f"{name} is read and written in words of different widths")
    if writes and _pin(cell, "WCLK") != clock:
        raise Unreadable(f"{name} is read and written by two clocks")
    lanes, lines = 16 >> mode, 8 + mode
    places = [(lane << mode) + (0, 0, 1, 3)[mode] for lane in range(lanes)]
    words = [
        sum(_bit(parameters, word & 255, (k << mode) + (word >> 8)) << k for k in range(lanes))
        for word in range(1 << lines)
    ]
    write = None
    if writes:
        mask = [plain.not_(bit) for bit in at.get("MASK", ["0"] * 16)] if mode == 0 else ["1"] * 16
        enables = [plain.and_(enable, mask[place]) for place in places]
        write = (enables, at["WADDR"][:lines], [at["WDATA"][place] for place in places])
    # Bits 8 and up of the address are the lower ones of a word's number, in reverse.
    order = [*range(mode, lines), *reversed(range(mode))]
    data = plain.memory(
        name, words, lanes, clock=clock, address=at["RADDR"][:lines], order=order, write=write
    )
    reads = plain.and_(_pin(cell, "RE"), _pin(cell, "RCLKE", "1"))
    shown = at.get("RDATA", [])
    for place, bit in zip(places, data, strict=True):
        if place < len(shown):
            plain.register(shown[place], plain.mux(reads, bit, shown[place]), clock, None)
    for place, bit in enumerate(shown):
        if place not in places:
            plain.drive(bit, "0")


def _bit(parameters: dict[str, str], word: int, place: int) -> int:
    digits = parameters.get(f"INIT_{word >> 4:X}", "0")
    place += (word & 15) << 4
    digit = digits[-1 - place] if place < len(digits) else "0"
    return int(digit == "1")
