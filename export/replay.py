"""Replaying a trace through the exported modules: the second opinion on every run that is shown.

What the Machine says of a run is held against the generated Amaranth source in Amaranth's
simulator: every net in every round, the number of rounds, what was written.
"""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.export.simulate import Bench
from breadproof.specs.machine.trace import Trace, TraceRound, TraceStep
from breadproof.specs.netlist.model import Netlist

SHOWN = 12
"""So many nets of the first round that differs are named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Replay:
    """Whether the modules do what a trace says, and if not, where the first round differs.

    ``unsettled`` are the rounds, as (step, round) from 0, in which a loop of the modules found no
    level; their nets are not compared, and such a round is not quiet.
    """

    agrees: bool
    differences: tuple[str, ...]
    unsettled: tuple[tuple[int, int], ...] = ()


def replay(netlist: Netlist, trace: Trace, bench: Bench | None = None) -> Replay:
    """Run a trace through the modules of its board; ``bench``, one of it, saves building another.

    Where a loop takes a level that its past does not decide (design.md, section 4), the modules are
    started from the trace's level and have to keep it. That is allowed only in a round in which
    something behind the loop changed, and at power-up.
    """
    if bench is None:
        bench = Bench(netlist)
    else:
        bench.restart()
    return _Replayer(netlist, trace, bench).run()


class _Replayer:
    def __init__(self, netlist: Netlist, trace: Trace, bench: Bench) -> None:
        self.netlist = netlist
        self.trace = trace
        self.bench = bench
        self.differences: list[str] = []
        self.unsettled: list[tuple[int, int]] = []
        self.before: tuple[int, ...] | None = None
        self.wrote_before = False
        self.kept: list[dict[str, int]] = []

    def run(self) -> Replay:
        bench = self.bench
        bench.set_storage(
            {label: level for label, level in self.trace.storage.items() if label in bench.stores}
        )
        for memory, words in self.trace.words.items():
            bench.set_words(memory, words)
        for number, step in enumerate(self.trace.steps):
            self.step(number, step)
            if self.differences:
                break
            self.keep()
        self.goes_round()
        return Replay(
            agrees=not self.differences,
            differences=tuple(self.differences),
            unsettled=tuple(self.unsettled),
        )

    def keep(self) -> None:
        """Remember the storage after a step, if the run is to come back to it."""
        if self.trace.loop is not None:
            self.kept.append(self.bench.storage())

    def goes_round(self) -> None:
        """Whether the modules' storage is the same where the run says that it comes back."""
        loop = self.trace.loop
        if loop is None or self.differences:
            return
        then, now = self.kept[loop], self.kept[-1]
        self.differences += [
            f"{label} is {now[label]} after the last step of the modules, {then[label]} after "
            f"step {loop}"
            for label in self.trace.same
            if label in now and now[label] != then[label]
        ][:SHOWN]

    def step(self, number: int, step: TraceStep) -> None:
        bench = self.bench
        bench.set_controls(step.controls)
        bench.set_free(step.free)
        writes: set[str] = set()
        for position, one in enumerate(step.rounds):
            bench.settle()
            nets = self.settled(one)
            if bench.unsettled():
                self.unsettled.append((number, position))
            elif nets:
                self.differences += [f"step {number}, round {position}: {text}" for text in nets]
                return
            writing = {label.rpartition(".")[0] for label in bench.writing()}
            writes |= writing
            unsettled = bool(self.unsettled) and self.unsettled[-1] == (number, position)
            changes = bench.advance() or unsettled
            last = position == len(step.rounds) - 1
            goes_on = last and not self.trace.ends and number == len(self.trace.steps) - 1
            if changes == last and not goes_on:
                says = "goes on after" if last else "is quiet after"
                self.differences.append(
                    f"step {number}: the modules' board {says} round {position}, "
                    f"the trace has {len(step.rounds)} rounds"
                )
                return
            self.wrote_before = bool(writing)
        settled = all(step_number != number for step_number, _ in self.unsettled)
        if settled and tuple(sorted(writes)) != tuple(sorted(step.writes)):
            self.differences.append(
                f"step {number}: the modules write in {', '.join(sorted(writes)) or 'no part'}, "
                f"the trace in {', '.join(sorted(step.writes)) or 'no part'}"
            )

    def settled(self, one: TraceRound) -> list[str]:
        """Compare a round; let loops whose level is open start from the trace's level."""
        bench, before = self.bench, self.before
        differing = self.differing(one)
        if (differing or bench.unsettled()) and bench.lowered.held:
            open_nets = self.open_nets(before)
            wanted = {
                held.net: one.nets[bench.names[held.net]]
                for held in bench.lowered.held
                if held.net in open_nets
            }
            known = {net: int(bench.names[net] not in one.unknown) for net in wanted}
            bench.set_loops(wanted, known)
            bench.settle()
            differing = self.differing(one)
        self.before = self.sources()
        return differing

    def differing(self, one: TraceRound) -> list[str]:
        """The nets whose levels differ, in words."""
        bench = self.bench
        bits = bench.net_bits()
        found = [
            f"{name} is {(bits >> place) & 1} in the modules, {one.nets[name]} in the trace"
            for place, name in enumerate(bench.names)
            if one.nets[name] != (bits >> place) & 1
        ]
        more = len(found) - SHOWN
        return [*found[:SHOWN], f"and {more} more nets differ"] if more > 0 else found

    # which loops are open ---------------------------------------------------------------------

    def sources(self) -> tuple[int, ...]:
        """What can move a loop: controls, storage, nets; and whether a word was written."""
        bench = self.bench
        return (
            int(bench.context.get(bench.control_row)),
            int(bench.context.get(bench.store_row)),
            bench.net_bits(),
        )

    def open_nets(self, before: tuple[int, ...] | None) -> frozenset[int]:
        """The nets of loops behind which something moved since the round before.

        A net behind a loop that changed, storage of a chip that drives one, any control that
        changed, a written word, or a choice of a reader there.
        """
        lowered = self.bench.lowered
        now = self.sources()
        found: set[int] = set()
        for loop, behind in zip(lowered.cuts.loops, lowered.cuts.behind, strict=True):
            mask = sum(1 << net for net in behind - set(loop))
            moved = (
                before is None
                or now[0] != before[0]
                or (now[2] ^ before[2]) & mask
                or self.wrote_before
                or (now[1] ^ before[1]) & self.storage_mask(behind)
                or self.chooses(behind)
            )
            if moved:
                found |= set(loop)
        return frozenset(found)

    def drivers(self, nets: frozenset[int]) -> frozenset[str]:
        """The parts that drive one of these nets, or one that is joined to it in any way; those
        that join them by analogue switches, too."""
        pins = [pin for net in self.joined(nets) for pin in self.netlist.nets[net].pins]
        switching = {part.name for part in self.netlist.parts if part.type.switches}
        return frozenset(pin.part for pin in pins if pin.kind.drives or pin.part in switching)

    def joined(self, nets: frozenset[int]) -> frozenset[int]:
        """Nets and all that contacts, resistors and diodes may join to them; no rail."""
        netlist = self.netlist
        pairs = [(contact.a, contact.b) for contact in netlist.contacts]
        pairs += [(resistor.a, resistor.b) for resistor in netlist.resistors]
        pairs += [(link.a, link.b) for link in netlist.links]
        pairs += [(diode.anode, diode.cathode) for diode in netlist.diodes]
        next_to: dict[int, list[int]] = {}
        for a, b in pairs:
            next_to.setdefault(a, []).append(b)
            next_to.setdefault(b, []).append(a)
        found, stack = set(nets), list(nets)
        while stack:
            for net in next_to.get(stack.pop(), ()):
                if net not in found and netlist.nets[net].rail is None:
                    found.add(net)
                    stack.append(net)
        return frozenset(found)

    def storage_mask(self, nets: frozenset[int]) -> int:
        """The bits of the storage of parts that drive one of these nets."""
        drivers = self.drivers(nets)
        return sum(
            1 << place
            for place, label in enumerate(self.bench.stores)
            if label.partition(".")[0] in drivers
        )

    def chooses(self, nets: frozenset[int]) -> bool:
        """Whether what drives one of these nets may read a choice, on an open pin or on a net."""
        free, drivers = self.bench.lowered.free, self.drivers(nets)
        return any(pin.label in free for pin in self.netlist.pins() if pin.part in drivers)
