"""The exported modules in motion: rounds of a board in Amaranth's simulator."""

from __future__ import annotations

import sys
import types
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import reduce
from itertools import count
from typing import Any

from amaranth.hdl import Cat, ClockDomain, Module
from amaranth.hdl import Value as HdlValue
from amaranth.sim import Simulator

from breadproof.export.amaranth_file import Generated, generate
from breadproof.export.lowering.attributes import place_of
from breadproof.specs.netlist.model import Netlist

_NUMBER = count()


def built(generated: Generated, memory: Any = None) -> Any:
    """An instance of the top class of a generated source, which is run as a module.

    ``memory`` makes the memories, if they are not to be Amaranth's own.
    """
    name = f"breadproof_generated_{next(_NUMBER)}"
    module = types.ModuleType(name)
    sys.modules[name] = module
    try:
        code = compile(generated.source, f"<{name}>", "exec", dont_inherit=True)
        exec(code, module.__dict__)
        if memory is not None:
            module.__dict__["Memory"] = memory
        return getattr(module, generated.lowered.top)()
    finally:
        del sys.modules[name]


@dataclass(frozen=True, slots=True, kw_only=True)
class PinLevel:
    """What a chip puts on a pin: ``level`` while ``drives``."""

    level: int
    drives: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchRound:
    """A settled round: nets by name, the parts whose memory writes, and the loops' state."""

    nets: Mapping[str, int]
    writes: tuple[str, ...]
    unsettled: bool
    changes: bool
    """Storage changes at the end of this round, so that another one follows."""


class NotQuiet(Exception):
    """The board did not get quiet."""


class Bench:
    """A board on the bench: set levels, run rounds, look.

    `settle` runs a round up to its last tick, `advance` takes the tick in which storage moves;
    `round` does both, `step` runs rounds until one would change nothing. Everything that is not set
    is 0; the first round is power-up, in which no part has seen an edge.
    """

    def __init__(self, netlist: Netlist, generated: Generated | None = None) -> None:
        """Build and simulate the board's generated source."""
        self.netlist = netlist
        self.generated = generated or generate(netlist)
        self.lowered = self.generated.lowered
        self.top = built(self.generated)
        wrapper = Module()
        self.domain = ClockDomain("sync", reset_less=True)
        wrapper.domains += self.domain
        wrapper.submodules.top = self.top
        self.simulator = Simulator(wrapper)
        self.held: list[Any] = []
        self.simulator.add_testbench(self.keep)
        self.simulator.advance()
        self.context = self.held[0]
        self.names = [net.name for net in netlist.nets]
        self.nets = self.row(self.lowered.nets)
        self.stores = {
            f"{label}[{bit}]": self.at(attribute)[bit]
            for label, (attribute, width) in self.lowered.storage.items()
            for bit in range(width)
        }
        self.store_row = self.row(attribute for attribute, _ in self.lowered.storage.values())
        self.ports = {label: self.at(name) for label, name in self.lowered.writes.items()}
        self.enables = Cat(*(port.en for port in self.ports.values()))
        self.drive_row = Cat(
            *(
                self.at(name) if name not in ("0", "1") else int(name)
                for pair in self.lowered.drives.values()
                for name in pair
            )
        )
        self.control_widths = {
            name: len(self.at(name)) for bits in self.lowered.controls.values() for name, _ in bits
        }
        self.control_row = self.row(self.control_widths)

    async def keep(self, context: Any) -> None:
        """Get hold of the simulator's context."""
        self.held.append(context)

    def restart(self) -> None:
        """Set everything back to 0 and take the power off."""
        self.simulator.reset()
        self.simulator.advance()
        self.context = self.held[-1]

    def at(self, attribute: str) -> Any:
        """What an attribute of the top class is, dots and a bit behind it included."""
        name, bit = place_of(attribute)
        found = reduce(getattr, name.split("."), self.top)
        return found if bit is None else found[bit]

    def row(self, attributes: Iterable[str]) -> HdlValue:
        """Many signals as one, so that they are read and written at once."""
        return Cat(*(self.at(attribute) for attribute in attributes))

    # setting ----------------------------------------------------------------------------------

    def put(self, levels: Iterable[tuple[HdlValue, int]]) -> None:
        """Set signals, all at once."""
        signals, value, place = [], 0, 0
        for signal, level in levels:
            signals.append(signal)
            value |= (level & ((1 << len(signal)) - 1)) << place
            place += len(signal)
        if signals:
            self.context.set(Cat(*signals), value)

    def set_controls(self, controls: Mapping[str, tuple[int, ...]]) -> None:
        """Set controls by name, each as its bits (`Control.bits`)."""
        self.put(
            (self.at(attribute)[bit], level)
            for name, levels in controls.items()
            for (attribute, bit), level in zip(self.lowered.controls[name], levels, strict=True)
        )

    def set_free(self, free: Mapping[str, int]) -> None:
        """Set what readers of unknown nets see; a reader that has no choice is passed over."""
        self.put(
            (self.at(self.lowered.free[reader]), level)
            for reader, level in free.items()
            if reader in self.lowered.free
        )

    def set_storage(self, storage: Mapping[str, int]) -> None:
        """Set storage bits (``U3.R[2]``)."""
        self.put((self.stores[label], level) for label, level in storage.items())

    def set_words(self, memory: str, words: Mapping[int, int]) -> None:
        """Set words of a memory (``U7.M``)."""
        data = self.at(self.lowered.memories[memory]).data
        self.put((data[address], word) for address, word in words.items())

    def set_loops(self, levels: Mapping[int, int], known: Mapping[int, int]) -> None:
        """Start the round over with these levels in the registers of cut nets (by net index).

        ``known``: whether the net has a level at all, for nets that need not have one.
        """
        pairs: list[tuple[HdlValue, int]] = [(self.top.tick, 0)]
        for held in self.lowered.held:
            if held.net in levels:
                pairs.append((self.at(held.level), levels[held.net]))
                if held.known is not None:
                    pairs.append((self.at(held.known), known.get(held.net, 1)))
        self.put(pairs)

    # looking ----------------------------------------------------------------------------------

    def net_bits(self) -> int:
        """All nets as one number, net 0 in bit 0."""
        return int(self.context.get(self.nets))

    def levels(self) -> dict[str, int]:
        """The nets' levels by name."""
        bits = self.net_bits()
        return {name: (bits >> place) & 1 for place, name in enumerate(self.names)}

    def storage(self) -> dict[str, int]:
        """Storage bits by label."""
        bits = int(self.context.get(self.store_row))
        return {label: (bits >> place) & 1 for place, label in enumerate(self.stores)}

    def word(self, memory: str, address: int) -> int:
        """A word of a memory."""
        return int(self.context.get(self.at(self.lowered.memories[memory]).data[address]))

    def drives(self) -> dict[str, PinLevel]:
        """What every driving pin of a chip does, by label."""
        bits = int(self.context.get(self.drive_row))
        return {
            label: PinLevel(
                level=(bits >> (2 * place)) & 1, drives=bool((bits >> (2 * place + 1)) & 1)
            )
            for place, label in enumerate(self.lowered.drives)
        }

    def unsettled(self) -> bool:
        """Whether a loop would still move."""
        return self.lowered.cuts.ticks > 1 and bool(self.context.get(self.top.unsettled))

    def writing(self) -> tuple[str, ...]:
        """The labels of the memories that write now."""
        bits = int(self.context.get(self.enables)) if self.ports else 0
        return tuple(label for place, label in enumerate(self.ports) if (bits >> place) & 1)

    def write_changes(self, label: str) -> bool:
        """Whether a write changes its word."""
        port = self.ports[label]
        packed = int(self.context.get(Cat(port.data, port.addr)))
        data, address = packed & ((1 << len(port.data)) - 1), packed >> len(port.data)
        depth = self.at(self.lowered.memories[label]).depth
        return address < depth and self.word(label, address) != data

    # running ----------------------------------------------------------------------------------

    def tick(self) -> None:
        """One tick of the clock."""
        self.context.set(self.domain.clk, 1)
        self.context.set(self.domain.clk, 0)

    def settle(self) -> None:
        """Run to the last tick of the round."""
        for _ in range(self.lowered.cuts.ticks - 1):
            self.tick()

    def advance(self) -> bool:
        """The last tick: storage moves. Whether any of it changed."""
        changed = any(self.write_changes(label) for label in self.writing())
        before = int(self.context.get(self.store_row))
        self.tick()
        return changed or int(self.context.get(self.store_row)) != before

    def round(self) -> BenchRound:
        """One round."""
        self.settle()
        nets, unsettled = self.levels(), self.unsettled()
        writes = sorted({label.rpartition(".")[0] for label in self.writing()})
        return BenchRound(
            nets=nets, writes=tuple(writes), unsettled=unsettled, changes=self.advance()
        )

    def step(
        self, controls: Mapping[str, tuple[int, ...]] | None = None, limit: int = 200
    ) -> list[BenchRound]:
        """Change controls, then rounds until one changes nothing.

        Raises:
            NotQuiet: after ``limit`` rounds.
        """
        self.set_controls(controls or {})
        found: list[BenchRound] = []
        while len(found) < limit:
            found.append(self.round())
            if not (found[-1].changes or found[-1].unsettled):
                return found
        raise NotQuiet(f"not quiet after {limit} rounds")
