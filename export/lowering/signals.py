"""The signals of the board's class: their names and widths, and the nets' places among them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from breadproof.export.lowering import values as v
from breadproof.export.lowering.attributes import bit_of
from breadproof.export.lowering.chips import ChipClass
from breadproof.export.lowering.names import Names
from breadproof.export.lowering.values import Value
from breadproof.specs.catalogue.vectors import indices
from breadproof.specs.netlist.model import Netlist


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """Nets that are one signal ``name``: those of a vector, or a single one; bit 0 first."""

    name: str
    nets: tuple[int, ...]


@dataclass(slots=True)
class Signals:
    """Hands out signals. ``widths``: of attributes (``self.bus``), and of locals."""

    names: Names = field(default_factory=Names)
    widths: dict[str, int] = field(default_factory=dict)

    def attribute(self, wish: str, width: int = 1, *, port: bool = False) -> str:
        """A new attribute of the class: its name."""
        name = self.names.new(wish, port=port)
        self.widths[f"self.{name}"] = width
        return name

    def local(self, wish: str, width: int = 1) -> str:
        """A new local signal of ``elaborate``: its name."""
        name = self.names.new(wish)
        self.widths[name] = width
        return name

    def chip(self, name: str, kind: ChipClass) -> None:
        """Make the ports of a chip known."""
        self.widths.update({f"self.{name}.{port}": width for port, width in kind.widths.items()})

    def at(self, base: str, bit: int = 0) -> Value:
        """A bit of a signal."""
        return v.stretch(base, bit, 1, self.widths[base])


@dataclass(frozen=True, slots=True, kw_only=True)
class NetSignals:
    """Where the nets are: the words, and for each net its word and the bit there."""

    words: tuple[Word, ...]
    places: Mapping[int, tuple[Word, int]]

    def attribute(self, net: int) -> str:
        """The attribute, and the bit: ``bus[3]``."""
        word, bit = self.places[net]
        return bit_of(word.name, bit, len(word.nets))


def net_signals(netlist: Netlist, signals: Signals) -> NetSignals:
    """A word for each vector whose nets bear its name, and a signal for every other net."""
    vector_of = {
        vector.nets[0]: vector
        for vector in netlist.vectors
        if len(set(vector.nets)) == len(vector.nets) > 1
        and [netlist.nets[net].name for net in vector.nets]
        == [f"{vector.name}[{bit}]" for bit in indices(vector.left, vector.right)]
    }
    words: list[Word] = []
    places: dict[int, tuple[Word, int]] = {}
    inside = {net for vector in vector_of.values() for net in vector.nets}
    for net in netlist.nets:
        if net.index in vector_of:
            vector = vector_of[net.index]
            nets = tuple(reversed(vector.nets))
            word = Word(name=signals.attribute(vector.name, len(nets)), nets=nets)
        elif net.index in inside:
            continue
        else:
            word = Word(name=signals.attribute(net.name), nets=(net.index,))
        words.append(word)
        places.update({each: (word, bit) for bit, each in enumerate(word.nets)})
    return NetSignals(words=tuple(words), places=places)
