"""A board of holes and wires as a board of nets: what its file would say without them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.catalogue.vectors import indices
from breadproof.specs.netlist.layout import PLACING
from breadproof.specs.netlist.model import Net, Netlist, Part, Vector
from breadproof.specs.reading.board import NAME, Board, NetEntry, PartEntry, PinRef
from breadproof.specs.reading.diagnostics import Span
from breadproof.specs.reading.wires import WireEntry
from breadproof.specs.reading.yamltree import Rows, Text, Tree


@dataclass(frozen=True, slots=True, kw_only=True)
class Levelled:
    """The board of nets; ``renamed`` are nets that had no name a board file can use."""

    board: Board
    renamed: tuple[tuple[str, str], ...]


def level(board: Board, netlist: Netlist) -> Levelled:
    """The board with the netlist's nets in place of holes, wires and names.

    Wires stay only where nets alone cannot say it: a pin on one bit of a vector, where the others
    have none for a row, and a net with two names.
    """
    return _Level(board, netlist).levelled()


def rows_of(
    bits: Sequence[Sequence[PinRef]],
) -> tuple[tuple[tuple[PinRef, ...], ...], list[tuple[int, PinRef]]]:
    """Rows of a vector, one a part as far as it has a pin on every bit, and the pins over.

    ``bits`` are the pins of each bit; the pins over come with the place of their bit.
    """
    rest = [list(pins) for pins in bits]
    rows: list[tuple[PinRef, ...]] = []
    for part in dict.fromkeys(pin.part for pins in bits for pin in pins):
        own = [[pin for pin in pins if pin.part == part] for pins in rest]
        for place in range(min(map(len, own))):
            rows.append(tuple(pins[place] for pins in own))
            for pins, chosen in zip(rest, rows[-1], strict=True):
                pins.remove(chosen)
    while all(rest):
        rows.append(tuple(pins.pop(0) for pins in rest))
    return tuple(rows), [(place, pin) for place, pins in enumerate(rest) for pin in pins]


def words_of(part: Part) -> list[int]:
    """The contents of a ROM, without the erased words at its end (but for one)."""
    memory = next((one for one in part.type.memories if one.write is None), None)
    words = list(part.contents)
    erased = None if memory is None else (1 << memory.bits) - 1
    while len(words) > 1 and words[-1] == erased:
        words.pop()
    return words


def bit_labels(vector: Vector) -> list[str]:
    """``bus[7]`` to ``bus[0]``, the most significant first."""
    return [f"{vector.name}[{number}]" for number in indices(vector.left, vector.right)]


@dataclass(slots=True)
class _Level:
    board: Board
    netlist: Netlist
    entries: list[NetEntry] = field(default_factory=list)
    wires: list[WireEntry] = field(default_factory=list)
    renamed: dict[str, str] = field(default_factory=dict)
    done: set[str] = field(default_factory=set)
    vector_of: dict[str, Vector] = field(default_factory=dict)

    def levelled(self) -> Levelled:
        netlist = self.netlist
        for vector in netlist.vectors:
            self.vector_of.update(dict.fromkeys(bit_labels(vector), vector))
        self.rename()
        for net in netlist.nets:
            if not is_moment(net):
                self.add(net.name, net)
        for vector in netlist.vectors:
            if vector.name not in self.done:
                self.add_vector(vector)
        for name, index in netlist.aliases:
            net = netlist.nets[index]
            self.add(name, None, net.span)
            self.wire(self.called(net.name), name, net.span)
        parts = tuple(
            replace(e, options=tuple(self.options(e, netlist.part(e.name.value))))
            for e in self.board.parts
        )
        board = replace(
            self.board,
            parts=parts,
            nets=tuple(self.entries),
            wires=tuple(self.wires),
            breadboards=(),
            names=(),
        )
        return Levelled(board=board, renamed=tuple(self.renamed.items()))

    def options(self, entry: PartEntry, part: Part | None) -> Iterator[tuple[Text, Tree]]:
        """The options of a part without its place; the words of a file one by one, since the new
        board file need not lie beside it."""
        for key, value in entry.options:
            if key.value == "contents" and part is not None and isinstance(value, Text):
                words = tuple(
                    Text(value=f"0x{word:02X}", span=value.span) for word in words_of(part)
                )
                yield key, Rows(items=words, span=value.span)
            elif key.value not in PLACING:
                yield key, value

    def rename(self) -> None:
        """A net without a name is called as its first pin, U1.3, which no file can say."""
        taken = {net.name for net in self.netlist.nets} | {p.name for p in self.netlist.parts}
        taken |= {name for name, _ in self.netlist.aliases} | {v.name for v in self.netlist.vectors}
        for net in self.netlist.nets:
            if net.name in self.vector_of or NAME.match(net.name) or is_moment(net):
                continue
            stem = "".join(c if c.isascii() and c.isalnum() else "_" for c in net.name)
            stem = found = stem if NAME.match(stem) else f"n_{stem}"
            number = 1
            while found in taken:
                number += 1
                found = f"{stem}_{number}"
            taken.add(found)
            self.renamed[net.name] = found

    def called(self, name: str) -> str:
        return self.renamed.get(name, name)

    def add(self, name: str, net: Net | None, span: Span | None = None) -> None:
        vector = self.vector_of.get(name)
        if vector is not None:
            self.add_vector(vector)
            return
        rows = tuple((pin,) for pin in _refs(net)) if net is not None else ()
        place = net.span if net is not None else span
        if name not in self.done and place is not None:
            self.done.add(name)
            self.entries.append(
                NetEntry(
                    name=self.called(name), left=0, right=0, vector=False, rows=rows, span=place
                )
            )

    def add_vector(self, vector: Vector) -> None:
        if vector.name in self.done:
            return
        self.done.add(vector.name)
        nets = [self.netlist.nets[index] for index in vector.nets]
        labels = bit_labels(vector)
        own = [
            _refs(net) if net.name == label else [] for net, label in zip(nets, labels, strict=True)
        ]
        rows, over = rows_of(own)
        self.entries.append(
            NetEntry(
                name=vector.name,
                left=vector.left,
                right=vector.right,
                vector=True,
                rows=rows,
                span=nets[0].span,
            )
        )
        for place, pin in over:
            self.wire(f"{pin.part}.{pin.pin}", labels[place], pin.span)

    def wire(self, first: str, second: str, span: Span) -> None:
        ends = (Text(value=first, span=span), Text(value=second, span=span))
        self.wires.append(WireEntry(ends=ends, colour="", span=span))


def _refs(net: Net) -> list[PinRef]:
    return [
        PinRef(part=pin.part, pin=pin.number, span=pin.span)
        for pin in net.pins
        if pin.kind is not PinKind.MOMENT
    ]


def is_moment(net: Net) -> bool:
    """Whether a net is a moment that the world chooses, and no wire at all."""
    return any(pin.kind is PinKind.MOMENT for pin in net.pins)
