"""Whether a mapped netlist does what the design does that was synthesized: proved, clock by clock.

What is claimed. Let both come up, and let the pads bring in what they like from clock to clock. For
every run of the netlist the design has one in which at every clock every pad is given the same.
(Where a level at power-up is open, in what a memory block shows before its first read, the design
may come up as the netlist does.)

It is proved by induction over clocks. What links the two: registers of one class differ from their
levels at power-up alike (`alike`), and memories hold what their blocks hold (`blocks`). The links
are guessed; that they hold at power-up, and after a clock if they held before it, is what is
proved. So nothing rests on names, nor on what synthesis says that it did. Trusted are what a cell
of the FPGA is (`ice40`), yosys as the reader of the design, and the solvers' last answers.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from breadproof.verify.equal.alike import CONSTANT, Chance, Classes, Register, State, inputs, places
from breadproof.verify.equal.blocks import own_address, part, ports
from breadproof.verify.equal.mapped import Block, PadsDiffer, Synthesized, read_mapped
from breadproof.verify.equal.readback import Bit, Circuit, Unreadable
from breadproof.verify.equal.tick import Decided, Levels, evaluated
from breadproof.verify.equal.yosys import NoReader, ReadingFailed
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.second import asked_again
from breadproof.verify.prove.solver import Deadline, Solver

PARTINGS = 30
"""So often classes may be parted by what a solver finds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Same:
    """``because`` says why the verdict is not "equal".

    "differs": from a state that both can be taken to be in (whether it is ever reached is not
    asked) they go on differently. ``compared`` counts the levels that are proved equal;
    ``questions`` are the last questions, SMT-LIB 2 scripts for any solver.
    """

    verdict: Literal["equal", "differs", "undecided"]
    because: str = ""
    compared: int = 0
    questions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Target:
    """Two levels that are to be equal, and what they are.

    ``guess``: what was guessed of the netlist, and is not so if they are not equal.
    """

    name: str
    design: int
    netlist: int
    members: tuple[Register, ...] = ()
    guess: str = ""


def equal_netlist(
    design: str, netlist: str, seconds: float, tell: Callable[[str], None] = lambda text: None
) -> Same:
    """Whether a mapped netlist (JSON of yosys) does what a design (RTLIL) does.

    Raises:
        SolversDisagree: two solvers disagree; no verdict is given.
    """
    deadline = Deadline(seconds)
    tell("reading the mapped netlist")
    try:
        pair = read_mapped(design, netlist, seconds)
        return _Proof(pair, deadline, tell).run()
    except PadsDiffer as error:
        return Same(verdict="differs", because=str(error))
    except (NoReader, ReadingFailed, Unreadable) as error:
        return Same(verdict="undecided", because=str(error))


@dataclass(slots=True)
class _Clock:
    """One clock of both, as literals; ``required`` must hold in it."""

    aig: Aig
    classes: dict[int, int] = field(default_factory=dict)
    reads: dict[str, list[tuple[Sequence[int], Sequence[int]]]] = field(default_factory=dict)
    brought: dict[str, list[int]] = field(default_factory=dict)
    required: list[int] = field(default_factory=list)
    targets: list[Target] = field(default_factory=list)


class _Proof:
    def __init__(self, pair: Synthesized, deadline: Deadline, tell: Callable[[str], None]) -> None:
        self.pair = pair
        self.deadline = deadline
        self.tell = tell
        self.names = tuple(places(circuit) for circuit in (pair.design, pair.netlist))

    def run(self) -> Same:
        """Guess what is alike, and prove it, or part it where a solver does."""
        self.tell("looking for registers that are alike")
        chance = self.chance = Chance(self.pair)
        self.shown = chance.shown
        wrong = self.wrong_start()
        if wrong:
            # How rows of blocks lie is a guess; of one row there is nothing to be guessed.
            return Same(verdict="undecided" if self.pair.rows else "differs", because=wrong)
        for number in range(PARTINGS):
            self.tell("comparing the mapped netlist with the design" + " again" * (number > 0))
            classes = chance.classes(self.deadline.left)
            if classes is None:
                because = "it is not found in time which registers are alike"
                return Same(verdict="undecided", because=because)
            unlinked = self.unstarted(classes) or self.unplaced(classes)
            if unlinked:
                return Same(verdict="undecided", because=unlinked)
            found = self.compared(self.clock(classes), classes)
            if found is not None:
                return found
        because = f"it is not found in {PARTINGS} attempts which registers are alike"
        return Same(verdict="undecided", because=because)

    # what holds at power-up -------------------------------------------------------------------

    def wrong_start(self) -> str:
        """The first block that holds other words than the design's memory, in words."""
        for block in self.pair.blocks:
            here = self.pair.design.memories[block.memory].words
            there = self.pair.netlist.memories[block.name].words
            if here is not None and list(there or ()) != part(block, here):
                return f"{block.name} does not hold the words of {block.memory}"
            if block.waits:
                for port in ports(self.pair.netlist.memories[block.name]):
                    if self.at_start(port.enable) != Aig.false:
                        return f"{block.name} may be written as it powers up"
        return ""

    def at_start(self, bit: Bit) -> int:
        """How a bit of the netlist that registers decide comes up."""
        aig = Aig()

        def start(register: int) -> int:
            known = self.start(1, register)
            return aig.input() if known is None else known

        return Decided(aig, self.pair.netlist, start).at(bit)

    def start(self, side: int, bit: Bit) -> int | None:
        """How a bit comes up, if that is known."""
        if isinstance(bit, str):
            return int(bit) if bit in ("0", "1") else None
        circuit = self.pair.netlist if side else self.pair.design
        return circuit.registers[bit].initial if bit in circuit.registers else None

    def unstarted(self, classes: Classes) -> str:
        """Why a class is not sure to be alike at power-up, in words.

        One register of the netlist with an open level may be in it, and then none with a known one.
        """
        known: set[int] = {CONSTANT}
        open_: dict[int, list[Register]] = {}
        for (side, bit), number in classes.items():
            if self.start(side, bit) is not None:
                known.add(number)
            elif side == 1:
                open_.setdefault(number, []).append((side, bit))
        for number, members in open_.items():
            if len(members) > 1 or number in known:
                return f"{self.called(members[0])} comes up by chance"
        for bit in self.shown:
            if self.start(0, bit) is not None:
                return f"{self.called((0, bit))} does not come up by chance"
        return ""

    def unplaced(self, classes: Classes) -> str:
        """Which memory's rows of blocks the netlist chooses among by no register that is found.

        Without it the two are not linked, and what differs then may be no difference.
        """
        found = {number for (side, _), number in classes.items() if side == 1} | {CONSTANT}
        for kept in self.shown.values():
            for one in kept.select:
                if classes[0, one] not in found:
                    called = self.called((0, one))
                    return f"it is not found what chooses among rows of blocks ({called})"
        return ""

    def called(self, one: Register) -> str:
        """A register's shortest name."""
        names = [name for name in self.names[one[0]].get(one[1], ()) if "$auto$" not in name[0]]
        name, place = min(names, key=lambda found: (len(found[0]), found), default=("?", 0))
        circuit = (self.pair.design, self.pair.netlist)[one[0]]
        return f"{name}[{place}]" if len(circuit.names.get(name, ())) > 1 else name

    # a clock of both --------------------------------------------------------------------------

    def clock(self, classes: Classes) -> _Clock:
        """Both from a state that is linked, and what is to be equal in it and after it."""
        aig = Aig()
        clock = _Clock(aig, {CONSTANT: Aig.false})
        known: tuple[dict[int, int], dict[int, int]] = ({}, {})
        for (side, bit), number in classes.items():
            literal = clock.classes.setdefault(number, aig.input() if number else Aig.false)
            known[side][bit] = literal ^ (self.start(side, bit) or 0)
        for bit, kept in self.shown.items():
            here, there = (one.__getitem__ for one in known)
            known[0][bit] = kept.view(here, there, aig.mux, Aig.false)
        brought = inputs(self.pair.netlist)
        for name, bits in inputs(self.pair.design).items():
            drawn = clock.brought[name] = [aig.input() for _ in bits]
            known[0].update(zip(bits, drawn, strict=True))
            known[1].update(zip(brought.get(name, ()), drawn, strict=False))
        levels = [
            evaluated(aig, circuit, known[side], self.reader(clock, circuit, side))
            for side, circuit in enumerate((self.pair.design, self.pair.netlist))
        ]
        self.link_reads(clock, levels[1])
        self.add_pads(clock, levels)
        self.add_registers(clock, levels, classes)
        self.add_shown(clock, levels)
        for block in self.pair.blocks:
            self.add_block(clock, levels, block)
        return clock

    def reader(
        self, clock: _Clock, circuit: Circuit, side: int
    ) -> Callable[[str, Sequence[int]], Sequence[int]]:
        """What a memory shows is anything, noted with its address."""

        def read(name: str, address: Sequence[int]) -> Sequence[int]:
            word = [clock.aig.input() for _ in range(circuit.memories[name].width)]
            clock.reads.setdefault(f"{side}{name}", []).append((tuple(address), tuple(word)))
            return word

        return read

    def link_reads(self, clock: _Clock, netlist: Levels) -> None:
        """Where a memory and a block are read at one place they show the same."""
        aig = clock.aig
        for block in self.pair.blocks:
            lanes = ports(self.pair.netlist.memories[block.name])
            late = block.waits
            for address, word in clock.reads.get(f"0{block.memory}", ()):
                own, here = self.own(aig, block, address)
                for there, lane_word in clock.reads.get(f"1{block.name}", ()):
                    met = aig.and2(here, aig.equal(own, there))
                    if lanes and not late and not block.certain:
                        written = [aig.equal(there, netlist.row(one.address)) for one in lanes]
                        hits = zip(written, lanes, strict=True)
                        hit = aig.or_([aig.and2(netlist.at(one.enable), at) for at, one in hits])
                        met = aig.and2(met, hit ^ 1)
                    for lane, bit in enumerate(block.bits):
                        if bit >= len(word):
                            continue
                        level = lane_word[lane]
                        if late:
                            port = lanes[lane]
                            hit = aig.equal(own, netlist.row(port.address))
                            hit = aig.and2(hit, netlist.at(port.enable))
                            level = aig.mux(hit, netlist.at(port.data), level)
                        clock.required.append(aig.and2(met, aig.xor(level, word[bit])) ^ 1)

    def own(self, aig: Aig, block: Block, address: Sequence[int]) -> tuple[list[int], int]:
        """A memory's address as the block's own, and whether it is in the block's row."""
        own, upper = own_address(block, address)
        row = [(block.row >> place) & 1 for place in range(len(upper))]
        fits = block.row >> len(upper) == 0
        return own, aig.equal(upper, row) if fits else Aig.false

    # what is to be equal ----------------------------------------------------------------------

    def add_pads(self, clock: _Clock, levels: Sequence[Levels]) -> None:
        """All that pads are given."""
        for name, bits in self.pair.design.ports.items():
            if any(bit in self.pair.design.inputs for bit in bits):
                continue
            others = self.pair.netlist.ports[name]  # `read_mapped` has compared the names
            for place, (bit, other) in enumerate(zip(bits, others, strict=True)):
                here, there = levels[0].at(bit), levels[1].at(other)
                clock.targets.append(Target(f"the pad {name}[{place}]", here, there))

    def add_registers(self, clock: _Clock, levels: Sequence[Levels], classes: Classes) -> None:
        """That the registers of a class are alike after the clock."""
        first: dict[int, tuple[Register, int]] = {}
        for one, number in classes.items():
            side, bit = one
            circuit = (self.pair.design, self.pair.netlist)[side]
            after = levels[side].at(circuit.registers[bit].following) ^ (self.start(side, bit) or 0)
            if number == CONSTANT:
                first.setdefault(number, (one, Aig.false))
            if number not in first:
                first[number] = (one, after)
                continue
            other, level = first[number]
            name = f"the register {self.called(one)}"
            clock.targets.append(Target(name, level, after, (other, one)))

    def after(self, aig: Aig, side: int, levels: Levels) -> Decided:
        """The levels of one side after the clock, of what registers alone decide."""
        circuit = (self.pair.design, self.pair.netlist)[side]
        return Decided(aig, circuit, lambda bit: levels.at(circuit.registers[bit].following))

    def add_shown(self, clock: _Clock, levels: Sequence[Levels]) -> None:
        """That what a memory shows is held alike after the clock."""
        here, there = (self.after(clock.aig, side, levels[side]) for side in (0, 1))
        for bit, kept in self.shown.items():
            name = f"the register {self.called((0, bit))}"
            level = kept.view(here.at, there.at, clock.aig.mux, Aig.false)
            guess = "how rows of blocks are shown" if kept.select and kept.when is not None else ""
            clock.targets.append(Target(name, here.at(bit), level, guess=guess))

    def add_block(self, clock: _Clock, levels: Sequence[Levels], block: Block) -> None:
        """That a memory and its block hold the same after the clock, at any one address."""
        aig, memory = clock.aig, self.pair.design.memories[block.memory]
        size = max(1, (memory.size - 1).bit_length())
        rows = [*(one[0] for one in memory.reads), *(one[1] for one in memory.writes)]
        if len(memory.writes) > 1 or any(len(row) != size for row in rows):
            raise Unreadable(f"{block.memory} is written in two ways, or beyond its words")
        lines = len(block.order)
        place = [aig.input() for _ in range(lines)]
        upper = [(block.row >> line) & 1 for line in range(max(0, size - lines))]
        whole = [*place, *upper][:size]
        # Lines that the memory does not have are low.
        own, _ = own_address(block, whole)
        late = block.waits
        lanes = ports(self.pair.netlist.memories[block.name])
        levels_there = self.after(aig, 1, levels[1]) if late else levels[1]
        for lane, bit in enumerate(block.bits):
            if bit >= memory.width:
                continue
            held = aig.input()
            here = there = held
            for enables, to, word in memory.writes:
                hit = aig.equal(levels[0].row(to), whole)
                hit = aig.and2(levels[0].at(enables[bit]), hit)
                here = aig.mux(hit, levels[0].at(word[bit]), held)
            for port in lanes[lane : lane + 1]:
                enable, data, *address = levels_there.row((port.enable, port.data, *port.address))
                there = aig.mux(aig.and2(enable, aig.equal(address, own)), data, held)
            name = f"bit {bit} of a word of {block.memory}"
            clock.targets.append(Target(name, here, there))

    # asking -----------------------------------------------------------------------------------

    def compared(self, clock: _Clock, classes: Classes) -> Same | None:
        """What two solvers say; None if the first one has parted a class that was a guess."""
        aig, solver = clock.aig, Solver(clock.aig)
        for literal in clock.required:
            solver.require(literal)
        if solver.check([], self.deadline.left) != "sat":
            return Same(verdict="undecided", because="no state is found in which both can be")
        different, unlinked, guess, guessed = "", "", "", False
        loose = self.loose(clock, classes)
        for target in clock.targets:
            differs = aig.xor(target.design, target.netlist)
            if differs == Aig.false:
                continue
            answer = solver.check([differs], self.deadline.left)
            if answer == "unknown":
                return Same(verdict="undecided", because=solver.reason or "out of time")
            if answer == "unsat":
                solver.require(differs ^ 1)
                continue
            guessed |= self.chance.learn(self.state(clock, classes, solver), target.members)
            guess = guess or target.guess
            cone = aig.cone([target.design, target.netlist], ())
            missing = [loose[variable] for variable in cone if variable in loose]
            unlinked = unlinked or next(iter(missing), "")
            different = different or ("" if missing else self.told(target, solver))
        if guessed:
            return None
        if different and not guess:
            return Same(verdict="differs", because=different)
        if guess or unlinked:
            return Same(verdict="undecided", because=f"it is not found {guess or unlinked}")
        fresh = Solver(aig)
        for literal in clock.required:
            fresh.require(literal)
        differs = aig.or_([aig.xor(one.design, one.netlist) for one in clock.targets])
        question = fresh.question([differs])
        answer = asked_again(fresh, [differs], self.deadline.left)
        if answer != "unsat":
            return Same(verdict="undecided", because=fresh.reason or "out of time")
        return Same(verdict="equal", compared=len(clock.targets), questions=(question,))

    def loose(self, clock: _Clock, classes: Classes) -> dict[int, str]:
        """By variable, what is not found of registers that are alike with none of the other side:
        the two are not linked by them, and what differs with them may be no difference."""
        members: dict[int, list[Register]] = {}
        for one, number in classes.items():
            members.setdefault(number, []).append(one)
        return {
            clock.classes[number] >> 1: f"which register is alike with {self.called(ones[0])}"
            for number, ones in members.items()
            if number != CONSTANT and len({side for side, _ in ones}) == 1
        }

    def told(self, target: Target, solver: Solver) -> str:
        """A difference in words."""
        levels = solver.values([target.design, target.netlist])
        return (
            f"{target.name} is {levels[target.design]} in the design, "
            f"{levels[target.netlist]} in the mapped netlist, in a state that both may be in "
            "(whether a run ever gets there was not asked)"
        )

    def state(self, clock: _Clock, classes: Classes, solver: Solver) -> State:
        """The state that the solver has found."""
        asked = [*clock.classes.values(), *(one for row in clock.brought.values() for one in row)]
        levels = solver.values(asked)
        return State(
            registers={one: levels[clock.classes[number]] for one, number in classes.items()},
            inputs={name: tuple(levels[one] for one in row) for name, row in clock.brought.items()},
        )
