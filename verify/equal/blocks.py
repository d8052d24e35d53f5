"""Memory blocks of a mapped netlist, as parts of the design's memories.

What a design's memory holds is, bit for bit, what the blocks hold. Where a block may not be read
and written at one address at once, synthesis has every write wait for a clock, in registers at the
block's write port; then the memory holds what the block holds *after* the write that waits. And
it keeps beside the block what was written where it was read (``instead``), since the block shows
anything then. Rows of blocks are written by their own enables, and kept beside is one bit for all.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from random import Random

from breadproof.verify.equal.mapped import Block, Synthesized
from breadproof.verify.equal.patterns import MASK, PATTERNS, Levels, chosen, same
from breadproof.verify.equal.readback import Bit, Circuit, Memory, Unreadable

Level = Callable[[int], int]
"""The level of a register: a literal, or a number with a bit for each state."""

Choose = Callable[[int, int, int], int]
"""A level if the first is high, else another: ``test ? then : other``."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What the netlist has for a register of the design that holds what a memory showed.

    ``rows`` are its registers by row of blocks; ``select`` are the design's that tell which row was
    read, least significant first. But where the netlist's register ``when`` is high, it has
    ``instead``.
    """

    rows: tuple[int, ...]
    select: tuple[int, ...] = ()
    when: int | None = None
    instead: int | None = None

    def registers(self) -> list[int]:
        """All of the netlist's."""
        return [*self.rows, *(bit for bit in (self.when, self.instead) if bit is not None)]

    def view(self, design: Level, netlist: Level, choose: Choose, low: int) -> int:
        """What the netlist has, from the levels of these registers; ``low`` is a level."""
        row = [netlist(bit) for bit in self.rows]
        for bit in self.select:
            row += [low] * (len(row) % 2)
            row = [choose(design(bit), *two) for two in zip(row[1::2], row[::2], strict=True)]
        (level,) = row
        if self.when is None or self.instead is None:
            return level
        return choose(netlist(self.when), netlist(self.instead), level)


@dataclass(frozen=True, slots=True)
class Port:
    """How a lane of a block is written: enable, address, data."""

    enable: Bit
    address: tuple[Bit, ...]
    data: Bit


def part(block: Block, words: Sequence[int]) -> list[int]:
    """What a block holds of a memory's words, by the block's own addresses."""
    lines = len(block.order)
    found = []
    for address in range(1 << lines):
        place = block.row << lines
        place |= sum((address >> bit & 1) << to for bit, to in enumerate(block.order))
        word = words[place] if place < len(words) else 0
        found.append(sum((word >> bit & 1) << lane for lane, bit in enumerate(block.bits)))
    return found


def ports(memory: Memory) -> list[Port]:
    """How each lane is written; empty if none is."""
    return [
        Port(enable, address, bit)
        for enables, address, data in memory.writes
        for enable, bit in zip(enables, data, strict=True)
    ]


def own_address(block: Block, address: Sequence[int]) -> tuple[list[int], list[int]]:
    """A memory's address (0 where it has no more lines) as the block's, and the row's bits."""
    lines = len(block.order)
    padded = [*address, *[0] * (lines - len(address))]
    return [padded[to] for to in block.order], padded[lines:]


def shown_words(pair: Synthesized) -> dict[int, Kept]:
    """What the netlist has for the design's registers that take what a memory shows.

    It is a guess, from the netlist's levels in states by chance; the proof asks whether it holds.

    Raises:
        Unreadable: there is none, of a memory in rows.
    """
    netlist, dice = pair.netlist, Random(2)
    known = {bit: dice.getrandbits(PATTERNS) for bit in (*netlist.registers, *netlist.inputs)}

    def read(name: str, address: Sequence[int]) -> list[int]:
        return [dice.getrandbits(PATTERNS) for _ in range(netlist.memories[name].width)]

    run = Levels(netlist, dict(known), read)
    for block in pair.blocks:
        _meet(netlist.memories[block.name], run, known)
    run = Levels(netlist, known, read)
    after = run.after()
    found: dict[int, Kept] = {}
    taken = _takers(netlist)
    lanes: dict[tuple[str, int], list[tuple[Block, int]]] = {}
    for block in sorted(pair.blocks, key=lambda block: block.row):
        for lane, bit in enumerate(block.bits):
            lanes.setdefault((block.memory, bit), []).append((block, lane))
    for data, register in _takers(pair.design).items():
        for name, memory in pair.design.memories.items():
            for _, word in memory.reads:
                if data in word and (name, word.index(data)) in lanes:
                    here = lanes[name, word.index(data)]
                    shown = [taken.get(_word(netlist, block)[lane]) for block, lane in here]
                    rows = tuple(bit for bit in shown if bit is not None)
                    select = pair.rows.get(register, ())
                    if len(rows) == len(here) <= 1 << len(select):
                        found[register] = Kept(rows, select, *_instead(netlist, here, run, after))
                    elif len(here) > 1:
                        raise Unreadable(f"it is not found how rows of {name} are shown")
    return found


def _word(netlist: Circuit, block: Block) -> tuple[Bit, ...]:
    return netlist.memories[block.name].reads[0][1]


def _meet(memory: Memory, run: Levels, known: dict[int, int]) -> None:
    """Have a block written where it is read, in half of the states."""
    for port in ports(memory)[:1]:
        for line, bit in zip(memory.reads[0][0], port.address, strict=True):
            if bit in run.circuit.registers and isinstance(bit, int):
                known[bit] = chosen(MASK >> (PATTERNS // 2), run.at(line), known[bit])


def _instead(
    netlist: Circuit, lanes: Sequence[tuple[Block, int]], run: Levels, after: Mapping[int, int]
) -> tuple[int | None, int | None]:
    """The register that tells that a bit was written where it was read, in any of its rows, and the
    one that has it; ``after`` is what registers take. Of more than one row, what tells must be
    seldomer than that a row was."""
    hit = data = 0
    for block, lane in lanes:
        memory = netlist.memories[block.name]
        for port in ports(memory)[lane : lane + 1]:
            met = same(run.row(memory.reads[0][0]), run.row(port.address))
            hit |= run.at(port.enable) & met
            data = run.at(port.data)
    tells = {bit: level for bit, level in after.items() if level and level & hit == level}
    if len(lanes) == 1:
        tells = {bit: level for bit, level in tells.items() if level == hit}
    when = max(tells, key=lambda bit: tells[bit].bit_count(), default=None)
    instead = next((bit for bit, level in after.items() if level == data), None)
    return (None, None) if when is None or instead is None else (when, instead)


def _takers(circuit: Circuit) -> dict[Bit, int]:
    """The register that takes what a memory's read port shows, by the bit that is shown."""
    shown = {
        bit for memory in circuit.memories.values() for _, word in memory.reads for bit in word
    }
    found: dict[Bit, int] = {}
    for bit, register in circuit.registers.items():
        sources: tuple[Bit, ...] = (register.following,)
        gate = circuit.gates.get(sources[0]) if isinstance(sources[0], int) else None
        for source in gate.inputs if gate and sources[0] not in shown else sources:
            if source in shown:
                found.setdefault(source, bit)
    return found
