"""Cells of the ECP5 as plain gates, as the maker's library says what they are.

(Lattice, FPGA Libraries Reference Guide, and ECP5 Memory Usage Guide for the blocks; both from
memory. The tests hold the gates and registers against yosys's own models; of blocks it has none.)
"""

from __future__ import annotations

from typing import Any

from breadproof.verify.equal.plain import Cell, Plain, number
from breadproof.verify.equal.readback import Bit, Unreadable

_PADS = {"IB": ("INPUT", "I"), "OB": ("OUTPUT", "O"), "OBZ": ("OUTPUT", "O"), "BB": ("BIDIR", "B")}
"""Pads before synthesis: the direction they get, and which pin leads outside."""

_LOW = {1: 0, 2: 1, 4: 2, 9: 3, 18: 4}
"""The address bits that a port of a block does not look at, by the width of its words."""


def plain_cell(plain: Plain, name: str, cell: Cell) -> bool:
    """Make a cell plain, if it is one of the ECP5's.

    Raises:
        Unreadable: it does something that is not known here.
    """
    kind = cell["type"]
    if kind == "LUT4":
        inputs = [_pin(cell, pin) for pin in "ABCD"]
        plain.drive(_pin(cell, "Z", ""), plain.table(_table(cell, "INIT"), inputs))
    elif kind == "PFUMX":
        level = plain.mux(_pin(cell, "C0"), _pin(cell, "ALUT"), _pin(cell, "BLUT"))
        plain.drive(_pin(cell, "Z", ""), level)
    elif kind == "L6MUX21":
        level = plain.mux(_pin(cell, "SD"), _pin(cell, "D1"), _pin(cell, "D0"))
        plain.drive(_pin(cell, "Z", ""), level)
    elif kind == "CCU2C":
        _carry(plain, cell)
    elif kind == "TRELLIS_FF":
        _register(plain, name, cell)
    elif kind == "DP16KD":
        _block(plain, name, cell)
    elif kind == "TRELLIS_IO":
        plain.pad(name, kind, cell, "B", ("O",), {})
    elif kind in _PADS:
        direction, outside = _PADS[kind]
        at = {("B" if pin == outside else pin): bits for pin, bits in cell["connections"].items()}
        pad = {"parameters": {"DIR": direction}, "connections": at}
        plain.pad(name, "TRELLIS_IO", pad, "B", ("O",), {})
    else:
        return False
    return True


def _pin(cell: Cell, pin: str, otherwise: str = "0") -> Bit:
    """The bit at a pin; ``otherwise`` if it is left open."""
    bits: list[Bit] = cell["connections"].get(pin, [otherwise])
    return bits[0] if bits else otherwise


def _table(cell: Cell, name: str) -> int:
    table = number(cell["parameters"].get(name, "0"))
    if not isinstance(table, int):
        raise Unreadable("a cell has no whole table")
    return table


def _carry(plain: Plain, cell: Cell) -> None:
    """Two tables with the carry between them; where ``INJECT1`` is not NO, none is let in."""
    carry = _pin(cell, "CIN")
    for half in "01":
        inputs = [_pin(cell, f"{pin}{half}") for pin in "ABCD"]
        table, inject = (
            _table(cell, f"INIT{half}"),
            cell["parameters"].get(f"INJECT1_{half}", "YES"),
        )
        if inject not in ("YES", "NO"):
            raise Unreadable(f"INJECT1_{half} is {inject}")
        whole = plain.table(table, inputs)
        lower = "0" if inject == "YES" else plain.table(table & 15, inputs[:2])
        other = "0" if inject == "YES" else carry
        out = _pin(cell, f"S{half}", "")
        if out:
            plain.drive(out, plain.mux(whole, plain.not_(other), other))
        carry = plain.mux(whole, carry, lower)
    out = _pin(cell, "COUT", "")
    if out:
        plain.drive(out, carry)


def _register(plain: Plain, name: str, cell: Cell) -> None:
    """It comes up as ``REGSET`` says; its reset waits for the clock, but not for the enable."""
    given: dict[str, Any] = {key: number(value) for key, value in cell["parameters"].items()}
    usual = {"CLKMUX": "CLK", "SRMODE": "LSR_OVER_CE", "LSRMODE": "LSR"}
    lsr = _pin(cell, "LSR")
    for key, value in usual.items():
        if given.get(key, value) != value and (key == "CLKMUX" or lsr != "0"):
            raise Unreadable(f"{name} has {key} {given[key]}")
    enable: Bit
    match given.get("CEMUX", "1"):
        case "CE":
            enable = _pin(cell, "CE")
        case "INV":
            enable = plain.not_(_pin(cell, "CE"))
        case "1" | 1:
            enable = "1"
        case other:
            raise Unreadable(f"{name} has CEMUX {other}")
    if given.get("LSRMUX", "LSR") == "INV":
        lsr = plain.not_(lsr)
    start = int(given.get("REGSET", "RESET") == "SET")
    q = _pin(cell, "Q", "")
    after = plain.mux(enable, _pin(cell, "DI"), q)
    plain.register(q, plain.mux(lsr, str(start), after), _pin(cell, "CLK"), start)


def _block(plain: Plain, name: str, cell: Cell) -> None:
    """A block of 1,024 words of 18 bits, or 2,048 of 9, 4,096 of 4, 8,192 of 2, 16,384 of 1; one
    port writes, one reads, or one does both."""
    given: dict[str, Any] = {key: number(value) for key, value in cell["parameters"].items()}
    used = [port for port in "AB" if _pin(cell, f"CE{port}") != "0"]
    writers = [port for port in used if _pin(cell, f"WE{port}") != "0"]
    readers = [port for port in used if port not in writers] or writers
    if len(writers) > 1 or len(readers) != 1:
        raise Unreadable(f"{name} is read or written in two ways")
    (reader,) = readers
    width = given.get(f"DATA_WIDTH_{reader}", 18)
    for port in used:
        wrong = _unknown(cell, given, port, width, _pin(cell, f"CLK{reader}"))
        if wrong:
            raise Unreadable(f"{name} {wrong}")
    lanes, low = range(width), _LOW[width]
    address = {port: [_pin(cell, f"AD{port}{k}") for k in range(low, 14)] for port in used}
    write = None
    for port in writers:
        enable = plain.and_(_pin(cell, f"WE{port}"), _pin(cell, f"CE{port}"))
        # Of words of 18 bits the two lowest address pins enable the halves.
        halves = [_pin(cell, f"AD{port}{k}") if width == 18 else "1" for k in (0, 1)]
        enables = [plain.and_(enable, halves[lane // 9]) for lane in lanes]
        write = (enables, address[port], [_pin(cell, f"DI{port}{lane}") for lane in lanes])
    clock = _pin(cell, f"CLK{reader}")
    data = plain.memory(
        name,
        _words(cell, width, low),
        width,
        clock=clock,
        address=address[reader],
        order=range(14 - low),
        write=write,
    )
    reads, shown = _pin(cell, f"CE{reader}"), list[Bit](data)
    if write is not None and reader in writers:
        plain.certain.add(name)
        match given.get(f"WRITEMODE_{reader}", "NORMAL"):
            case "NORMAL":
                reads = plain.and_(reads, plain.not_(_pin(cell, f"WE{reader}")))
            case "WRITETHROUGH":
                pairs = zip(write[0], write[2], data, strict=True)
                shown = [plain.mux(when, new, old) for when, new, old in pairs]
            case "READBEFOREWRITE":
                pass
            case other:
                raise Unreadable(f"{name} has WRITEMODE {other}")
    for lane, level in enumerate(shown):
        out = _pin(cell, f"DO{reader}{lane}", "")
        if out:
            plain.register(out, plain.mux(reads, level, out), clock, None)


def _unknown(cell: Cell, given: dict[str, Any], port: str, width: object, clock: Bit) -> str:
    """What a port of a block does that is not known here, in words."""
    if given.get(f"DATA_WIDTH_{port}", 18) != width or width not in _LOW:
        return "is read and written in words of different widths"
    if _pin(cell, f"CLK{port}") != clock:
        return "is read and written by two clocks"
    usual = {"REGMODE_": "NOREG", "CSDECODE_": "0b000"}
    same = all(given.get(f"{key}{port}", value) == value for key, value in usual.items())
    low = all(_pin(cell, pin) == "0" for pin in (f"RST{port}", *(f"CS{port}{k}" for k in range(3))))
    if same and low and given.get(f"CLK{port}MUX", f"CLK{port}") == f"CLK{port}":
        return ""
    return "is used in a way that is not known here"


def _words(cell: Cell, width: int, low: int) -> list[int]:
    """What a block holds at power-up: 18 bits in each 20 of INITVAL, in bytes of 9 bits."""
    halves: list[int] = []
    for row in range(64):
        digits = cell["parameters"].get(f"INITVAL_{row:02X}", "0").replace("x", "0")
        value = int(digits, 2)
        for place in range(16):
            word = value >> (20 * place) & 0x3FFFF
            halves += [word & 511, word >> 9]
    if width == 18:
        return [halves[k] | halves[k + 1] << 9 for k in range(0, len(halves), 2)]
    if width == 9:
        return halves
    parts = 1 << (3 - low)
    return [half >> (width * k) & ((1 << width) - 1) for half in halves for k in range(parts)]
