"""All faults of a board, judged: the rules first, then proofs, each by as many as there are.

What is hard is asked with a short limit first, so that it keeps nothing waiting; what is still open
then is asked once more with the whole of it.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass, field, replace
from pathlib import Path

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.load import load_board, load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.reading.board import read_board
from breadproof.specs.reading.diagnostics import Problems
from breadproof.verify.faults.fault import KINDS, Fault, Kind, collapsed
from breadproof.verify.faults.judge import Judge
from breadproof.verify.faults.judged import Judged
from breadproof.verify.faults.pinfaults import PinFaults
from breadproof.verify.faults.sound import Sound, find_sound
from breadproof.verify.faults.typefaults import TypeFaults
from breadproof.verify.faults.wirefaults import WireFaults
from breadproof.verify.prove.crew import Crew, Lost, Tell
from breadproof.verify.prove.interrupt import interruptible
from breadproof.verify.prove.store import Store

SHORT = 5.0
"""Seconds for a question at first."""
RULES_AT_ONCE, PROOFS_AT_ONCE = 24, 4
"""So many faults a worker gets at a time."""
INTERRUPTED = "interrupted before it was looked at to the end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which faults: of these kinds, at these parts (all if none is named). ``strict``: a warning
    does not detect."""

    kinds: tuple[Kind, ...] = KINDS
    parts: tuple[str, ...] = ()
    strict: bool = False


@dataclass(kw_only=True)
class Means:
    """What there is to work with."""

    seconds: float = 60.0
    progress: Callable[[str], None] = lambda text: None
    crew: Crew | None = None
    store: Store | None = None


@dataclass(frozen=True, kw_only=True)
class FaultReport:
    """All faults of a board with their groups, in the order in which they were made.

    ``collapsed`` counts those that come to the board of another one and are not listed.
    """

    sound: Sound
    wanted: Wanted
    faults: tuple[Fault, ...]
    judged: tuple[Judged, ...]
    collapsed: int
    seconds: float
    interrupted: bool


def find_faults(
    path: Path, wanted: Wanted, means: Means, folders: Sequence[Path] = ()
) -> FaultReport:
    """Judge all faults of a board file.

    Ctrl-C ends the work: what is judged by then is reported, the rest is unclassified.

    Raises:
        BadInput: the file cannot be understood.
        KeyError: ``wanted`` names a part that the board does not have.
        TraceMismatch: a run that was found does not show what it is to (our error).
        KeyboardInterrupt: before anything was judged.
    """
    start = time.monotonic()
    means.progress("reading")
    machine = load_machine(path, folders)
    names = {part.name for part in machine.wired.parts}
    for name in wanted.parts:
        if name not in names:
            raise KeyError(name)
    faults, more = faults_of(path, machine, wanted, means, folders)
    sound = find_sound(
        machine,
        seconds=means.seconds,
        progress=means.progress,
        crew=means.crew,
        store=means.store,
    )
    work = _Work(Judge(sound, means.seconds, wanted.strict), means, faults)
    work.run()
    return FaultReport(
        sound=sound,
        wanted=wanted,
        faults=tuple(faults),
        judged=tuple(work.answer(fault) for fault in faults),
        collapsed=more,
        seconds=time.monotonic() - start,
        interrupted=work.interrupted,
    )


def faults_of(
    path: Path, machine: Machine, wanted: Wanted, means: Means, folders: Sequence[Path]
) -> tuple[list[Fault], int]:
    """The faults that are wanted, without those that come to the same board; how many those are."""
    means.progress("making faults")
    netlist = machine.wired
    kinds, found = wanted.kinds, list[Fault]()
    pins = PinFaults(netlist)
    if netlist.layout.wires and not _joins(path):
        board, netlist, _ = load_board(path, folders)
        wires = WireFaults(board, netlist, folders)
        pins = PinFaults(netlist, wires.loose_pins)
        found += wires.opens() if "open" in kinds else ()
        found += wires.moved() if "moved" in kinds else ()
    found += pins.opens() if "open" in kinds else ()
    found += pins.moved() if "moved" in kinds else ()
    found += pins.bridges() if "bridge" in kinds else ()
    if "type" in kinds:
        found += TypeFaults(netlist, _catalogue(path, folders)).faults()
    if wanted.parts:
        found = [fault for fault in found if not fault.parts.isdisjoint(wanted.parts)]
    return collapsed(found)


def _joins(path: Path) -> bool:
    """Whether a file joins boards: their wires are known as nets alone then."""
    board = read_board(path, Problems())
    return board is None or bool(board.boards)


def _catalogue(path: Path, folders: Sequence[Path]) -> Catalogue:
    board = read_board(path, Problems())
    catalogue = Catalogue(folders)
    if board is None or board.catalogue is None:
        return catalogue
    return catalogue.then(path.parent / board.catalogue.value)


Answers = list[Judged | None]


@dataclass
class _Work:
    judge: Judge
    means: Means
    faults: list[Fault]
    judged: dict[str, Judged] = field(default_factory=dict)
    interrupted: bool = False

    def run(self) -> None:
        """Judge all of them, or as many as there is time for until Ctrl-C."""
        short = replace(self.judge, seconds=min(SHORT, self.judge.seconds))
        # Workers share what is there now: their collectors need not look through it again.
        gc.collect()
        gc.freeze()
        try:
            with interruptible():
                self.pass_over("rules", self.faults, RULES_AT_ONCE, _by_rules, self.judge)
                left = [one for one in self.faults if one.name not in self.judged]
                self.pass_over("proofs", left, PROOFS_AT_ONCE, _by_proof, short)
                if short.seconds < self.judge.seconds:
                    left = [one for one in left if self.answer(one).group == "unclassified"]
                    self.pass_over("the hard ones", left, 1, _by_proof, self.judge)
        except KeyboardInterrupt:
            self.interrupted = True
        finally:
            gc.unfreeze()

    def answer(self, fault: Fault) -> Judged:
        """What is known of a fault."""
        unknown = Judged(fault=fault.name, group="unclassified", because=INTERRUPTED)
        return self.judged.get(fault.name, unknown)

    def pass_over(
        self,
        what: str,
        faults: list[Fault],
        at_once: int,
        work: Callable[[Tell, Judge, list[Fault]], Answers],
        judge: Judge,
    ) -> None:
        """Have some faults looked at, by the crew if there is one."""
        crew, count = self.means.crew, len(faults)
        batches = [faults[place : place + at_once] for place in range(0, count, at_once)]
        done = 0

        def progress(more: str = "") -> None:
            told = f": {more}" if more else ""
            self.means.progress(f"{what}: {done} of {count} faults{told}")

        if crew is None:
            for fault in faults:
                progress(fault.name)
                self.take(work(progress, judge, [fault]))
                done += 1
            return
        running: dict[Future[object], list[Fault]] = {}
        try:
            for batch in batches:
                seconds = 600.0 + 20 * judge.seconds * len(batch)
                running[crew.submit(work, judge, batch, seconds=seconds)] = batch
            while running:
                for future in crew.wait(running, lambda future, text: progress(text)):
                    batch = running.pop(future)
                    done += len(batch)
                    progress()
                    self.take(_result(future, batch))
        finally:
            for future in running:
                crew.drop(future)

    def take(self, answers: Iterable[Judged | None]) -> None:
        """Keep what was found out."""
        self.judged |= {one.fault: one for one in answers if one is not None}


def _result(future: Future[object], batch: list[Fault]) -> Answers:
    """What a worker found, or why it found nothing."""
    because = "its answer is none"
    try:
        answers = future.result()
        names = {fault.name for fault in batch}
        if isinstance(answers, list) and all(
            one is None or (isinstance(one, Judged) and one.fault in names) for one in answers
        ):
            return answers
    except Lost as error:
        because = str(error)
    return [Judged(fault=one.name, group="unclassified", because=because) for one in batch]


def _by_rules(tell: Tell, judge: Judge, faults: list[Fault]) -> Answers:
    return [judge.by_rules(fault) for fault in faults]


def _by_proof(tell: Tell, judge: Judge, faults: list[Fault]) -> Answers:
    found: Answers = []
    for fault in faults:
        tell(fault.name)
        found.append(judge.by_proof(fault))
    return found
