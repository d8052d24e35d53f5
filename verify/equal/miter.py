"""Rounds of the board and of the hardware side by side, as literals over the same inputs.

What is claimed. Let the hardware come up with its registers at their initial levels, but with any
content in what is the board's storage and in its memories; a ROM holds the board's words. Hold
``tick_rst`` low, and let the controls change as they like from round to round. Then, as long as
``unsettled`` was low on the last tick of all rounds before, on the last tick of every round

- ``unsettled`` is low if and only if the board's loops settle in that round, and
- if so, every net, lamp and outgoing port has a level that the board may have: the board's own
  where it has one, and where the board leaves a choice (design.md, section 4) one of its choices:
  low where a net floats or fights, and a stable level where a loop is free to take several;
- storage and memories advance as the board's do, and in no tick before.

It is proved by induction over rounds. What links the two before a round: storage and memories are
the same; each register of a cut net has the level that the net had in the round before, if it had
one, and tells whether it had; every other register holds what the last tick of that round left in
it, whatever was in it then. The board's round before is any round with settled loops, from any
storage, controls and memories.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round
from breadproof.verify.equal.led import LedSettler
from breadproof.verify.equal.matching import Matched
from breadproof.verify.equal.readback import Circuit
from breadproof.verify.equal.tick import Levels, evaluated
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.frames import Frames


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """Something that is to be equal: ``kind`` and ``name`` say what, ``board`` and ``hardware``
    are the two literals, ``differs`` the one that must never hold."""

    kind: str
    name: str
    board: int
    hardware: int
    differs: int


@dataclass(slots=True, kw_only=True)
class State:
    """What is before a round: the levels of all registers; storage by leaf; how many writes."""

    registers: dict[int, int]
    store: dict[int, int]
    until: list[int]
    before: Round[int] | None


@dataclass(slots=True, kw_only=True)
class Compared:
    """One round of both.

    ``settled`` holds if neither is unsettled; ``following`` is the state after it.
    """

    controls: dict[int, int]
    store: dict[int, int]
    targets: list[Target]
    settled: int
    following: State


@dataclass(slots=True)
class Miter:
    """Builds rounds. ``constraints`` are literals that must hold; take them as they come."""

    machine: Machine
    circuit: Circuit
    match: Matched
    frames: Frames = field(init=False)
    led: LedSettler = field(init=False)

    def __post_init__(self) -> None:
        """Nothing is built yet."""
        self.frames = Frames(self.machine, checks=False)
        self.led = LedSettler(self.machine, self.frames.aig)
        self.frames.settler = self.led

    @property
    def aig(self) -> Aig:
        """What all literals are of."""
        return self.frames.aig

    def take_constraints(self) -> list[int]:
        """What must hold and was not taken yet."""
        return self.frames.take_constraints()

    # states -----------------------------------------------------------------------------------

    def power_up(self) -> State:
        """Any content of storage and memories, all other registers as they come up."""
        store = self.frames.inputs("store")
        registers = self.registers(store)
        for bit, register in self.circuit.registers.items():
            if bit not in registers:
                initial = register.initial
                registers[bit] = self.aig.input() if initial is None else initial
        return State(registers=registers, store=store, until=self.until(), before=None)

    def between(self) -> State:
        """Any state after a round with settled loops."""
        frames, machine = self.frames, self.machine
        controls, store, loops = self.controls(), frames.inputs("store"), frames.inputs("loop")
        until = self.until()
        before = frames.settle({**controls, **store}, until, None, loops)
        for loop in machine.loops:
            for leaf, function in zip(loop.leaves, loop.functions, strict=True):
                same = self.aig.xor(before.levels[leaf], before.levels[function]) ^ 1
                frames.constraints.append(same)
        frames.constraints.append(before.unsettled ^ 1)
        last = self.registers(store)
        last |= {bit: self.aig.input() for bit in self.circuit.registers if bit not in last}
        last |= self.counting(self.match.ticks - 1) | self.holding(before)
        levels = self.tick(last, controls, until)
        registers = {
            bit: levels.at(register.following) for bit, register in self.circuit.registers.items()
        }
        now = frames.inputs("store")
        frames.advance(store, before)
        registers |= self.registers(now) | self.holding(before)
        return State(registers=registers, store=now, until=self.until(), before=before)

    def controls(self) -> dict[int, int]:
        """Any levels of the controls, but for those that are fixed."""
        return {**self.frames.inputs("control"), **self.match.fixed}

    def until(self) -> list[int]:
        """How many writes each memory has seen."""
        return [len(log.writes) for log in self.frames.memories]

    def registers(self, store: dict[int, int]) -> dict[int, int]:
        """The registers that are the board's storage."""
        return {bit: store[leaf] for leaf, bit in self.match.stores.items()}

    def counting(self, tick: int) -> dict[int, int]:
        """The registers that count ticks."""
        return {bit: (tick >> place) & 1 for place, bit in enumerate(self.match.tick)}

    def holding(self, now: Round[int]) -> dict[int, int]:
        """The registers of cut nets after a round, loops being settled."""
        found: dict[int, int] = {}
        for held in self.match.held:
            value, known = self.cut_net(held.net, now)
            found[held.level] = value
            if held.known is not None:
                found[held.known] = known
        return found

    def cut_net(self, net: int, now: Round[int]) -> tuple[int, int]:
        """A net's level and whether it has one: if it has none, the first is any."""
        level = self.machine.nets[net]
        known = now.levels[level.known]
        return self.aig.mux(known, now.levels[level.level], self.aig.input()), known

    # rounds -----------------------------------------------------------------------------------

    def tick(self, registers: dict[int, int], controls: dict[int, int], until: list[int]) -> Levels:
        """All bits of the hardware in one tick."""
        known = dict(registers)
        for leaf, bit in self.match.controls.items():
            known[bit] = controls[leaf]
        reset = self.circuit.names.get("tick_rst", ())
        known |= {bit: Aig.false for bit in reset if isinstance(bit, int)}
        known |= {bit: self.aig.input() for bit in self.circuit.inputs if bit not in known}
        number = {name: index for index, name in enumerate(self.match.memories)}

        def read(name: str, address: Sequence[int]) -> Sequence[int]:
            index = number[name]
            return self.frames.memories[index].read(tuple(reversed(address)), until[index])

        return evaluated(self.aig, self.circuit, known, read)

    def round(self, state: State) -> Compared:
        """One round of both, from a state that is the same in both."""
        controls = self.controls()
        registers = state.registers
        early: list[Target] = []
        for number in range(self.match.ticks):
            levels = self.tick(registers, controls, state.until)
            last = registers
            registers = {
                bit: levels.at(one.following) for bit, one in self.circuit.registers.items()
            }
            if number < self.match.ticks - 1:
                early += self.early(levels, state, registers)
        now = self.settle(state, controls, levels)
        return self.compared(state, controls, now, levels, last, registers, early)

    def settle(self, state: State, controls: dict[int, int], levels: Levels) -> Round[int]:
        """The board's round; where a loop is free, it tries the hardware's levels first."""
        # All other leaves are low: what floats or fights reads 0 in the hardware.
        leaves = {**controls, **state.store}
        self.led.follow(self.held_levels(levels), leaves)
        return self.frames.settle(leaves, state.until, state.before)

    def held_levels(self, levels: Levels) -> dict[int, int]:
        """The levels of loops' leaves that the hardware's registers hold in a tick."""
        found: dict[int, int] = {}
        for held in self.match.held:
            name = self.machine.netlist.nets[held.net].name
            pairs = {name: held.level, f"known({name})": held.known}
            for loop in self.machine.loops:
                for variable, leaf in zip(loop.variables, loop.leaves, strict=True):
                    bit = pairs.get(variable)
                    if bit is not None:
                        found[leaf] = levels.at(bit)
        return found

    # what is to be equal ----------------------------------------------------------------------

    def early(self, levels: Levels, state: State, after: dict[int, int]) -> list[Target]:
        """That nothing advances before the last tick."""
        found: list[Target] = []
        for store in self.machine.stores:
            was, level = state.store[store.leaf], after[self.match.stores[store.leaf]]
            found.append(self.target("storage before the last tick", store.label, was, level))
        for name, unit in zip(self.match.memories, self.machine.memories, strict=True):
            for enables, _, _ in self.circuit.memories[name].writes:
                writes = self.aig.or_(levels.row(enables))
                found.append(
                    self.target("a write before the last tick", unit.label, Aig.false, writes)
                )
        return found

    def target(self, kind: str, name: str, board: int, hardware: int, when: int = 1) -> Target:
        """That two levels are equal, ``when`` that matters."""
        differs = self.aig.and2(when, self.aig.xor(board, hardware))
        return Target(kind=kind, name=name, board=board, hardware=hardware, differs=differs)

    def compared(
        self,
        state: State,
        controls: dict[int, int],
        now: Round[int],
        levels: Levels,
        last: dict[int, int],
        after: dict[int, int],
        targets: list[Target],
    ) -> Compared:
        """What is to be equal in and after a round."""
        aig, match, machine = self.aig, self.match, self.machine
        high = Aig.false if match.unsettled is None else levels.at(match.unsettled)
        settled = aig.and2(high ^ 1, now.unsettled ^ 1)
        same = partial(self.target, when=settled)
        if match.unsettled is not None or now.unsettled != Aig.false:
            targets.append(self.target("the output", "unsettled", now.unsettled, high))
        in_order = sorted(machine.netlist.nets, key=lambda net: machine.nets[net.index].level)
        for net in in_order:
            level, bit = now.levels[machine.nets[net.index].level], match.nets[net.index]
            targets.append(same("net", net.name, level, levels.at(bit)))
        for name, node in machine.lamps.items():
            targets.append(same("lamp", name, now.levels[node], levels.at(match.lamps[name])))
        for port in machine.netlist.ports:
            if port.name not in match.outputs:
                continue
            bits = match.outputs[port.name]
            for place, index in enumerate(reversed(port.nets)):
                level = now.levels[machine.nets[index].level]
                here = levels.at(bits[place]) if place < len(bits) else level ^ 1
                targets.append(same("port", f"{port.name}[{place}]", level, here))
        targets += self.cuts(now, last, after, settled)
        for store in machine.stores:
            level, here = now.levels[store.next], after[match.stores[store.leaf]]
            targets.append(same("storage after the round", store.label, level, here))
        for place, bit in enumerate(match.tick):
            targets.append(self.target("the count of ticks", f"tick[{place}]", 0, after[bit]))
        targets += self.written(now, levels, settled)
        following, _ = self.frames.advance(state.store, now)
        return Compared(
            controls=controls,
            store=state.store,
            targets=targets,
            settled=settled,
            following=State(registers=after, store=following, until=self.until(), before=now),
        )

    def cuts(
        self, now: Round[int], last: dict[int, int], after: dict[int, int], settled: int
    ) -> list[Target]:
        """That the registers of cut nets have the nets' levels on the last tick, and after it."""
        found: list[Target] = []
        for held in self.match.held:
            name = self.machine.netlist.nets[held.net].name
            value, known = self.cut_net(held.net, now)
            when = self.aig.and2(settled, known)
            for registers in (last, after):
                here = registers[held.level]
                found.append(self.target("the register of net", name, value, here, when))
                if held.known is not None:
                    here = registers[held.known]
                    found.append(self.target("the register of known", name, known, here, settled))
        return found

    def written(self, now: Round[int], levels: Levels, settled: int) -> list[Target]:
        """That memories are written alike."""
        aig, found = self.aig, list[Target]()
        for name, unit in zip(self.match.memories, self.machine.memories, strict=True):
            writes = now.levels[unit.write]
            ports = self.circuit.memories[name].writes
            if not ports:
                found.append(self.target("a write", unit.label, writes, Aig.false, settled))
            for enables, address, data in ports:
                for enable in dict.fromkeys(levels.row(enables)):
                    found.append(self.target("a write", unit.label, writes, enable, settled))
                when = aig.and2(settled, writes)
                pairs = [
                    ("written address", reversed(unit.address), address),
                    ("written word", iter(unit.data), data),
                ]
                for kind, nodes, bits in pairs:
                    for place, (node, bit) in enumerate(zip(nodes, bits, strict=True)):
                        label = f"{unit.label}, bit {place}"
                        level, here = now.levels[node], levels.at(bit)
                        found.append(self.target(kind, label, level, here, when))
        return found
