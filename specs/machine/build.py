"""From the netlist to the Machine."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

import networkx as nx

from breadproof.specs.machine import loops as lp
from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import (
    Loop,
    Machine,
    MemoryUnit,
    NetLevel,
    PinDrive,
    PinLevel,
    StoreBit,
    Strobe,
)
from breadproof.specs.machine.monitor import FormulaCompiler
from breadproof.specs.machine.netlogic import NetEquation, NetLogic
from breadproof.specs.machine.order import counted_in_order, evaluation_order
from breadproof.specs.machine.partlogic import Built, build_part
from breadproof.specs.machine.sources import source_drives
from breadproof.specs.machine.steplogic import StepLogic
from breadproof.specs.machine.through import that_matter
from breadproof.specs.netlist.bouncing import bouncing
from breadproof.specs.netlist.charging import charging
from breadproof.specs.netlist.drive import NetPlan, plan_drives
from breadproof.specs.netlist.model import Lamp, Netlist, Pin
from breadproof.specs.reading.diagnostics import Problems


def build_machine(netlist: Netlist, problems: Problems) -> Machine:
    """The machine of a board.

    Problems of formulas (names that mean nothing here, widths, the limits of the simple subset)
    are collected, each with its place in the board file.
    """
    split = bouncing(netlist)
    plans = plan_drives(split, problems)
    slowed = charging(split, plans)
    if slowed is not split:
        plans = plan_drives(slowed, problems)
    return BoardBuilder(slowed, plans).machine(netlist, problems)


@dataclass(slots=True)
class BoardBuilder:
    """Makes one machine; `loose` changes what is between the chips and the board."""

    netlist: Netlist
    plans: tuple[NetPlan, ...]
    graph: Graph = field(default_factory=Graph)
    built: Built = field(default_factory=Built)
    free: dict[str, int] = field(default_factory=dict)
    new: dict[int, int] = field(default_factory=dict)

    def machine(self, wired: Netlist, problems: Problems) -> Machine:
        """The machine; ``wired`` is the board as it is wired."""
        reads = {pin.label: self.reading(pin) for pin in self.netlist.pins() if pin.kind.reads}
        self.build_parts(reads)
        self.built.drives.update(source_drives(self.graph, self.netlist))
        logic = NetLogic(self.graph, self.netlist, self.plans, self.built.switches)
        equations = logic.equations(self.built.drives)
        loops = self.resolve(equations)
        open_nets = {
            pin.net
            for pin in self.netlist.pins()
            if pin.net is not None and pin.label in reads and reads[pin.label].open_high
        }
        nets = tuple(
            self.net_level(index, eq, index in open_nets) for index, eq in enumerate(equations)
        )
        pins = {label: self.pin_level(pin) for label, pin in reads.items()}
        counted = self.counted(equations, nets, pins)
        drives = {
            label: PinDrive(level=self.at(drive.level), when=self.at(drive.when))
            for label, drive in self.built.drives.items()
        }
        machine = Machine(
            netlist=self.netlist,
            wired=wired,
            graph=self.graph,
            order=(),
            controls={
                control.name: tuple(
                    self.graph.leaf("control", control.name, bit)
                    for bit in range(len(control.bits))
                )
                for control in self.netlist.controls
            },
            legal=self.legal(),
            stores=tuple(self.store(store) for store in self.built.stores),
            memories=tuple(self.memory(memory) for memory in self.built.memories),
            loops=loops,
            nets=nets,
            pins=pins,
            drives=drives,
            lamps={lamp.name: self.lit(nets, lamp) for lamp in self.netlist.lamps},
            strobes=self.settled_strobes(self.built.strobes),
            free=self.free,
            switches={key: self.at(node) for key, node in self.built.switches.items()},
            counted=counted,
            logic=StepLogic(monitors=(), gathered=(), formulas=()),
            first=tuple(self.first()),
        )
        through = that_matter(machine, self.settled_strobes(self.built.through))
        machine = replace(machine, strobes=(*machine.strobes, *through))
        machine = replace(machine, logic=FormulaCompiler(machine).compile_all(problems))
        machine = replace(machine, counted=counted_in_order(machine))
        order = evaluation_order(machine)
        asked = set(order)
        free = {name: leaf for name, leaf in self.free.items() if leaf in asked}
        return replace(machine, order=order, free=free)

    def settled_strobes(self, strobes: list[Strobe]) -> tuple[Strobe, ...]:
        """Those whose condition is not constant, with all net variables replaced."""
        moved = [replace(strobe, condition=self.at(strobe.condition)) for strobe in strobes]
        return tuple(s for s in moved if s.condition not in (Graph.FALSE, Graph.TRUE))

    # pins and parts ---------------------------------------------------------------------------

    def free_level(self, name: str) -> int:
        """The leaf of what a reader of a net without a level reads."""
        return self.free.setdefault(name, self.graph.leaf("free", name))

    def variable(self, what: str, net: int) -> int:
        """The leaf that stands for a net until nets have levels."""
        return self.graph.leaf("net", what, net)

    def mixed(self, known: int, value: int, reader: str) -> int:
        """What a reader reads: the net's level if it has one, else what it likes."""
        graph = self.graph
        return graph.or_(
            graph.and_(known, value), graph.and_(graph.not_(known), self.free_level(reader))
        )

    def reading(self, pin: Pin) -> PinLevel:
        """What a pin reads."""
        part = self.netlist.part(pin.part)
        bipolar = part is not None and part.family is not None and part.family.bipolar
        if pin.net is None and part is not None and part.type.held_inside(pin.number):
            return PinLevel(level=Graph.TRUE, known=Graph.TRUE)
        if self.connected_to_nothing(pin):
            level = self.graph.leaf("open", pin.label) if bipolar else self.free_level(pin.label)
            known = Graph.TRUE if bipolar else Graph.FALSE
            return PinLevel(level=level, known=known, open_high=bipolar)
        if pin.net is None:
            raise AssertionError("an open pin is connected to nothing")
        known = self.variable("known", pin.net)
        value = self.variable("value", pin.net)
        return PinLevel(level=self.mixed(known, value, pin.label), known=known)

    def connected_to_nothing(self, pin: Pin) -> bool:
        """Whether nothing could ever drive or pull what a pin reads."""
        if pin.net is None:
            return True
        plan, net = self.plans[pin.net], self.netlist.nets[pin.net]
        contacts = any(pin.net in (c.a, c.b) for c in self.netlist.contacts)
        return not (plan.drivers or plan.pulls or contacts) and len(net.pins) == 1

    def build_parts(self, reads: Mapping[str, PinLevel]) -> None:
        """What the chips drive, store and watch for, into ``built``."""
        for part in self.netlist.parts:
            if part.device != "chip":
                continue
            levels = {pin.name: reads[pin.label].level for pin in part.pins if pin.label in reads}
            build_part(self.graph, part, levels, len(self.built.memories), self.built)

    def first(self) -> Iterator[tuple[int, int]]:
        """See `Machine.first`."""
        for store in self.built.stores:
            part = self.netlist.part(store.part)
            for name, level in part.type.powers_up if part is not None else ():
                if name == store.storage:
                    yield store.leaf, (level >> store.bit) & 1

    def legal(self) -> int:
        """See `Machine.legal`."""
        graph = self.graph
        broken: list[int] = []
        for control in self.netlist.controls:
            if control.exclusive:
                bits = [graph.leaf("control", control.name, k) for k in range(len(control.bits))]
                broken += [graph.and_(a, b) for k, a in enumerate(bits) for b in bits[k + 1 :]]
        return graph.not_(graph.or_(*broken))

    # loops ------------------------------------------------------------------------------------

    def resolve(self, equations: list[NetEquation]) -> tuple[Loop, ...]:
        """Replace net variables by what they are; what is left are the loops."""
        functions: dict[int, int] = {}
        for net, equation in enumerate(equations):
            functions[self.variable("value", net)] = equation.value
            functions[self.variable("known", net)] = equation.known
        needs = lp.dependencies(self.graph, functions)
        loops: list[Loop] = []
        for members in lp.components(needs):
            if len(members) == 1 and not needs.has_edge(members[0], members[0]):
                self.new[members[0]] = self.at(functions[members[0]])
            else:
                loops.append(self.loop(members, functions, needs, len(loops)))
        return tuple(loops)

    def loop(
        self, members: list[int], functions: dict[int, int], needs: nx.DiGraph[int], number: int
    ) -> Loop:
        """Nets that depend on each other, as a loop with leaves of its own."""
        graph = self.graph
        cut = lp.cut_loop(needs, members)
        drawn = [functions[variable] for variable in cut.variables]
        holds = lp.can_hold(graph, cut.variables, drawn, cut.cut)
        names: list[str] = []
        leaves: list[int] = []
        for variable in cut.variables:
            leaf = graph.leaf_of(variable)
            if leaf is None:
                raise AssertionError("a loop variable is a leaf")
            net = self.netlist.nets[leaf.bit].name
            names.append(net if leaf.name == "value" else f"known({net})")
            leaves.append(graph.leaf("loop", names[-1]))
            self.new[variable] = leaves[-1]
        settled = [self.at(function) for function in drawn]
        steps, externals = lp.schedule(graph, leaves, settled, cut.cut)
        name = next((n for n in names if not n.startswith("known")), names[0])
        return Loop(
            name=name,
            variables=tuple(names),
            leaves=tuple(leaves),
            functions=tuple(settled),
            cut=cut.cut,
            schedule=steps,
            externals=externals,
            choices=tuple(graph.leaf("choice", f"{name}#{number}", k) for k in range(cut.cut)),
            holds=holds,
        )

    # the finished nodes -----------------------------------------------------------------------

    def at(self, node: int) -> int:
        """A node with all net variables replaced."""
        self.graph.substitute([node], self.new)
        return self.new[node]

    def lit(self, nets: tuple[NetLevel, ...], lamp: Lamp) -> int:
        """High at the anode and low at the cathode, where anything holds them: a lamp whose one
        end hangs in the air is dark."""
        anode, cathode = nets[lamp.anode], nets[lamp.cathode]
        return self.graph.and_(
            anode.level, anode.reached, self.graph.not_(cathode.level), cathode.reached
        )

    def net_level(self, index: int, equation: NetEquation, open_high: bool) -> NetLevel:
        """What is known of a net, with all net variables replaced."""
        known = self.at(self.variable("known", index))
        value = self.at(self.variable("value", index))
        return NetLevel(
            level=Graph.TRUE
            if open_high
            else self.mixed(known, value, self.netlist.nets[index].name),
            known=known,
            driven=self.at(equation.driven),
            fights=self.at(equation.fights),
            drivers=tuple(self.at(bit) for bit in equation.drivers),
            reached=self.at(equation.reached),
        )

    def counted(
        self, equations: list[NetEquation], nets: tuple[NetLevel, ...], pins: dict[str, PinLevel]
    ) -> dict[int, int]:
        """See `Machine.counted`."""
        readers = [(net.name, net.index, nets[net.index].level) for net in self.netlist.nets]
        net_of = {pin.label: pin.net for pin in self.netlist.pins()}
        for label, pin in pins.items():
            net = net_of[label]
            if net is not None and label in self.free:
                readers.append((label, net, pin.level))
        found: dict[int, int] = {}
        for reader, index, level in readers:
            drawn, value = equations[index], self.variable("value", index)
            if level <= Graph.TRUE or (drawn.firm, drawn.plain) == (drawn.known, drawn.value):
                continue
            leaf = self.graph.leaf_of(self.at(value))
            plain = value if leaf is not None and leaf.kind == "loop" else drawn.plain
            found[level] = self.at(self.mixed(drawn.firm, plain, reader))
        return {level: node for level, node in found.items() if level != node}

    def pin_level(self, pin: PinLevel) -> PinLevel:
        """What a pin reads, with all net variables replaced."""
        return replace(pin, level=self.at(pin.level), known=self.at(pin.known))

    def store(self, store: StoreBit) -> StoreBit:
        """A bit of storage, with all net variables replaced."""
        return replace(
            store,
            next=self.at(store.next),
            clock=self.at(store.clock),
            edge=self.at(store.edge),
            captured=self.at(store.captured),
            clear=self.at(store.clear),
            preset=self.at(store.preset),
            load=self.at(store.load),
            open=self.at(store.open),
            source=self.at(store.source),
        )

    def memory(self, memory: MemoryUnit) -> MemoryUnit:
        """A memory, with all net variables replaced."""
        return replace(
            memory,
            address=tuple(self.at(bit) for bit in memory.address),
            write=self.at(memory.write),
            data=tuple(self.at(bit) for bit in memory.data),
        )
