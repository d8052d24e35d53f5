"""What a simulation sees of a board, as a row of bits, and formulas over it.

The row has the nets, the lamps, the bits of storage, the bits of controls, and for each memory
that is written whether it writes. Formulas become graphs over these bits: nothing of what the
board does is in them, so that they say nothing about how it comes to its levels.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from breadproof.export.stimulus.controls import WORDS
from breadproof.specs.formula import syntax as s
from breadproof.specs.formula.rewrite import renamed
from breadproof.specs.machine.blast import Bits, WrongFormula
from breadproof.specs.machine.boardscope import BoardBlaster, BoardScope
from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.machine import Machine, NetLevel, PinLevel
from breadproof.specs.netlist.model import NetlistNames
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.script import Formula, Level

UNSEEN = ("fights", "floats", "drivers", "glitches")
"""Functions that ask for more than levels."""

Leaf = tuple[str, str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """The places of the row, by what is there.

    ``nets``, ``lamps`` and ``writes`` (``U7.M``) by name, ``stores`` by label (``U3.R[2]``),
    ``controls`` by name: the place of the first bit.
    """

    nets: Mapping[str, int]
    lamps: Mapping[str, int]
    stores: Mapping[str, int]
    controls: Mapping[str, int]
    writes: Mapping[str, int]
    width: int

    def control(self, name: str, bit: int) -> int:
        """The place of a control's bit."""
        return self.controls[name] + bit


def row_of(machine: Machine, stores: Iterable[str], writes: Iterable[str]) -> Row:
    """The row of a board whose modules have these bits of storage and writing memories."""
    place = 0

    def placed(names: Iterable[str]) -> dict[str, int]:
        nonlocal place
        found = {}
        for name in names:
            found[name] = place
            place += 1
        return found

    netlist = machine.netlist
    nets = placed(net.name for net in netlist.nets)
    lamps = placed(lamp.name for lamp in netlist.lamps)
    kept = placed(stores)
    controls = {}
    for control in netlist.controls:
        controls[control.name] = place
        place += len(control.bits)
    written = placed(writes)
    return Row(nets=nets, lamps=lamps, stores=kept, controls=controls, writes=written, width=place)


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """A formula's bits to be shown: ``name`` as it was written, ``nodes`` least significant first.

    ``words``: instead of a number those words are shown whose nodes hold: the positions of a
    switch, the names of lamps; ``none`` where there is no such word.
    """

    name: str
    nodes: Bits
    words: tuple[str, ...] = ()
    none: str = "between"


class Sights:
    """Formulas over a row of bits, and what they remember and gather.

    ``remembered`` maps a leaf to the node whose level at a quiet moment it has in the next step (at
    the first quiet moment `first` alone holds); ``gathered`` maps a leaf to the node that held in
    some round of the step.
    """

    def __init__(self, machine: Machine, row: Row) -> None:
        """See a board's row."""
        self.machine = machine
        self.row = row
        self.graph = Graph()
        self.remembered: dict[int, int] = {}
        self.gathered: dict[int, int] = {}
        self.places: dict[int, int] = {}
        self.names = NetlistNames(machine.netlist)
        self.first = self.graph.leaf("monitor", "first")
        self.remembered[self.first] = Graph.FALSE
        self.scope = BoardScope(self._seen(), self)

    def _leaf(self, place: int) -> int:
        leaf = self.graph.leaf("net", str(place))
        self.places[leaf] = place
        return leaf

    def _seen(self) -> Machine:
        """The board as nothing but what is seen of it."""
        machine, row, no = self.machine, self.row, Graph.FALSE
        nets = tuple(
            NetLevel(level=self._leaf(place), known=1, driven=1, fights=no, drivers=(), reached=1)
            for place in row.nets.values()
        )
        pins = {
            pin.label: PinLevel(level=nets[pin.net].level, known=1)
            for pin in machine.netlist.pins()
            if pin.net is not None
        }
        controls = {
            control.name: tuple(
                self._leaf(row.control(control.name, bit)) for bit in range(len(control.bits))
            )
            for control in machine.netlist.controls
        }
        for label, place in row.stores.items():
            name, _, bit = label.removesuffix("]").rpartition("[")
            self.places[self.graph.leaf("store", name, int(bit))] = place
        memories = tuple(
            replace(
                memory,
                address=(), data=(),
                write=self._leaf(row.writes[memory.label]) if memory.label in row.writes else no,
            )
            for memory in machine.memories
        )  # fmt: skip
        return replace(
            machine, graph=self.graph, nets=nets, pins=pins, drives={}, controls=controls,
            lamps={name: self._leaf(place) for name, place in row.lamps.items()},
            memories=memories,
        )  # fmt: skip

    # for the scope ----------------------------------------------------------------------------

    def previous(self, bits: Bits, steps: int) -> Bits:
        """See `boardscope.Memory`."""
        for _ in range(steps):
            bits = tuple(self._previous(bit) for bit in bits)
        return bits

    def _previous(self, bit: int) -> int:
        if bit <= 1:
            return bit
        leaf = self.graph.leaf("monitor", "prev", bit)
        self.remembered[leaf] = bit
        return self.graph.mux(self.first, bit, leaf)

    def has_past(self) -> int:
        """See `boardscope.Memory`."""
        return self.graph.not_(self.first)

    def gather(self, node: int, pulses: bool) -> int:
        """See `boardscope.Memory`."""
        if pulses:
            raise AssertionError("pulses are not seen")
        if node <= 1:
            return node
        leaf = self.graph.leaf("gathered", "ever", node)
        self.gathered[leaf] = node
        return leaf

    # formulas ---------------------------------------------------------------------------------

    def _bits(self, expr: s.Expr) -> Bits:
        self._refuse(expr)
        named = renamed(expr, self.scope.names.called)
        return BoardBlaster(self.graph, self.scope).bits(named)

    def _refuse(self, expr: s.Expr) -> None:
        stack = [expr]
        while stack:
            node = stack.pop()
            if isinstance(node, s.Temporal):
                raise WrongFormula(
                    "a script asks for one moment",
                    node.stretch,
                    "Use levels, rose(), prev(), ever() and the like; 'breadproof verify' proves "
                    "temporal formulas.",
                )
            if isinstance(node, s.Call) and (node.function in UNSEEN or self._beyond(node)):
                raise WrongFormula(
                    f"a simulation does not see {node.function}()"
                    + " of a port that a board is joined to" * (node.function not in UNSEEN),
                    node.stretch,
                    "It sees levels; 'breadproof verify' proves what fights, floats or pulses.",
                )
            stack += s.children(node)

    def _beyond(self, call: s.Call) -> bool:
        """Whether it asks which outputs drive, on another board."""
        names = [one.path for one in call.arguments if isinstance(one, s.Name)]
        joined = [port.name for port in self.machine.netlist.joined]
        return call.function == "outside" and self.names.called("".join(names)) in joined

    def told(self, formula: Formula, problems: Problems, make: Callable[[], Bits]) -> Bits | None:
        """What ``make`` gives; None if the formula means nothing here, which is noted."""
        try:
            return make()
        except WrongFormula as wrong:
            start, end = wrong.stretch.start, wrong.stretch.end
            span = formula.text.at(start, max(1, end - start))
            problems.error("formula-meaning", wrong.message, span, hint=wrong.hint)
            return None

    def condition(self, formula: Formula, problems: Problems) -> int:
        """The node of a formula; FALSE if it means nothing here, which is noted."""
        bits = self.told(formula, problems, lambda: self._bits(formula.expr))
        return Graph.FALSE if bits is None else self.graph.or_(*bits)

    def equal(self, level: Level, problems: Problems) -> int | None:
        """Whether what is looked at has its level: FALSE if it never has, as with a number of more
        bits than there are; None if it means nothing here, which is noted."""
        left, right = level.name, level.value
        compared = self.told(right, problems, lambda: self._compared(left.expr, right.expr))
        if compared is None or compared:
            return None if compared is None else compared[0]
        a = self.told(left, problems, lambda: self._bits(left.expr))
        b = self.told(right, problems, lambda: self._bits(right.expr))
        if a is None or b is None:
            return None
        width = max(len(a), len(b))
        pairs = zip(
            a + (Graph.FALSE,) * (width - len(a)), b + (Graph.FALSE,) * (width - len(b)),
            strict=True,
        )  # fmt: skip
        return self.graph.and_(*(self.graph.not_(self.graph.xor(x, y)) for x, y in pairs))

    def _compared(self, left: s.Expr, right: s.Expr) -> Bits:
        found = self.scope.compare(renamed(left, self.names.called), right)
        return () if found is None else (found,)

    def watched(self, formula: Formula, problems: Problems) -> Watched | None:
        """A formula's bits; None if it means nothing here, which is noted."""
        name = formula.text.value
        switch = self._switch(name)
        if switch is not None:
            return switch
        found = self.told(formula, problems, lambda: self._bits(formula.expr))
        return None if found is None else Watched(name=name, nodes=found)

    def said(self, level: Level) -> tuple[int, Watched] | None:
        """Whether a control is as a word says, such as ``pressed``, and the control as such words;
        None if the word is none of its."""
        name, word = self.names.called(level.name.text.value), level.value.text.value
        for control in self.machine.netlist.controls:
            words = WORDS.get(control.kind, {})
            if control.name == name and word in words:
                (bit,) = self.scope.machine.controls[name]
                levels = (self.graph.not_(bit), bit)
                nodes = tuple(levels[high] for high in words.values())
                told = Watched(name=level.name.text.value, nodes=nodes, words=tuple(words))
                return levels[words[word]], told
        return None

    def named(self, formula: Formula, problems: Problems) -> tuple[Watched, ...]:
        """The nets, vectors and parts that a formula names, in order: its levels explain it."""
        found: dict[str, Watched] = {}
        stack = [formula.expr]
        while stack:
            node = stack.pop()
            if isinstance(node, s.Name) and node.path not in found:
                one = self._named(node)
                if one is not None:
                    found[node.path] = one
            stack += reversed(s.children(node))
        return tuple(found.values())

    def _switch(self, name: str) -> Watched | None:
        """A change-over switch by its positions, called as it was written."""
        part = self.names.parts.get(self.names.called(name))
        if part is None or not part.positions or part.name not in self.row.controls:
            return None
        bits = self.scope.machine.controls[part.name]
        return Watched(name=name, nodes=bits, words=part.positions)

    def _named(self, name: s.Name) -> Watched | None:
        switch = self._switch(name.path)
        if switch is not None:
            return switch
        try:
            return Watched(name=name.path, nodes=self._bits(name))
        except WrongFormula:
            return None


Read = Callable[[int, int, int], int]
"""Bit ``bit`` of the word at an address of a memory: (memory, bit, address); 0 beyond its end."""


@dataclass(slots=True)
class Evaluator:
    """Levels of nodes; ``leaves`` are those that are remembered or gathered."""

    sights: Sights
    read: Read
    leaves: dict[int, int] = field(default_factory=dict)
    orders: dict[tuple[int, ...], list[int]] = field(default_factory=dict)

    def level(self, root: int, row: int) -> int:
        """The level of a node; ``row`` has place 0 in bit 0."""
        return self.levels((root,), row)[0]

    def levels(self, roots: Sequence[int], row: int) -> list[int]:
        """The levels of several nodes at one moment."""
        key = tuple(roots)
        if key not in self.orders:
            self.orders[key] = [node for node in self.sights.graph.cone(list(roots)) if node > 1]
        known = {0: 0, 1: 1}
        for node in self.orders[key]:
            known[node] = self._level(node, row, known)
        return [known[root] for root in roots]

    def _level(self, node: int, row: int, known: dict[int, int]) -> int:
        graph = self.sights.graph
        args = graph.args[node]
        match graph.kinds[node]:
            case Kind.CONST:
                return node
            case Kind.LEAF:
                place = self.sights.places.get(node)
                return self.leaves[node] if place is None else (row >> place) & 1
            case Kind.NOT:
                return 1 - known[args[0]]
            case Kind.AND:
                return int(all(known[arg] for arg in args))
            case Kind.OR:
                return int(any(known[arg] for arg in args))
            case Kind.XOR:
                return known[args[0]] ^ known[args[1]]
            case Kind.READ:
                address = 0
                for arg in args[2:]:
                    address = 2 * address + known[arg]
                return self.read(args[0], args[1], address)
            case Kind.WAS:
                raise AssertionError("a formula has no round before")
