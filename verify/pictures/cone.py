"""The cone of a net: the chips, switches and supplies that decide its level, as blocks."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.netlist.drive import NetPlan, Pull, plan_drives
from breadproof.specs.netlist.model import Netlist, Part, Pin
from breadproof.specs.netlist.ways import controls_of
from breadproof.specs.reading.diagnostics import Problems
from breadproof.verify.report.insides import Insides

MAX_BLOCKS = 60
"""More blocks than these are no picture any more; what is left out is told."""


@dataclass(slots=True, kw_only=True)
class Block:
    """What puts levels on nets: a chip's unit, or what is no chip (``part`` is None then).

    ``inputs`` decide the outputs: at once, or as what storage takes in and when. ``lines`` are the
    words of what is no chip. ``column`` counts from the net in question to the left.
    """

    part: Part | None
    outputs: list[Pin] = field(default_factory=list)
    nets: list[int] = field(default_factory=list)
    inputs: tuple[Pin, ...] = ()
    lines: tuple[str, ...] = ()
    column: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cone:
    """``left_out``: how many nets would have been followed further."""

    net: int
    blocks: tuple[Block, ...]
    left_out: int


def cone_of(netlist: Netlist, net: int, depth: int) -> Cone:
    """The cone of a net, over at most ``depth`` chips in a row."""
    return _Finder(netlist).find(net, depth)


@dataclass(slots=True)
class _Finder:
    netlist: Netlist
    plans: tuple[NetPlan, ...] = ()
    blocks: dict[tuple[object, ...], Block] = field(default_factory=dict)
    sources: dict[int, list[Block]] = field(default_factory=dict)
    """The blocks of each net that was looked at."""
    insides: dict[str, Insides] = field(default_factory=dict)
    left_out: int = 0

    def find(self, net: int, depth: int) -> Cone:
        self.plans = plan_drives(self.netlist, Problems())
        queue = deque([(net, 1)])
        seen = {net}
        while queue:
            here, level = queue.popleft()
            if level > depth or len(self.blocks) >= MAX_BLOCKS:
                self.left_out += self.netlist.nets[here].rail is None
                continue
            for block in self.behind(here):
                chip = block.part is not None and block.part.device == "chip"
                for pin in block.inputs:
                    if pin.net is not None and pin.net not in seen:
                        seen.add(pin.net)
                        if self.netlist.nets[pin.net].rail is None:
                            queue.append((pin.net, level + chip))
        self.columns(net)
        return Cone(net=net, blocks=tuple(self.blocks.values()), left_out=self.left_out)

    def behind(self, net: int) -> list[Block]:
        """What puts a level on a net."""
        plan = self.plans[net]
        words: list[str] = []
        found: list[Block] = []
        for driver in plan.drivers:
            words += [bit.control for path in driver.paths for bit in controls_of(path)]
            part = None if driver.pin is None else self.netlist.part(driver.pin.part)
            if driver.kind == "outside":
                words.append(driver.port)
            elif driver.pin is not None and part is not None and part.device == "chip":
                found.append(self.unit(part, driver.pin, net))
            elif driver.pin is not None:
                words.append(driver.pin.part)
        between = {} if found else {p.parts: s for p in plan.pulls if (s := self.series(p, net))}
        pulls = [name for p in plan.pulls if p.parts not in between for name in p.parts]
        words = list(dict.fromkeys(words))
        found += between.values()
        if words or (pulls and not found):
            lines = (*words, *(f"pull {name}" for name in dict.fromkeys(pulls)))
            block = Block(part=None, nets=[net], lines=lines)
            found.append(self.blocks.setdefault(("words", *lines, net), block))
        self.sources[net] = found
        return found

    def series(self, pull: Pull, net: int) -> Block | None:
        """A resistor that leads here from a net with a source of its own, as to a lamp."""
        if self.netlist.nets[pull.end].rail is not None or pull.through or len(pull.parts) > 1:
            return None
        part = self.netlist.part(pull.parts[0])
        pins = () if part is None else part.pins
        near = next((pin for pin in pins if pin.net == net), None)
        far = next((pin for pin in pins if pin.net == pull.end), None)
        if part is None or near is None or far is None:
            return None
        block = Block(part=part, outputs=[near], nets=[net], inputs=(far,))
        return self.blocks.setdefault((part.name, near.number, far.number), block)

    def unit(self, part: Part, pin: Pin, net: int) -> Block:
        """The unit of a chip that an output belongs to: outputs with the same inputs are one."""
        inside = self.insides.setdefault(part.name, Insides(part))
        support = inside.support(inside.output(pin.label))
        names = list(support.pins)
        held = bool(support.stores) or support.reads
        if held:
            # A register's outputs are drawn as one block, with what it takes in, and when.
            names += [*inside.triggers(support.stores).pins, *inside.taken(support.stores)]
        key = (part.name, held, *(() if held else names))
        block = self.blocks.setdefault(key, Block(part=part))
        wanted = {*names, *(one.name for one in block.inputs)}
        block.inputs = tuple(one for one in part.pins if one.name in wanted)
        if pin not in block.outputs:
            block.outputs.append(pin)
            block.nets.append(net)
        return block

    def columns(self, net: int) -> None:
        """Each block left of all that it is followed from; loops are cut where they close."""
        order: list[Block] = []
        state: dict[int, int] = {}

        def visit(block: Block) -> None:
            state[id(block)] = 1
            for pin in block.inputs:
                for other in self.sources.get(-1 if pin.net is None else pin.net, ()):
                    if id(other) not in state:
                        visit(other)
            state[id(block)] = 2
            order.append(block)

        for block in self.sources.get(net, ()):
            if id(block) not in state:
                visit(block)
        place = {id(block): number for number, block in enumerate(order)}
        for block in reversed(order):
            for pin in block.inputs:
                for other in self.sources.get(-1 if pin.net is None else pin.net, ()):
                    if place[id(other)] < place[id(block)]:
                        other.column = max(other.column, block.column + 1)


def three_state(pin: Pin) -> bool:
    """Whether an output can let go."""
    return pin.kind in (PinKind.THREE_STATE, PinKind.BIDIRECTIONAL)
