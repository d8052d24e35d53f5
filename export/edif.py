"""A board as an EDIF 2 0 0 netlist (ANSI/EIA-548, IEC 61690-1).

One library has the parts, a cell for each kind, its ports with pin numbers as designators; another
has the board. What EDIF has no word for (supply voltage, vectors, formulas and so on) are
properties of the design, so that nothing is lost on the way back.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.level import is_moment, words_of
from breadproof.specs.netlist.model import Net, Netlist, Part, Port
from breadproof.specs.reading.board import Board, PartEntry
from breadproof.specs.reading.yamltree import Rows, Text

_DIRECTION = {
    PinKind.IN: "INPUT",
    PinKind.OUT: "OUTPUT",
    PinKind.THREE_STATE: "OUTPUT",
    PinKind.OPEN_COLLECTOR: "OUTPUT",
    PinKind.SUPPLY: "INPUT",
    PinKind.GROUND: "INPUT",
}
"""EDIF knows INPUT, OUTPUT and INOUT; every other pin is INOUT."""
_PORT = {"in": "INPUT", "out": "OUTPUT", "both": "INOUT"}


def edif(board: Board, netlist: Netlist) -> str:
    """The text of an EDIF file; the same board gives the same text.

    ``board`` is what the netlist was read from: its parts' options and formulas are kept as they
    are written there. The time in the file is always the same, and means nothing.
    """
    return _Writer(board, netlist).text()


def string(text: str) -> str:
    """A string of EDIF: what is not printable ASCII, quotes and percent signs by their numbers."""
    inner = re.sub(r"[^ !#$&-~]", lambda found: f"%{ord(found[0])}%", text)
    return f'"{inner}"'


@dataclass(slots=True)
class _Identifiers:
    """Identifiers of one kind of thing: letters, digits and _, and capitals do not matter."""

    of: dict[str, str] = field(default_factory=dict)
    taken: set[str] = field(default_factory=set)

    def __call__(self, name: str) -> str:
        if name not in self.of:
            plain = re.sub(r"[^A-Za-z0-9_]+", "_", name)[:200] or "_"
            plain = plain if plain[0].isalpha() else f"&{plain}"
            found, number = plain, 1
            while found.lower() in self.taken:
                number += 1
                found = f"{plain}_{number}"
            self.taken.add(found.lower())
            self.of[name] = found
        return self.of[name]

    def defined(self, name: str) -> str:
        """The name where it is defined: with a rename, if the identifier is not all of it."""
        found = self(name)
        return found if found.removeprefix("&") == name else f"(rename {found} {string(name)})"


@dataclass(slots=True)
class _Writer:
    board: Board
    netlist: Netlist
    parts: _Identifiers = field(default_factory=_Identifiers)
    nets: _Identifiers = field(default_factory=_Identifiers)
    ports: _Identifiers = field(default_factory=_Identifiers)
    pins: dict[str, _Identifiers] = field(default_factory=dict)
    cells: dict[tuple[str, ...], str] = field(default_factory=dict)
    cell_names: _Identifiers = field(default_factory=_Identifiers)
    joined: dict[int, list[str]] = field(default_factory=dict)

    def text(self) -> str:
        from breadproof import __version__

        entries = {entry.name.value: entry for entry in self.board.parts}
        cells = [line for part in self.netlist.parts for line in self.cell(part)]
        instances = [
            line for p in self.netlist.parts for line in self.instance(p, entries.get(p.name))
        ]
        ports = [line for port in self.netlist.ports if not port.moment for line in self.port(port)]
        nets = [line for n in self.netlist.nets if not is_moment(n) for line in self.net(n)]
        name = _Identifiers().defined(self.netlist.board)
        bare = _Identifiers()(self.netlist.board)
        lines = [
            f"(edif {name}",
            "  (edifVersion 2 0 0)",
            "  (edifLevel 0)",
            "  (keywordMap (keywordLevel 0))",
            "  (status (written (timeStamp 1970 1 1 0 0 0)",
            f'    (program "breadproof" (version "{__version__}"))))',
            "  (library parts (edifLevel 0) (technology (numberDefinition))",
            *cells,
            "  )",
            "  (library boards (edifLevel 0) (technology (numberDefinition))",
            f"    (cell {name} (cellType GENERIC)",
            "      (view netlist (viewType NETLIST)",
            "        (interface",
            *ports,
            "        )",
            "        (contents",
            *instances,
            *nets,
            "        )))",
            "  )",
            f"  (design {name} (cellRef {bare} (libraryRef boards))",
            *(f"    {line}" for line in self.told()),
            "  ))",
            "",
        ]
        return "\n".join(lines)

    # parts ------------------------------------------------------------------------------------

    def cell(self, part: Part) -> Iterator[str]:
        """The cell of a part, the first time that one of its kind is met."""
        pins = [pin for pin in part.pins if pin.kind is not PinKind.MOMENT]
        key = (part.printed, *(f"{pin.number} {pin.name} {pin.kind.value}" for pin in pins))
        if key in self.cells:
            return
        before = sum(one[0] == part.printed for one in self.cells)
        identifier = self.cell_names(f"{part.printed}#{before}" if before else part.printed)
        self.cells[key] = identifier
        names = self.pins[identifier] = _Identifiers()
        shown = part.printed
        yield f"    (cell (rename {identifier} {string(shown)}) (cellType GENERIC)"
        yield "      (view netlist (viewType NETLIST) (interface"
        for pin in pins:
            direction = _DIRECTION.get(pin.kind, "INOUT")
            designator = string(pin.number)
            yield (
                f"        (port {names.defined(_pin_name(part, pin.number))} "
                f"(direction {direction}) (designator {designator}))"
            )
        yield f"      ))\n      (property part (string {string(shown)})))"

    def cell_of(self, part: Part) -> str:
        pins = [pin for pin in part.pins if pin.kind is not PinKind.MOMENT]
        return self.cells[
            (part.printed, *(f"{pin.number} {pin.name} {pin.kind.value}" for pin in pins))
        ]

    def instance(self, part: Part, entry: PartEntry | None) -> Iterator[str]:
        cell = self.cell_of(part)
        identifier = self.parts(part.name)
        yield (
            f"          (instance {self.parts.defined(part.name)} "
            f"(viewRef netlist (cellRef {cell} (libraryRef parts)))"
        )
        yield f"            (designator {string(part.name)})"
        for key, value in _options(part, entry):
            yield f"            {_property(key, value)}"
        yield "          )"
        for pin in part.pins:
            if pin.net is not None and pin.kind is not PinKind.MOMENT:
                port = self.pins[cell](_pin_name(part, pin.number))
                ref = f"(portRef {port} (instanceRef {identifier}))"
                self.joined.setdefault(pin.net, []).append(ref)

    # nets -------------------------------------------------------------------------------------

    def port(self, port: Port) -> Iterator[str]:
        direction = _PORT[port.direction]
        vector = next((v for v in self.netlist.vectors if v.name == port.name), None)
        if vector is None:
            name = self.ports.defined(port.name)
            yield f"          (port {name} (direction {direction}))"
            refs = [f"(portRef {self.ports(port.name)})"]
        else:
            shown = f"{vector.name}[{vector.left}:{vector.right}]"
            identifier = self.ports(shown)
            yield (
                f"          (port (array (rename {identifier} {string(shown)}) "
                f"{len(vector.nets)}) (direction {direction}))"
            )
            refs = [f"(portRef (member {identifier} {k}))" for k in range(len(vector.nets))]
        for net, ref in zip(port.nets, refs, strict=True):
            self.joined.setdefault(net, []).insert(0, ref)

    def net(self, net: Net) -> Iterator[str]:
        refs = self.joined.get(net.index, [])
        yield f"          (net {self.nets.defined(net.name)} (joined"
        yield from (f"            {ref}" for ref in refs)
        aliases = [name for name, index in self.netlist.aliases if index == net.index]
        more = "".join(f" (net {self.nets.defined(name)} (joined))" for name in aliases)
        yield f"          ){more})"

    # what EDIF has no word for ----------------------------------------------------------------

    def told(self) -> Iterator[str]:
        """Properties of the design."""
        board, netlist = self.board, self.netlist
        yield _property("board", board.name)
        yield from (_property("title", board.title) for _ in range(bool(board.title)))
        for key, value in (
            ("family", board.family), ("supply", board.supply), ("current", board.current)
        ):  # fmt: skip
            if value is not None:
                yield _property(key, value.value)
        groups: list[tuple[str, str]] = [
            ("rail", f"{name.value} {value.value}") for name, value in board.rails
        ]
        vectors = [f"{v.name}[{v.left}:{v.right}]" for v in netlist.vectors]
        groups += [("vectors", " ".join(vectors))] if vectors else []
        if board.together == "all":
            groups.append(("together", "all"))
        else:
            groups += [("together", " ".join(n.value for n in g)) for g in board.together]
        groups += [("reset", f"{key.value} {value.value}") for key, value in board.reset]
        groups += [("bounces", name.value) for name in board.bounces]
        yield from _numbered((name, value, ()) for name, value in groups)
        yield from _numbered(
            ("accept", one.because, (("code", one.code), ("pin", one.pin), ("net", one.net)))
            for one in board.accepts
        )
        yield from _numbered(
            (entry.kind, entry.text.value, (("name", entry.name.value), ("says", entry.says)))
            for entry in board.formulas
        )


def _pin_name(part: Part, number: str) -> str:
    """The pin's name, with its number where two pins of the part have one name."""
    name = next(pin.name for pin in part.pins if pin.number == number)
    same = [pin for pin in part.pins if pin.name.lower() == name.lower()]
    return name if len(same) == 1 else f"{name}_{number}"


def _property(name: str, value: str) -> str:
    identifier = re.sub(r"[^A-Za-z0-9_]", "_", name)
    shown = name if identifier == name else f"(rename {identifier} {string(name)})"
    return f"(property {shown} (string {string(value)}))"


def _numbered(
    items: Iterable[tuple[str, str, tuple[tuple[str, str], ...]]],
) -> Iterator[str]:
    """Properties of which there may be several: their identifiers are numbered."""
    for number, (name, value, inner) in enumerate(items, start=1):
        more = "".join(f" {_property(key, text)}" for key, text in inner if text)
        yield f"(property (rename {name}_{number} {string(name)}) (string {string(value)}){more})"


def _options(part: Part, entry: PartEntry | None) -> Iterator[tuple[str, str]]:
    """The options of a part as the board file has them; the words of a ROM one by one."""
    options = entry.options if entry is not None else ()
    for key, value in sorted(options, key=lambda option: option[0].value):
        if key.value in ("at", "rotated", "contents"):
            continue
        if isinstance(value, Text):
            yield key.value, value.value
        elif isinstance(value, Rows):
            yield key.value, " ".join(i.value for i in value.items if isinstance(i, Text))
    memory = next((one for one in part.type.memories if one.write is None), None)
    if memory is not None and words_of(part) != [(1 << memory.bits) - 1]:
        digits = (memory.bits + 3) // 4
        yield "contents", " ".join(f"{word:0{digits}X}" for word in words_of(part))
