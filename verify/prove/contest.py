"""What the short chain leaves open goes to engines side by side; the first sound answer wins.

Unrolling with induction goes on where the common chain stopped, and the property-directed search
looks for an invariant. An engine whose worker is lost, or whose answer is none, has said nothing:
if that goes for all of them, the property is undecided. "Broken" is believed of a run alone.
"""

from __future__ import annotations

import time
from concurrent.futures import Future
from dataclasses import dataclass, field, replace
from typing import Any

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import Trace
from breadproof.verify.prove.crew import Crew, Lost, Tell, Work
from breadproof.verify.prove.directed import Found
from breadproof.verify.prove.engine import MAX_STEPS, SHALLOW, Engine, Open, Outcome
from breadproof.verify.prove.proof import Proof
from breadproof.verify.prove.properties import property_named
from breadproof.verify.prove.solver import Deadline

UNROLLING, DIRECTED = "unrolling and induction", "property-directed search"
SHORTEST = "unrolling to the shortest run"
SHOWN = 3
"""So many properties are told of at a time."""
MALFORMED = "its answer is none"


class Contradiction(Exception):
    """Two engines say opposite things: our fault, never shown as a verdict."""


def forked(work: Work, *args: object) -> tuple[Work, tuple[object, ...]]:
    """What a process is to do that is split off, and has the engine and its chain at hand."""
    return work, args


def sent(work: Work, engine: Engine, item: Open, *more: object) -> tuple[Work, tuple[object, ...]]:
    """Somebody far away gets the board, and the property by its name."""
    name, spent = item.one.name, item.spent
    return far, (work, engine.machine, engine.rounds, engine.seconds, name, spent, *more)


def far(
    tell: Tell,
    work: Work,
    machine: Machine,
    rounds: int,
    seconds: float,
    name: str,
    spent: float,
    *more: object,
) -> object:
    """A work of this module, by somebody who has to build the chain first."""
    engine = Engine(machine, rounds, seconds, tell)
    item = Open(property_named(machine, name), seconds, spent)
    if work is unroll:
        engine.strengthen([item.one.node], Deadline(seconds))
    return work(tell, engine, item, *more)


def unroll(tell: Tell, engine: Engine, item: Open) -> Outcome:
    """More steps of the chain, within the property's whole time."""
    engine.progress = tell
    outcomes: dict[str, Outcome] = {}
    alone = Open(item.one, engine.seconds, item.spent)
    engine.deepen([alone], outcomes, range(SHALLOW + 1, MAX_STEPS + 1))
    return outcomes.get(item.one.name) or engine.given_up(alone)


def direct(tell: Tell, engine: Engine, item: Open) -> Outcome | Found:
    """The property-directed search; "reached" comes as it was found, without a run."""
    engine.progress = tell
    found = engine.search(item.one, Deadline(engine.seconds - item.spent))
    return engine.searched(item.one, found) if found.verdict == "never" else found


def draw(tell: Tell, engine: Engine, item: Open, done: int, known: int) -> Outcome:
    """The shortest run, where one of ``known`` steps breaks the property and none of ``done``."""
    engine.progress = tell
    given_up = Outcome(verdict="undecided", method="", steps=done, seconds=0.0)
    return engine.shortest(item.one, given_up, known, Deadline(engine.seconds))


@dataclass(slots=True)
class _Race:
    """One property, and the engines that are at it."""

    item: Open
    start: float
    done: int = SHALLOW
    """So many steps were looked at."""
    known: int = 0
    """The steps of a run that breaks the property, as far as the search knows one."""
    running: dict[Future[object], str] = field(default_factory=dict)
    said: dict[str, str] = field(default_factory=dict)
    """Engine -> why it has no answer."""

    @property
    def name(self) -> str:
        return self.item.one.name


@dataclass(slots=True)
class Contest:
    """Settles what is open by the hands of a crew; `settle` is for `Engine.settle`."""

    crew: Crew

    def settle(self, engine: Engine, items: list[Open], outcomes: dict[str, Outcome]) -> None:
        """An outcome for each of ``items``."""
        left = [self.begin(engine, item, outcomes.pop(item.one.name, None)) for item in items]
        words: dict[str, str] = {}

        def hear(future: Future[object], text: str) -> None:
            for race in left:
                if future in race.running:
                    words[race.name] = f"{text} ({time.monotonic() - race.start:.0f} s)"
            open_ones = [words[race.name] for race in left if race.name in words]
            engine.progress("; ".join(open_ones[:SHOWN]))

        while left:
            futures = {future: race for race in left for future in race.running}
            for future in self.crew.wait(futures, hear) if futures else ():
                race = futures[future]
                if future in race.running:  # else another one was first
                    self.judge(race, race.running.pop(future), future, outcomes)
            for race in left:
                if not race.running and race.name not in outcomes:
                    self.stopped(engine, race, outcomes)
            left = [race for race in left if race.running]

    def begin(self, engine: Engine, item: Open, given_up: Outcome | None) -> _Race:
        """Hand a property to each engine that can look at it."""
        race = _Race(item, time.monotonic())
        if given_up is None:
            self.hand(engine, race, UNROLLING, unroll)
        else:
            race.done = given_up.steps
            race.said[UNROLLING] = given_up.because
        if engine.searchable(item.one):
            self.hand(engine, race, DIRECTED, direct)
        return race

    def hand(self, engine: Engine, race: _Race, what: str, work: Work, *more: object) -> None:
        """One engine's part of the work, for a worker."""
        hands = sent if self.crew.far else forked
        called, args = hands(work, engine, race.item, *more)
        future = self.crew.submit(called, *args, seconds=engine.seconds)
        race.running[future] = what

    def judge(
        self, race: _Race, what: str, future: Future[object], outcomes: dict[str, Outcome]
    ) -> None:
        """Take an engine's answer for the property's outcome, or note why it has none."""
        answer: object
        try:
            answer = future.result()
        except Lost as error:
            race.said[what] = str(error)
            return
        if not well_formed(answer):
            race.said[what] = MALFORMED
            return
        match answer:
            case Outcome(verdict="never"):
                if race.known:
                    raise Contradiction(f"{race.name}: proved, and broken in {race.known} steps")
                self.finish(race, answer, outcomes)
            case Outcome(verdict="reached", trace=trace) if trace is not None:
                self.finish(race, answer, outcomes)
            case Outcome(because=because, steps=steps):
                race.said[what], race.done = because, max(race.done, steps)
            case Found(verdict="reached", steps=steps):
                race.said[what], race.known = f"a run of {steps} steps breaks it", steps
            case Found(because=because):
                race.said[what] = because

    def finish(self, race: _Race, outcome: Outcome, outcomes: dict[str, Outcome]) -> None:
        """Note the outcome, stop the others and tell of them."""
        for future, what in race.running.items():
            self.crew.drop(future)
            race.said[what] = "stopped, since another was first"
        race.running.clear()
        outcomes[race.name] = replace(
            outcome,
            engines=tuple(f"{what}: {why}" for what, why in race.said.items()),
            seconds=race.item.spent + time.monotonic() - race.start,
        )

    def stopped(self, engine: Engine, race: _Race, outcomes: dict[str, Outcome]) -> None:
        """No engine has an answer; but where the search knows a run, the shortest is drawn."""
        if race.known and SHORTEST not in race.said:
            race.said[SHORTEST] = ""
            self.hand(engine, race, SHORTEST, draw, race.done, race.known)
            return
        because = "; ".join(f"{what}: {why}" for what, why in race.said.items())
        outcome = Outcome(
            verdict="undecided", method="", steps=race.done, seconds=0.0, because=because
        )
        self.finish(race, outcome, outcomes)


def well_formed(answer: Any) -> bool:
    """Whether this can be an engine's answer: its parts are what they are declared to be."""
    match answer:
        case Outcome(verdict="never" | "undecided", trace=None):
            pass
        case Outcome(verdict="reached", trace=Trace()):
            pass
        case Found(verdict="reached" | "undecided", steps=int(), because=str()):
            return answer.verdict == "undecided" or answer.steps > 0
        case _:
            return False
    parts: list[tuple[Any, type]] = [(answer.method, str), (answer.because, str)]
    parts += [(answer.steps, int), (answer.seconds, float), (answer.invariant, tuple)]
    proof = answer.proof is None or isinstance(answer.proof, Proof)
    return proof and all(isinstance(part, kind) for part, kind in parts)
