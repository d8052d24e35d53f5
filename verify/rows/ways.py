"""Two ways to run a chip's rows: the Machine, and the generated modules in Amaranth's simulator."""

from __future__ import annotations

import tempfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from random import Random

from breadproof.export import simulate
from breadproof.specs.load import load_machine
from breadproof.specs.machine import walk
from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.rows.boards import Placed, board, images
from breadproof.verify.rows.judging import MAX_ROUNDS, PinSeen, Restless, Trial

Controls = dict[str, tuple[int, ...]]
DRAWN = 4096
"""So many words of a memory get any content; the others are as they were."""


def machine_of(chips: Iterable[Placed], folders: Sequence[Path] = ()) -> Machine:
    """The machine of a board of chips, through the reader; ``folders`` hold their part files."""
    placed = tuple(chips)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "rows.yaml")
        path.write_text(board("rows", placed), "utf-8")
        for name, image in images(placed).items():
            Path(folder, name).write_bytes(image)
        return load_machine(path, folders)


def controls_of(
    chip: Placed, netlist: Netlist, levels: Mapping[str, int | None], dice: Random
) -> Controls:
    """The ports' bits; an undriven port's level is any, since nobody may see it."""
    kinds = {control.name: control.kind for control in netlist.controls}
    found: Controls = {}
    for pin, level in levels.items():
        port = chip.net(pin)
        drawn = dice.getrandbits(1) if level is None else level
        single = kinds[port] in ("in", "moment")
        found[port] = (drawn,) if single else (int(level is not None), drawn)
    return found


def word_bit(name: str) -> tuple[str, int, int] | None:
    """``M[5][3]`` as memory, word and bit."""
    parts = name.replace("]", "").split("[")
    return (parts[0], int(parts[1]), int(parts[2])) if len(parts) == 3 else None


def few(rounds: int) -> None:
    """Refuse what takes longer than any part does.

    Raises:
        Restless: so many rounds.
    """
    if rounds > MAX_ROUNDS:
        raise Restless(f"it took {rounds} rounds to become quiet, at most {MAX_ROUNDS} are known")


class _Way:
    """What both have in common: who drives what, and what is random."""

    def __init__(self, chip: Placed, machine: Machine) -> None:
        self.chip = chip
        self.machine = machine
        self.netlist = machine.netlist
        self.outside: dict[str, int | None] = {}
        self.dice = Random(0)

    def label(self, pin: str) -> str:
        """``U157.4``."""
        found = self.chip.part.pin(pin)
        if found is None:
            raise AssertionError("unreachable: only pins have a label")
        return f"{self.chip.name}.{found.number}"

    def is_pin(self, name: str) -> bool:
        """Whether it is a pin, and no bit of storage or of a word."""
        return self.chip.part.pin(name) is not None

    def controls(self, levels: Mapping[str, int | None]) -> Controls:
        """Take levels over and give the ports' bits."""
        self.outside.update(levels)
        return controls_of(self.chip, self.netlist, levels, self.dice)

    def content(self, trial: Trial) -> dict[str, int]:
        """What is in registers and latches at first."""
        return trial.drawn([store.label for store in self.machine.stores], self.dice)

    def words(self) -> dict[str, dict[int, int]]:
        """Any words of the memories that are written; of a large one some, wherever they are."""
        found = {}
        for memory in self.machine.memories:
            if memory.contents is None:
                places = range(memory.words)
                drawn = places if len(places) <= DRAWN else self.dice.sample(places, DRAWN)
                found[memory.label] = {at: self.dice.getrandbits(memory.bits) for at in drawn}
        return found


class OnMachine(_Way):
    """A chip in the Machine."""

    walker: walk.Walker

    def start(self, trial: Trial) -> None:
        """Power up with any content."""
        self.dice = dice = trial.dice()
        self.outside = {}
        self.walker = walk.Walker(
            self.machine,
            free=lambda reader: dice.getrandbits(1),
            choice=lambda loop, cut: dice.getrandbits(1),
            storage=self.content(trial),
            controls=self.controls(trial.idle(dice)),
        )
        words = self.words()
        for memory, held in zip(self.machine.memories, self.walker.memories, strict=True):
            for at, word in words.get(memory.label, {}).items():
                held[at] = word
        try:
            self.walker.power_up()
        except walk.NotQuiet as restless:
            raise Restless(str(restless)) from restless

    def apply(self, inputs: Mapping[str, int | None]) -> None:
        """Set pins together and run rounds."""
        try:
            rounds = self.walker.step(self.controls(inputs)).rounds
        except walk.NotQuiet as restless:
            raise Restless(str(restless)) from restless
        few(len(rounds))

    def see(self, name: str) -> str:
        """What is seen of a pin or bit."""
        if not self.is_pin(name):
            return "LH"[self.bit(name)]
        now = self.walker.before
        net = self.netlist.net(self.chip.net(name))
        if now is None or net is None:
            raise AssertionError("unreachable: powered up, and every pin has a net")
        if name in self.chip.part.switch_pins:
            found = self.machine.nets[net.index]
            level = now.levels[found.level]
            return PinSeen(
                drives=bool(now.levels[found.driven]),
                level=level,
                net=2 if now.levels[found.fights] else level,
                outside=self.outside.get(name),
            ).letter()
        drive = self.machine.drives[self.label(name)]
        return PinSeen(
            drives=bool(now.levels[drive.when]),
            level=now.levels[drive.level],
            net=now.levels[self.machine.nets[net.index].level],
            outside=self.outside.get(name),
        ).letter()

    def bit(self, name: str) -> int:
        """A bit of storage or of a word, as it is after the last round."""
        word = word_bit(name)
        if word is None:
            return self.walker.storage[f"{self.chip.name}.{name}"]
        labels = [memory.label for memory in self.machine.memories]
        words = self.walker.memories[labels.index(f"{self.chip.name}.{word[0]}")]
        return words[word[1]] >> word[2] & 1


class OnBench(_Way):
    """A chip in Amaranth's simulator. It runs on from one run to the next, with other content."""

    def __init__(self, chip: Placed, machine: Machine) -> None:
        super().__init__(chip, machine)
        self.bench = simulate.Bench(machine.netlist)

    def start(self, trial: Trial) -> None:
        """Power up with any content."""
        self.dice = trial.dice()
        self.outside = {}
        self.bench.set_storage(self.content(trial))
        for label, words in self.words().items():
            self.bench.set_words(label, words)
        self.bench.set_free({reader: self.dice.getrandbits(1) for reader in self.machine.free})
        self.apply(trial.idle(self.dice))

    def apply(self, inputs: Mapping[str, int | None]) -> None:
        """Set pins together and run rounds."""
        try:
            rounds = self.bench.step(self.controls(inputs))
        except simulate.NotQuiet as restless:
            raise Restless(str(restless)) from restless
        few(len(rounds))
        nets = [self.chip.net(name) for name in sorted(self.chip.part.switch_pins)]
        self.bench.set_free(dict.fromkeys(nets, 1))
        self.high = self.bench.levels()
        self.bench.set_free(dict.fromkeys(nets, 0))
        self.levels = self.bench.levels()
        self.drives = self.bench.drives()
        self.storage = self.bench.storage()

    def see(self, name: str) -> str:
        """What is seen of a pin or bit."""
        if not self.is_pin(name):
            return "LH"[self.bit(name)]
        if name in self.chip.part.switch_pins:
            # What floats follows whatever is chosen for it.
            low = self.levels[self.chip.net(name)]
            high = self.high[self.chip.net(name)]
            outside = self.outside.get(name)
            return PinSeen(drives=low == high, level=low, net=low, outside=outside).letter()
        drive = self.drives[self.label(name)]
        return PinSeen(
            drives=drive.drives,
            level=drive.level,
            net=self.levels[self.chip.net(name)],
            outside=self.outside.get(name),
        ).letter()

    def bit(self, name: str) -> int:
        """A bit of storage or of a word."""
        word = word_bit(name)
        if word is None:
            return self.storage[f"{self.chip.name}.{name}"]
        return self.bench.word(f"{self.chip.name}.{word[0]}", word[1]) >> word[2] & 1
