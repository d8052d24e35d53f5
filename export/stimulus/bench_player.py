"""A program played in Amaranth's simulator, on the modules that are exported."""

from __future__ import annotations

from breadproof.export.simulate import Bench
from breadproof.export.stimulus.controls import resting
from breadproof.export.stimulus.player import MAX_ROUNDS, Pause, Reason, Record
from breadproof.export.stimulus.program import Instruction, Op, Program
from breadproof.export.stimulus.sights import Evaluator, Sights
from breadproof.export.stimulus.start import Start, free_level


class BenchPlayer:
    """See `player.Player`. ``every_round``: each round is recorded, too."""

    def __init__(
        self,
        sights: Sights,
        bench: Bench,
        program: Program,
        start: Start,
        breaks: tuple[int, ...] = (),
        *,
        every_round: bool = False,
    ) -> None:
        """Take a bench that was not used, and set what it starts with."""
        self.sights, self.bench, self.program, self.start = sights, bench, program, start
        self.breaks, self.every_round = breaks, every_round
        self.memories = [memory.label for memory in sights.machine.memories]
        self.evaluator = Evaluator(sights, self.read)
        self.evaluator.leaves = dict.fromkeys([*sights.remembered, *sights.gathered], 0)
        self.evaluator.leaves[sights.first] = 1
        self.place, self.loops = 0, list[int]()
        self.step, self.rounds = -1, 0
        self.touched = False
        self.records: list[Record] = []
        self.held: dict[int, int] = {}
        self.seen = 0
        self.controls: dict[int, tuple[str, int]] = {}
        self.levels: dict[str, list[int]] = {}
        self.control_bits = 0
        for name, bits in resting(sights.machine.netlist).items():
            self.levels[name] = list(bits)
            for bit in range(len(bits)):
                place = sights.row.control(name, bit)
                self.controls[place] = (name, bit)
                self.control_bits |= bits[bit] << place
        bench.set_storage(start.storage)
        if start.seed is not None:  # else memories hold just what the modules say
            self._fill()
        bench.put(
            (bench.at(held.level), level)
            for held, level in zip(bench.lowered.held, start.held, strict=True)
        )
        bench.set_controls({name: tuple(bits) for name, bits in self.levels.items()})
        self.lamps = bench.row(bench.lowered.lamps[lamp] for lamp in sights.row.lamps)

    def _fill(self) -> None:
        """Put all words into the memories that are written."""
        for memory in self.sights.machine.memories:
            words = self.start.words[memory.label] if memory.contents is None else ()
            for first in range(0, len(words), 64):
                some = dict(enumerate(words[first : first + 64], first))
                self.bench.set_words(memory.label, some)

    def read(self, memory: int, bit: int, address: int) -> int:
        """A bit of a word; 0 beyond the memory's end."""
        if address >= self.sights.machine.memories[memory].words:
            return 0
        return self.word(memory, address) >> bit & 1

    def word(self, memory: int, address: int) -> int:
        """See `Player`."""
        return self.bench.word(self.memories[memory], address)

    def row(self) -> int:
        """See `Player`."""
        return self.seen

    def leaves(self) -> dict[int, int]:
        """See `Player`."""
        return dict(self.evaluator.leaves)

    def close(self) -> None:
        """See `Player`."""

    def _look(self) -> int:
        """The row as it is in this round."""
        bench, row = self.bench, self.sights.row
        bits = bench.net_bits()
        bits |= int(bench.context.get(self.lamps)) << len(row.nets) if row.lamps else 0
        kept = int(bench.context.get(bench.store_row)) if row.stores else 0
        bits |= kept << (len(row.nets) + len(row.lamps))
        bits |= self.control_bits
        for label in bench.writing():
            bits |= 1 << row.writes[label]
        return bits

    # playing ----------------------------------------------------------------------------------

    def play(self, most: int) -> Pause:
        """See `Player`."""
        end = self.rounds + most
        while True:
            one = self.program.code[self.place]
            if one.op is Op.STEP and self.rounds >= end:
                return self._pause(Reason.PAUSED, one)
            self.place += 1
            found = self._do(one)
            if found is not None:
                return found

    def _do(self, one: Instruction) -> Pause | None:
        """One instruction; a pause if it is not to go on."""
        match one.op:
            case Op.END:
                self.place -= 1
                return self._pause(Reason.ENDED, one)
            case Op.SET | Op.TOGGLE:
                self._set(one)
            case Op.STEP if self.touched or one.a:
                return self._one_step(one)
            case Op.CHECK if not self._holds(one.a):
                return self._pause(Reason.CHECK, one, one.a)
            case Op.OVERRUN:
                return self._pause(Reason.OVERRUN, one, one.a)
            case Op.RECORD:
                self._record(one.entry, self.seen, whole=True)
            case _:
                self._jump(one)
        return None

    def _set(self, one: Instruction) -> None:
        name, bit = self.controls[one.a]
        level = one.b if one.op is Op.SET else 1 - self.levels[name][bit]
        self.touched = self.touched or self.levels[name][bit] != level
        self.levels[name][bit] = level
        self.control_bits = self.control_bits & ~(1 << one.a) | level << one.a

    def _jump(self, one: Instruction) -> None:
        """Loops, and what ends them."""
        match one.op:
            case Op.REPEAT if one.a:
                self.loops.append(one.a)
            case Op.REPEAT:
                self.place = one.b
            case Op.NEXT:
                self.loops[-1] -= 1
                if self.loops[-1]:
                    self.place = one.a
                else:
                    self.loops.pop()
            case Op.LEAVE | Op.WHEN if self._holds(one.a):
                self.place = one.b
                if one.op is Op.LEAVE:
                    self.loops.pop()

    def _pause(
        self, reason: Reason, one: Instruction, condition: int = -1, held: int = -1
    ) -> Pause:
        records, self.records = tuple(self.records), []
        return Pause(
            reason=reason, entry=one.entry, condition=condition, held=held, records=records
        )

    def _record(self, entry: int, row: int, *, whole: bool, number: int = 0) -> None:
        self.records.append(
            Record(
                step=self.step, round=number, rounds=self.rounds, entry=entry, row=row, whole=whole
            )
        )

    def _holds(self, condition: int) -> bool:
        return bool(self.evaluator.level(self.program.conditions[condition].node, self.seen))

    def _one_step(self, one: Instruction) -> Pause | None:
        bench, evaluator = self.bench, self.evaluator
        self.touched = False
        self.step += 1
        if self.step:
            following = self.sights.remembered
            levels = evaluator.levels(tuple(following.values()), self.seen)
            evaluator.leaves.update(zip(following, levels, strict=True))
        evaluator.leaves.update(dict.fromkeys(self.sights.gathered, 0))
        self.held = {}
        if self.start.seed is not None:
            seed = self.start.seed
            bench.set_free(
                {
                    name: free_level(seed, self.step, number)
                    for number, name in enumerate(bench.lowered.free)
                }
            )
        bench.set_controls({name: tuple(bits) for name, bits in self.levels.items()})
        for number in range(MAX_ROUNDS):
            if self._one_round(one, number):
                if one.b:
                    self._record(one.entry, self.seen, whole=True)
                return self._breakpoint(one)
        return self._pause(Reason.RESTLESS, one)

    def _one_round(self, one: Instruction, number: int) -> bool:
        """Whether the board is quiet."""
        bench, each = self.bench, self.every_round or bool(self.sights.gathered)
        bench.settle()
        if each:
            self.seen = self._look()
        unsettled = bench.unsettled()
        self.rounds += 1
        self._gather(number)
        if self.every_round:
            self._record(one.entry, self.seen, whole=False, number=number)
        quiet = not bench.advance() and not unsettled
        if quiet and not each:  # one more round changes nothing, so that this is still its row
            self.seen = self._look()
        return quiet

    def _gather(self, number: int) -> None:
        """What holds in this round; at power-on only the last round counts."""
        gathered = self.sights.gathered
        if not gathered:
            return
        levels = self.evaluator.levels(tuple(gathered.values()), self.seen)
        for leaf, level in zip(gathered, levels, strict=True):
            if self.step == 0:
                self.evaluator.leaves[leaf] = level
            elif level and not self.evaluator.leaves[leaf]:
                self.evaluator.leaves[leaf] = 1
                self.held[leaf] = number

    def _breakpoint(self, one: Instruction) -> Pause | None:
        for condition in self.breaks:
            if self._holds(condition):
                node = self.program.conditions[condition].node
                return self._pause(Reason.BREAK, one, condition, self.held.get(node, -1))
        return None
