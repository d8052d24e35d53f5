"""What names and functions mean in a board's formulas (design.md section 5)."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Protocol

from breadproof.specs.catalogue.vectors import indices
from breadproof.specs.formula import syntax as s
from breadproof.specs.machine.blast import Bits, Blaster, WrongFormula
from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.partlogic import read_word
from breadproof.specs.netlist.model import (
    NetlistNames,
    Part,
    Port,
    begin_of,
    beyond,
    written,
)
from breadproof.specs.netlist.segments import SEGMENTS, SHAPES
from breadproof.specs.reading.yamltree import near


class Memory(Protocol):
    """What a formula can remember and gather; made by the formula compiler."""

    def previous(self, bits: Bits, steps: int) -> Bits:
        """The bits as they were ``steps`` (clocked) steps before."""

    def has_past(self) -> int:
        """Whether there was a (clocked) step before."""

    def gather(self, node: int, pulses: bool) -> int:
        """Whether a level held, or pulsed, in any round of the step."""


class BoardScope:
    """Names of one board, for one clocking of the formula."""

    def __init__(self, machine: Machine, memory: Memory, board: str = "") -> None:
        """Look up in ``machine``; remember through ``memory``.

        ``board`` is the one, of several, in whose file the formula stands: what is told of its
        names leaves that out.
        """
        self.machine = machine
        self.graph = machine.graph
        self.memory = memory
        self.names = NetlistNames(machine.netlist)
        self.in_round = False
        self.board = board
        self.own = begin_of(board)

    # what is told -----------------------------------------------------------------------------

    def said(self, name: str) -> str:
        """A name as the formula's file writes it: ``store.low.U1``."""
        return written(name, self.board)

    def _near(self, name: str, choices: Iterable[str]) -> str:
        mine = [self.said(one) for one in choices if one.startswith(self.own)]
        return near(self.said(name), mine)

    def _listed(self, names: Iterable[str], none: str) -> str:
        mine = [self.said(one) for one in names if one.startswith(self.own)]
        return f"There are {', '.join(mine)}." if mine else none

    # names ------------------------------------------------------------------------------------

    def name(self, name: s.Name) -> Bits:
        """See `blast.Scope`."""
        head, _, rest = name.path.partition(".")
        nets = self.names.nets_of(head)
        if nets is not None and not rest:
            return tuple(self.machine.nets[index].level for index in reversed(nets))
        part = self.names.parts.get(head)
        if part is None:
            raise self._unknown(name)
        return self._of_part(name, part, rest) if rest else self._control(name, part)

    def _unknown(self, name: s.Name) -> WrongFormula:
        called = self.said(name.path)
        hint = self._near(name.path, self.names)
        hint = hint or "A formula names nets, vectors, parts and their pins."
        if name.path in self.names.boards:
            hint = f"That is a board. What is on it is written with a dot: {called}.NAME."
        for part in self.names.parts.values():
            mine = part.name.startswith(self.own)
            if mine and name.path.removeprefix(self.own) in part.positions:
                switch = self.said(part.name)
                hint = f"A position stands only opposite its switch: {switch} == {called}."
        return WrongFormula(f"nothing on this board is called '{called}'", name.stretch, hint)

    def _of_part(self, name: s.Name, part: Part, rest: str) -> Bits:
        pin = part.pin(rest)
        if pin is not None:
            if pin.label in self.machine.pins:
                return (self.machine.pins[pin.label].level,)
            if pin.net is not None:
                return (self.machine.nets[pin.net].level,)
            if pin.label in self.machine.drives:
                return (self.machine.drives[pin.label].level,)
            raise WrongFormula(
                f"{self.said(name.path)} is connected to nothing",
                name.stretch,
                "Connect it, or name another.",
            )
        stored = self.storage(part, rest)
        if stored is not None:
            return stored
        choices = [p.name for p in part.pins] + [store.name for store in part.type.storage]
        numbers = [int(n) for p in part.pins if (n := p.name.removeprefix(rest)).isdecimal()]
        raise WrongFormula(
            f"{self.said(part.name)} has no pin or storage '{rest}'",
            name.stretch,
            f"Several pins are written {self.said(name.path)}[{max(numbers)}:{min(numbers)}]."
            if len(numbers) > 1
            else near(rest, choices) or f"It has {', '.join(choices)}.",
        )

    def storage(self, part: Part, name: str) -> Bits | None:
        """The bits of a part's register or latch of that name; None if it has none."""
        for store in part.type.storage:
            if store.name == name:
                label = f"{part.name}.{name}"
                return tuple(self.graph.leaf("store", label, bit) for bit in range(store.width))
        return None

    def _control(self, name: s.Name, part: Part) -> Bits:
        machine = self.machine
        if part.device == "rotary-dip":
            bits = reversed(machine.controls[part.name])
            return tuple(self.graph.not_(bit) if part.complement else bit for bit in bits)
        if part.name in machine.controls and not part.positions:
            return (machine.controls[part.name][0],)
        if part.device == "dip-switch":
            return tuple(machine.controls[f"{part.name}[{k}]"][0] for k in range(1, part.ways + 1))
        if part.name in machine.lamps:
            return (machine.lamps[part.name],)
        if part.device == "led-bar":
            labels = [f"{part.name}[{k}]" for k in range(1, part.ways + 1)]
            if all(label in machine.lamps for label in labels):
                return tuple(machine.lamps[label] for label in labels)
        if part.device == "display":
            return self.segments(part)
        called = self.said(part.name)
        if part.positions:
            raise WrongFormula(
                f"{called} is a change-over switch, no level",
                name.stretch,
                f"Write {called} == {part.positions[0]}.",
            )
        raise WrongFormula(
            f"{called} is a part, no level", name.stretch, f"Name a pin: {called}.1."
        )

    def segments(self, part: Part) -> Bits:
        """Which segments of a display are lit, a first, the point last; open ones are dark."""
        lamps = self.machine.lamps
        return tuple(lamps.get(f"{part.name}[{name}]", Graph.FALSE) for name in SEGMENTS)

    def numbering(self, name: s.Name) -> tuple[int, int] | None:
        """See `blast.Scope`."""
        vector = self.names.vectors.get(name.path)
        if vector is not None:
            return (vector.left, vector.right)
        part = self.names.parts.get(name.path)
        if part is not None and part.device in ("dip-switch", "led-bar"):
            return (part.ways, 1)
        if part is not None and part.device in ("display", "rotary-dip"):
            return (7, 0) if part.device == "display" else (3, 0)
        return None

    def word(self, name: s.Name, at: Callable[[], Bits]) -> Bits | None:
        """A word of a memory, or None."""
        head, _, rest = name.path.partition(".")
        for index, memory in enumerate(self.machine.memories):
            if memory.part == head and memory.storage == rest:
                return read_word(self.graph, index, memory.words, memory.bits, at())
        return None

    def pin_vector(self, expr: s.Part, left: int, right: int) -> Bits | None:
        """``U3.Q[3:0]`` as the pins Q3 to Q0; None if they are not all there."""
        if not isinstance(expr.base, s.Name):
            return None
        head, _, stem = expr.base.path.partition(".")
        part = self.names.parts.get(head)
        if part is None or not stem or self.storage(part, stem) is not None:
            return None
        numbers = indices(left, right)
        pins = [part.pin(f"{stem}{number}") for number in numbers]
        if any(pin is None for pin in pins):
            return None
        names = [s.Name(path=f"{head}.{stem}{n}", stretch=expr.stretch) for n in numbers]
        return tuple(bit for name in reversed(names) for bit in self.name(name))

    # comparisons with positions ---------------------------------------------------------------

    def compare(self, left: s.Expr, right: s.Expr) -> int | None:
        """``MODE == SET``, either way round."""
        for switch, position in ((left, right), (right, left)):
            if not isinstance(switch, s.Name):
                continue
            part = self.names.parts.get(switch.path)
            if part is None or not part.positions:
                continue
            if not isinstance(position, s.Name) or position.path not in part.positions:
                raise WrongFormula(
                    f"{self.said(part.name)} is compared with one of its positions",
                    position.stretch,
                    f"Its positions are {' and '.join(part.positions)}.",
                )
            return self.machine.controls[part.name][part.positions.index(position.path)]
        return None

    # functions --------------------------------------------------------------------------------

    def call(self, call: s.Call, blaster: Blaster) -> Bits:
        """See `blast.Scope`."""
        match call.function:
            case "rose" | "fell" | "stable" | "prev":
                return self._past(call, blaster)
            case "onehot" | "onehot0" | "countones":
                return self._counting(call, blaster)
            case "fights" | "floats" | "drivers":
                return self._of_net(call)
            case "writes":
                return (self._writes(call),)
            case "ever":
                return (self._ever(call, blaster),)
            case "glitches":
                nodes = [self.machine.nets[index].level for index in self.nets_of(call)]
                return (self.graph.or_(*(self.memory.gather(node, True) for node in nodes)),)
            case "outside":
                return (self._outside(call),)
            case "shows":
                return (self._shows(call, blaster),)
            case other:
                raise WrongFormula(
                    f"there is no function '{other}'",
                    call.stretch,
                    near(other, FUNCTIONS) or f"There are {', '.join(FUNCTIONS)}.",
                )

    def _past(self, call: s.Call, blaster: Blaster) -> Bits:
        if self.in_round:
            raise WrongFormula(
                f"{call.function} cannot stand inside ever()",
                call.stretch,
                "ever() looks at rounds, which have no step before.",
            )
        steps = 1
        if call.function == "prev" and len(call.arguments) == 2:
            steps = blaster.constant(call.arguments[1])
            if not 1 <= steps <= 64:
                raise WrongFormula("prev looks 1 to 64 steps back", call.stretch, "prev(x, 2)")
        elif len(call.arguments) != 1:
            blaster.one(call)
        now = self._stands(call) or blaster.bits(call.arguments[0])
        before = self.memory.previous(now, steps)
        if call.function == "prev":
            return before
        graph = self.graph
        same = [graph.not_(graph.xor(a, b)) for a, b in zip(now, before, strict=True)]
        if call.function == "stable":
            return (graph.and_(*same),)
        if len(now) != 1:
            raise WrongFormula(
                f"{call.function} takes one bit, this has {len(now)}",
                call.stretch,
                "Name one bit of it, such as bus[0].",
            )
        edge = graph.and_(now[0], graph.not_(before[0]))
        if call.function == "fell":
            edge = graph.and_(graph.not_(now[0]), before[0])
        return (edge,)

    def _stands(self, call: s.Call) -> Bits:
        """Where a change-over switch stands, for ``stable(MODE)``; nothing if it asks otherwise."""
        what = call.arguments[0]
        part = self.names.parts.get(what.path) if isinstance(what, s.Name) else None
        if call.function != "stable" or part is None or not part.positions:
            return ()
        return tuple(self.machine.controls[part.name])

    def _counting(self, call: s.Call, blaster: Blaster) -> Bits:
        bits = blaster.bits(blaster.one(call))
        graph = self.graph
        if call.function == "countones":
            width = max(32, len(bits).bit_length())
            total: Bits = blaster.number(0, width)
            for bit in bits:
                total = blaster.add(total, blaster.number(0, width), bit)
            return total
        two = graph.or_(*(graph.and_(a, b) for k, a in enumerate(bits) for b in bits[k + 1 :]))
        at_most = graph.not_(two)
        return (at_most if call.function == "onehot0" else graph.and_(at_most, graph.or_(*bits)),)

    def nets_of(self, call: s.Call) -> tuple[int, ...]:
        """The nets that the only argument names: a net, a vector, one bit, or a pin's net."""
        text = _net_text(call.arguments[0]) if len(call.arguments) == 1 else ""
        nets = self.names.nets_of(text)
        if nets is None and "." in text:
            head, _, rest = text.partition(".")
            part = self.names.parts.get(head)
            pin = part.pin(rest) if part else None
            nets = (pin.net,) if pin and pin.net is not None else None
        if nets is None:
            raise WrongFormula(
                f"{call.function} takes a net",
                call.stretch,
                self._near(text, [*self.names.singles, *self.names.vectors])
                or f"Write {call.function}(NET).",
            )
        return nets

    def _of_net(self, call: s.Call) -> Bits:
        graph, nets = self.graph, [self.machine.nets[index] for index in self.nets_of(call)]
        if call.function == "fights":
            return (graph.or_(*(net.fights for net in nets)),)
        if call.function == "floats":
            return (
                graph.or_(*(graph.and_(graph.not_(n.known), graph.not_(n.fights)) for n in nets)),
            )
        if len(nets) != 1:
            raise WrongFormula(
                "drivers counts for one net", call.stretch, "Name one bit, such as bus[0]."
            )
        return nets[0].drivers + (Graph.FALSE,) * (32 - len(nets[0].drivers))

    def _writes(self, call: s.Call) -> int:
        argument = call.arguments[0] if len(call.arguments) == 1 else None
        path = argument.path if isinstance(argument, s.Name) else ""
        nodes = [m.write for m in self.machine.memories if m.part == path and m.contents is None]
        if not nodes:
            memories = [m.part for m in self.machine.memories if m.contents is None]
            raise WrongFormula(
                "writes takes a memory that can be written",
                call.stretch,
                self._listed(memories, "This board has none."),
            )
        write = self.graph.or_(*nodes)
        return write if self.in_round else self.memory.gather(write, False)

    def _ever(self, call: s.Call, blaster: Blaster) -> int:
        self.in_round, outer = True, self.in_round
        try:
            node = blaster.boolean(blaster.one(call))
        finally:
            self.in_round = outer
        return node if outer else self.memory.gather(node, False)

    def _outside(self, call: s.Call) -> int:
        argument = call.arguments[0] if len(call.arguments) == 1 else None
        path = argument.path if isinstance(argument, s.Name) else ""
        netlist = self.machine.netlist
        joined = {port.name: port for port in netlist.joined}
        if path in joined:
            return self._beyond(joined[path])
        ports = [p.name for p in netlist.ports if p.direction == "both"]
        if path not in ports:
            raise WrongFormula(
                "outside takes a port that is 'both'",
                call.stretch,
                self._listed([*ports, *joined], "This board has none."),
            )
        return self.machine.controls[path][0]

    def _beyond(self, port: Port) -> int:
        """Whether an output of another board drives one of the nets of a port."""
        drives = self.machine.drives
        pins = beyond(self.machine.netlist, port)
        return self.graph.or_(*(drives[p.label].when for p in pins if p.label in drives))

    def _shows(self, call: s.Call, blaster: Blaster) -> int:
        """``shows(DS1, 5)``: the segments lit, the point aside, are a shape of that digit."""
        display = call.arguments[0] if call.arguments else None
        part = self.names.parts.get(display.path) if isinstance(display, s.Name) else None
        if part is None or part.device != "display" or len(call.arguments) != 2:
            displays = [p.name for p in self.names.parts.values() if p.device == "display"]
            mine = [self.said(one) for one in displays if one.startswith(self.own)]
            raise WrongFormula(
                "shows takes a display and a digit",
                call.stretch,
                f"Write shows({mine[0]}, 5)." if mine else "This board has no display.",
            )
        digit = blaster.constant(call.arguments[1])
        if not 0 <= digit < len(SHAPES):
            raise WrongFormula(
                f"a display shows no {digit}", call.stretch, "Digits are 0 to 15 (A to F)."
            )
        lit, graph = self.segments(part)[:7], self.graph
        matching = [
            graph.and_(
                *(
                    bit if name in shape else graph.not_(bit)
                    for name, bit in zip(SEGMENTS[:7], lit, strict=True)
                )
            )
            for shape in SHAPES[digit]
        ]
        return graph.or_(*matching)


FUNCTIONS = (
    "rose", "fell", "stable", "prev", "onehot", "onehot0", "countones", "fights", "floats",
    "drivers", "writes", "ever", "outside", "glitches", "shows", "$signed", "$unsigned",
)  # fmt: skip


def _net_text(expr: s.Expr) -> str:
    """A net's name as text: ``sel``, ``bus[3]``, ``U1.Y1``; "" if it is none."""
    if isinstance(expr, s.Name):
        return expr.path
    if not isinstance(expr, s.Index):
        return ""
    if isinstance(expr.base, s.Name) and isinstance(expr.at, s.Number):
        return f"{expr.base.path}[{expr.at.value}]"
    return ""


class BoardBlaster(Blaster):
    """A blaster that also knows ``U3.Q[3:0]`` as the pins Q3 to Q0."""

    def __init__(self, graph: Graph, scope: BoardScope) -> None:
        """Work in a board's scope."""
        super().__init__(graph, scope)
        self.board_scope = scope

    def leaf(self, expr: s.Name | s.Index | s.Part | s.Slide) -> Bits:
        """Pin vectors first, then what `Blaster` knows."""
        if isinstance(expr, s.Part):
            left, right = self.constant(expr.left), self.constant(expr.right)
            found = self.board_scope.pin_vector(expr, left, right)
            if found is not None:
                return found
        return super().leaf(expr)
