"""The board as Amaranth source that stands alone: one file, or a package with a file a chip type.

``breadproof export --to amaranth``. Run as a program it writes the board as Verilog.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from breadproof.export.header import Proofs, header
from breadproof.export.lowering.board import Lowered, lower
from breadproof.export.lowering.layout import INDENT, LIMIT, docstring
from breadproof.export.lowering.merging import CHOOSE
from breadproof.export.lowering.names import CLOCK, module_name
from breadproof.specs.netlist.model import Netlist

_RESOLVER = '''\
class Resolver(wiring.Component):
    """Nets with several drivers, of which one at a time may drive each.

    Every driver has a word of `drives` and one of `levels`, a bit a net.
    """

    def __init__(self, drivers, width=1):
        super().__init__(
            {
                "drives": In(width).array(drivers),
                "levels": In(width).array(drivers),
                "driven": Out(width),
                "fights": Out(width),
                "level": Out(width),
            }
        )

    def elaborate(self, platform):
        m = Module()
        driven = fights = level = 0
        for drives, levels in zip(self.drives, self.levels):
            fights |= driven & drives
            level |= drives & levels
            driven |= drives
        m.d.comb += [
            self.driven.eq(driven),
            self.fights.eq(fights),
            self.level.eq(level),
        ]
        return m'''
_CHOOSE = '''\
def choose(test, then, other):
    """Bit by bit `then` where `test` holds, and `other` elsewhere."""
    return (test & then) | (~test & other)'''
_MAIN = '''\
def main():
    """Write the board as Verilog to standard output.

    The clock is `{clock}_clk` there, its reset `{clock}_rst`.
    """
    board = {top}()
    ports = {{
        "__".join(map(str, path)): (value, None)
        for path, _, value in board.signature.flatten(board)
    }}
    board = DomainRenamer("{clock}")(board)
    text = verilog.convert(
        board, name="{name}", ports=ports, emit_src=False
    )
    print(text)'''
_RUN = """\
if __name__ == "__main__":
    main()"""
_HDL = ("Cat", "Const", "DomainRenamer", "EnableInserter", "Module", "Mux", "Signal")
_OWN = ("Resolver", CHOOSE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Generated:
    """A board's Amaranth source with the map of where everything is in it."""

    source: str
    lowered: Lowered


def generate(netlist: Netlist, proofs: Proofs | None = None, clock: str = "") -> Generated:
    """The Amaranth source of a board; the same board gives the same text. ``clock``: see `lower`.

    Raises:
        BadInput: for an operator in a part file that is not exported, or tangled contacts.
        NotSynchronous: the board has no synchronous form with that clock.
    """
    lowered = lower(netlist, clock)
    chips = ["\n".join(kind.lines) for kind in lowered.classes]
    board = "\n".join(lowered.lines)
    main = _main(netlist, lowered)
    pieces = [*_shared(lowered, [*chips, board]), *chips, board, main, _RUN]
    source = _module(header(netlist, lowered, proofs), pieces)
    return Generated(source=source, lowered=lowered)


def package(netlist: Netlist, proofs: Proofs | None = None, clock: str = "") -> Mapping[str, str]:
    """The same as a Python package: the text of each file by its name. ``clock``: see `lower`.

    ``board.py`` has the board, ``chip_541.py`` and the like a chip type each, ``nets.py`` what
    resolves nets; ``python -m PACKAGE`` writes Verilog.

    Raises:
        BadInput: for an operator in a part file that is not exported, or tangled contacts.
        NotSynchronous: the board has no synchronous form with that clock.
    """
    lowered = lower(netlist, clock)
    board = "\n".join(lowered.lines)
    title = docstring(f"{netlist.title or netlist.board}.", 0)
    files: dict[str, str] = {}
    where: dict[str, str] = {}
    for kind in lowered.classes:
        name = f"chip_{kind.name.removeprefix('Chip').lower()}"
        where[kind.name] = name
        files[f"{name}.py"] = _module([f"The {kind.number} of the board."], ["\n".join(kind.lines)])
    shared = _shared(lowered, [board])
    if shared:
        files["nets.py"] = _module(["Nets with several drivers."], shared)
        where |= dict.fromkeys(_OWN, "nets")
    files["board.py"] = _module(header(netlist, lowered, proofs), [board], where)
    main = _main(netlist, lowered)
    where = {lowered.top: "board"}
    files["__main__.py"] = _module(["The board as Verilog."], [main, _RUN], where)
    rest = ["", f"from .board import {lowered.top}", "", f'__all__ = ["{lowered.top}"]', ""]
    files["__init__.py"] = "\n".join([*title, *rest])
    return dict(sorted(files.items()))


def _main(netlist: Netlist, lowered: Lowered) -> str:
    return _MAIN.format(top=lowered.top, name=module_name(netlist), clock=CLOCK)


def _shared(lowered: Lowered, users: Iterable[str]) -> list[str]:
    """What resolves and chooses, where anybody needs it."""
    chooses = any(f"{CHOOSE}(" in text for text in users)
    return [*([_RESOLVER] if lowered.resolvers else []), *([_CHOOSE] if chooses else [])]


def _module(about: list[str], pieces: list[str], where: Mapping[str, str] | None = None) -> str:
    """A file: its docstring, what it imports, its classes and functions.

    ``where``: classes of other files of the package, and in which they are.
    """
    top = about[0] if len(about) == 1 else "\n".join([*about, ""])
    first = "\n\n".join([f'"""{top}"""', *_imports("\n".join(pieces), where or {})])
    return "\n\n\n".join([first, *pieces]) + "\n"


def _imports(body: str, where: Mapping[str, str]) -> list[str]:
    """What a text uses, imported: from Amaranth, then from the package."""
    lines = []
    if "verilog.convert(" in body:
        lines.append("from amaranth.back import verilog")
    names = [name for name in _HDL if f"{name}(" in body]
    lines += _import("amaranth.hdl", names) if names else []
    if "(wiring.Component)" in body:
        lines.append("from amaranth.lib import wiring")
    if " Memory(" in body:
        lines.append("from amaranth.lib.memory import Memory")
    sides = [side for side in ("In", "Out") if f": {side}(" in body]
    lines += [f"from amaranth.lib.wiring import {', '.join(sides)}"] if sides else []
    own: dict[str, list[str]] = {}
    for name, file in where.items():
        if f"{name}(" in body:
            own.setdefault(file, []).append(name)
    rest = [
        line
        for file in sorted(own, key=_counted)
        for line in _import(f".{file}", sorted(own[file], key=lambda name: (name.islower(), name)))
    ]
    return ["\n".join(found) for found in (lines, rest) if found]


def _import(module: str, names: list[str]) -> list[str]:
    """A line, or where that is too long a line a name."""
    line = f"from {module} import {', '.join(names)}"
    if len(line) <= LIMIT:
        return [line]
    return [f"from {module} import (", *(f"{INDENT}{name}," for name in names), ")"]


def _counted(name: str) -> list[tuple[int, str]]:
    """Sorts ``chip_14`` before ``chip_139``."""
    return [
        (int(piece), "") if piece.isdigit() else (0, piece) for piece in re.split(r"(\d+)", name)
    ]
