"""Boolector's model checker on BTOR2 that btor2tools' own parser has read (PyPI: pyboolector).

The package ships both in one library, behind C functions; nothing of them is ours. Only the kinds
of lines that bit-level circuits with arrays have are handed on.
"""

from __future__ import annotations

import ctypes
import functools
import importlib.metadata
import tempfile
from collections.abc import Sequence

POINTER = ctypes.c_void_p
STOP_FIRST, TRACE_GEN = 3, 4
"""Options of `boolector_mc_set_opt`."""


class _Array(ctypes.Structure):
    _fields_ = (("index", ctypes.c_int64), ("element", ctypes.c_int64))


class _Kind(ctypes.Union):
    _fields_ = (("array", _Array), ("width", ctypes.c_uint32))


class _Sort(ctypes.Structure):
    _fields_ = (
        ("id", ctypes.c_int64),
        ("tag", ctypes.c_int),
        ("name", ctypes.c_char_p),
        ("kind", _Kind),
    )


class _Line(ctypes.Structure):
    _fields_ = (
        ("id", ctypes.c_int64),
        ("lineno", ctypes.c_int64),
        ("name", ctypes.c_char_p),
        ("tag", ctypes.c_int),
        ("sort", _Sort),
        ("init", ctypes.c_int64),
        ("next", ctypes.c_int64),
        ("constant", ctypes.c_char_p),
        ("symbol", ctypes.c_char_p),
        ("nargs", ctypes.c_uint32),
        ("args", ctypes.POINTER(ctypes.c_int64)),
    )


@functools.cache
def _library() -> ctypes.CDLL:
    files = importlib.metadata.files("pyboolector") or ()
    (found,) = [file for file in files if file.name.startswith("libboolector")]
    return ctypes.CDLL(str(found.locate()))


def _call(name: str, *args: object, result: object = POINTER) -> int:
    """A C function; whole numbers are 32 bit, pointers come as `ctypes.c_void_p`."""
    function = getattr(_library(), name)
    function.restype = result
    found = function(*args)
    return 0 if found is None else int(found)


class BtorChecker:
    """The circuit of one BTOR2 text; ``bad`` and ``justice`` by name."""

    def __init__(self, text: str) -> None:
        self.mc = POINTER(_call("boolector_mc_new"))
        for option in (STOP_FIRST, TRACE_GEN):
            values = (ctypes.c_int(option), ctypes.c_uint32(0))
            _call("boolector_mc_set_opt", self.mc, *values, result=None)
        self.btor = POINTER(_call("boolector_mc_get_btor", self.mc))
        self.nodes: dict[int, ctypes.c_void_p] = {}
        self.sorts: dict[int, ctypes.c_void_p] = {}
        self.bad: dict[str, int] = {}
        self.justice: dict[str, list[int]] = {}
        self.fair: list[int] = []
        for line in _read(text):
            self.add(line)

    def add(self, line: _Line) -> None:
        args = [line.args[k] for k in range(line.nargs)]
        symbol = line.symbol
        match line.name.decode():
            case "sort":
                self.sorts[line.id] = self.sort(line.sort)
            case "input" | "state" as kind:
                sort = self.sorts[line.sort.id]
                self.keep(line, _call(f"boolector_mc_{kind}", self.mc, sort, symbol))
            case "zero" | "one" as constant:
                sort = self.sorts[line.sort.id]
                self.keep(line, _call(f"boolector_{constant}", self.btor, sort))
            case "and" | "not" | "concat" | "read" | "write" as kind:
                self.keep(line, _call(f"boolector_{kind}", self.btor, *self.of(args)))
            case "ite":
                self.keep(line, _call("boolector_cond", self.btor, *self.of(args)))
            case "slice":
                bits = (ctypes.c_uint32(line.args[1]), ctypes.c_uint32(line.args[2]))
                self.keep(line, _call("boolector_slice", self.btor, *self.of(args[:1]), *bits))
            case "init" | "next" as kind:
                _call(f"boolector_mc_{kind}", self.mc, *self.of(args), result=None)
            case "constraint":
                _call("boolector_mc_constraint", self.mc, *self.of(args))
            case "bad":
                number = _call("boolector_mc_bad", self.mc, *self.of(args), result=ctypes.c_uint32)
                self.bad[(symbol or b"").decode()] = number
            case "justice":
                self.justice[(symbol or b"").decode()] = args
            case "fair":
                self.fair += args
            case name:
                raise AssertionError(f"no such line is written: {name}")

    def keep(self, line: _Line, node: int) -> None:
        self.nodes[line.id] = POINTER(node)

    def of(self, args: Sequence[int]) -> list[ctypes.c_void_p]:
        return [self.nodes[arg] for arg in args]

    def sort(self, sort: _Sort) -> ctypes.c_void_p:
        if sort.name == b"bitvec":
            width = ctypes.c_uint32(sort.kind.width)
            return POINTER(_call("boolector_bitvec_sort", self.btor, width))
        index, element = self.sorts[sort.kind.array.index], self.sorts[sort.kind.array.element]
        return POINTER(_call("boolector_array_sort", self.btor, index, element))

    def reached(self, frames: int) -> dict[str, int | None]:
        """The first frame, of frame 0 to ``frames``, in which each property is reached."""
        bounds = (ctypes.c_int(0), ctypes.c_int(frames))
        _call("boolector_mc_bmc", self.mc, *bounds, result=ctypes.c_int)
        found: dict[str, int | None] = {}
        for name, number in self.bad.items():
            at = _call(
                "boolector_mc_reached_bad_at_bound",
                self.mc,
                ctypes.c_uint32(number),
                result=ctypes.c_int,
            )
            found[name] = at if at >= 0 else None
        return found


def _read(text: str) -> list[_Line]:
    """The lines as btor2tools' parser has them."""
    libc = ctypes.CDLL(None)
    libc.fopen.restype = POINTER
    parser = POINTER(_call("btor2parser_new"))
    with tempfile.NamedTemporaryFile("w", suffix=".btor2") as file:
        file.write(text)
        file.flush()
        stream = POINTER(libc.fopen(file.name.encode(), b"r"))
        good = _call("btor2parser_read_lines", parser, stream, result=ctypes.c_int)
        libc.fclose(stream)
    if not good:
        function = _library().btor2parser_error
        function.restype = ctypes.c_char_p
        raise ValueError((function(parser) or b"").decode())
    last = _call("btor2parser_max_id", parser, result=ctypes.c_int64)
    lines = []
    for number in range(1, last + 1):
        at = _call("btor2parser_get_line_by_id", parser, ctypes.c_int64(number))
        if at:
            lines.append(ctypes.cast(at, ctypes.POINTER(_Line)).contents)
    return lines
