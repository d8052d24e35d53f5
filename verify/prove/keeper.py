"""What an earlier run found out about the same, taken from a store and put into it.

Only what is decided is kept. A run that violates something is kept as what was chosen in it, and is
walked anew on the board at hand: it is told only if it shows there what it is to show.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields
from typing import Any

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import CompiledFormula
from breadproof.specs.machine.trace import Trace
from breadproof.specs.machine.walk import NotQuiet, Walker
from breadproof.verify.prove.answers import Known
from breadproof.verify.prove.checks import Check
from breadproof.verify.prove.cubes import bit_name
from breadproof.verify.prove.digests import Unkeyed
from breadproof.verify.prove.engine import Outcome
from breadproof.verify.prove.keys import Key, Keys
from breadproof.verify.prove.lively import are_lively, lively_names
from breadproof.verify.prove.proof import Proof
from breadproof.verify.prove.quiet import QuietAnswer
from breadproof.verify.prove.store import Answer, Store
from breadproof.verify.prove.verdict import Result
from breadproof.verify.prove.witness import confirms

KEPT = "kept from an earlier run"
REMEMBERED = "remembered "
PROOF = {"kind", "steps", "clauses", "apart"}
"""What is kept of a proof; of one that has more to it only what it proves is kept."""


class Keeper:
    """The kept answers about one board. ``keys`` is None if nothing can be kept of it."""

    def __init__(self, machine: Machine, store: Store | None) -> None:
        """Without a ``store`` nothing is known and nothing is kept."""
        self.machine = machine
        self.store = store
        self.keys: Keys | None = None
        self.taken: set[str] = set()
        if store is not None:
            try:
                self.keys = Keys(machine)
            except Unkeyed:
                self.store = None

    def key(self, one: CompiledFormula | Check) -> Key | None:
        """The key of a formula or a standing check, or None."""
        if self.keys is None:
            return None
        try:
            return self.keys.check(one) if isinstance(one, Check) else self.keys.formula(one)
        except Unkeyed:
            return None

    def get(self, key: Key | None) -> Answer:
        """What is kept under a key; empty if nothing is."""
        if key is None or self.store is None:
            return {}
        return self.store.get(key.text) or {}

    def put(self, key: Key | None, answer: Answer) -> None:
        """Keep an answer."""
        if key is not None and self.store is not None:
            self.store.put(key.text, answer)

    # the board --------------------------------------------------------------------------------

    def quiet(self) -> QuietAnswer | None:
        """That the board gets quiet, and in how many rounds."""
        rounds = self.get(self.keys.quiet if self.keys else None).get("rounds")
        if not isinstance(rounds, int):
            return None
        return QuietAnswer(verdict="holds", rounds=rounds, because="")

    def begin(self, quiet: QuietAnswer) -> None:
        """All else depends on how the board gets quiet."""
        if self.keys is not None:
            self.keys.rounds = quiet.rounds
            self.put(self.keys.quiet, {"rounds": quiet.rounds})

    def lively(self) -> dict[str, Result]:
        """What is dead and what is not, all of it by name, or nothing."""
        told = self.get(self._lively_key()).get("results")
        if not isinstance(told, list):
            return {}
        try:
            found = [
                Result(
                    kind="standing",
                    seconds=0.0,
                    engines=(KEPT,),
                    proof=self.proof(one.pop("proof")),
                    **_lists_as_tuples(one),
                )
                for one in told
            ]
        except (TypeError, KeyError, AttributeError):
            return {}
        right = are_lively(found, self.machine, lively_names(self.machine))
        return {one.name: one for one in found} if right else {}

    def _lively_key(self) -> Key | None:
        try:
            return self.keys.lively if self.keys else None
        except Unkeyed:
            return None

    def keep_lively(self, results: Mapping[str, Result]) -> None:
        """Keep what is dead, if all is there and decided."""
        names = lively_names(self.machine)
        if any(name not in results or results[name].verdict == "undecided" for name in names):
            return
        wanted = ("name", "verdict", "says", "method", "steps", "assumes", "because")
        told = [
            {name: getattr(one, name) for name in wanted} | {"proof": self.proof_told(one.proof)}
            for one in results.values()
        ]
        self.put(self._lively_key(), {"results": told})

    # properties -------------------------------------------------------------------------------

    def take(self, wanted: Iterable[CompiledFormula | Check], known: Known) -> None:
        """Add to what is known what is kept of these."""
        for one in wanted:
            key = self.key(one)
            told = self.get(key)
            name = _name(one)
            outcome = self.outcome(name, key, told) if told and key is not None else None
            if outcome is None:
                continue
            self.taken.add(name)
            known.outcomes[name] = outcome
            if told.get("passing") is True:
                known.passing.add(name)
            vacuous = told.get("vacuous")
            if isinstance(vacuous, list) and all(isinstance(text, str) for text in vacuous):
                known.vacuous[name] = tuple(vacuous)

    def keep(self, wanted: Iterable[CompiledFormula | Check], known: Known) -> None:
        """Keep what was found out about these; all runs are confirmed already."""
        for one in wanted:
            name = _name(one)
            outcome = known.outcomes.get(name)
            if name in self.taken or outcome is None or outcome.verdict == "undecided":
                continue
            told = self.told(outcome)
            told["passing"] = name in known.passing
            vacuous = known.vacuous.get(name)
            if isinstance(one, CompiledFormula):
                told["vacuous"] = vacuous
            self.put(self.key(one), told)

    def told(self, outcome: Outcome) -> Answer:
        """An outcome as plain values."""
        told: Answer = {"verdict": outcome.verdict, "method": outcome.method}
        told |= {"steps": outcome.steps, "because": outcome.because}
        told["trace"] = None if outcome.trace is None else chosen(outcome.trace)
        told["proof"] = self.proof_told(outcome.proof)
        return told

    def proof_told(self, proof: Proof | None) -> list[Any] | None:
        """A proof as plain values; None if it has more to it than is kept."""
        more = [one for one in fields(Proof) if one.name not in PROOF]
        if proof is None or any(getattr(proof, one.name) != one.default for one in more):
            return None
        clauses = [
            [[self.bit_told(bit), level] for bit, level in clause] for clause in proof.clauses
        ]
        return [proof.kind, proof.steps, clauses, proof.apart]

    def outcome(self, name: str, key: Key, told: Answer) -> Outcome | None:
        """The outcome that was kept; None if it is none, or does not show on this board."""
        match told:
            case {"verdict": "never", "method": str(method), "steps": int(steps), "trace": None}:
                proof = self.proof(told.get("proof"))
                invariant = proof.clauses if proof and proof.kind == "invariant" else ()
                return Outcome(
                    verdict="never",
                    method=method,
                    steps=steps,
                    seconds=0.0,
                    invariant=invariant,
                    proof=proof,
                    engines=(KEPT,),
                )
            case {
                "verdict": "reached",
                "method": str(method),
                "steps": int(steps),
                "because": str(because),
                "trace": dict(kept),
            }:
                trace = self.trace(name, steps, kept)
                if trace is None:
                    return None
                return Outcome(
                    verdict="reached",
                    method=method,
                    steps=steps,
                    seconds=0.0,
                    because=because,
                    trace=trace,
                    engines=(KEPT,),
                )
        return None

    # proofs -----------------------------------------------------------------------------------

    def bit_told(self, bit: str) -> str:
        """The name of a bit, but what a formula remembers by what it is made of."""
        if not bit.startswith(REMEMBERED):
            return bit
        return REMEMBERED + self.remembered[bit]

    def bit_named(self, told: str) -> str:
        """The name that it has on this board.

        Raises:
            KeyError: it has none.
        """
        if not told.startswith(REMEMBERED):
            return told
        wanted = told.removeprefix(REMEMBERED)
        return next(name for name, text in sorted(self.remembered.items()) if text == wanted)

    @property
    def remembered(self) -> Mapping[str, str]:
        """What formulas remember, by name: what it is made of."""
        assert self.keys is not None, "asked only where there are keys"
        graph, found = self.machine.graph, self.keys.nodes.found
        return {bit_name(graph, leaf): found[leaf] for leaf in self.keys.nodes.monitor_of}

    def proof(self, told: Any) -> Proof | None:
        """The proof that was kept; None if there is none, or it is about other formulas too."""
        try:
            kind, steps, clauses, apart = told
            return Proof(
                kind=kind,
                steps=steps,
                clauses=tuple(
                    tuple((self.bit_named(bit), level) for bit, level in clause)
                    for clause in clauses
                ),
                apart=tuple((first, second) for first, second in apart),
            )
        except (TypeError, ValueError, KeyError, StopIteration, AttributeError):
            return None

    # runs -------------------------------------------------------------------------------------

    def trace(self, name: str, steps: int, kept: Mapping[str, Any]) -> Trace | None:
        """The run that was kept, walked on this board; None if it does not show what it is to."""
        try:
            trace = walked(self.machine, kept)
            shows = len(trace.steps) == steps + 1 and confirms(self.machine, name, trace)
        except (NotQuiet, KeyError, IndexError, TypeError, ValueError, AttributeError):
            return None
        return trace if shows else None


def _name(one: CompiledFormula | Check) -> str:
    return one.name if isinstance(one, Check) else one.formula.name


def _lists_as_tuples(told: Mapping[str, Any]) -> dict[str, Any]:
    return {name: tuple(v) if isinstance(v, list) else v for name, v in told.items()}


def chosen(trace: Trace) -> Answer:
    """What was chosen in a run: all else follows."""
    return {
        "storage": dict(trace.storage),
        "words": {label: list(words.items()) for label, words in trace.words.items()},
        "loop": trace.loop,
        "same": list(trace.same),
        "fewest": trace.fewest,
        "steps": [
            {
                "controls": {name: list(bits) for name, bits in step.controls.items()},
                "free": dict(step.free),
                "choices": [dict(one.choices) for one in step.rounds],
            }
            for step in trace.steps
        ],
    }


def walked(machine: Machine, kept: Mapping[str, Any]) -> Trace:
    """The run with these choices; what was not there when it was found stands at 0.

    Raises:
        NotQuiet, KeyError, IndexError, TypeError, ValueError, AttributeError: it is none.
    """
    steps = kept["steps"]
    place = 0

    def choice(loop: str, cut: int) -> int:
        rounds = steps[place]["choices"]
        number = walker.round_number
        return int(rounds[number].get(f"{loop}.{cut}", 0)) if number < len(rounds) else 0

    walker = Walker(machine, lambda reader: int(steps[place]["free"].get(reader, 0)), choice)
    walker.storage |= {n: int(kept["storage"].get(n, 0)) for n in walker.storage}
    first = dict(walker.storage)
    words: dict[str, dict[int, int]] = {}
    for index, unit in enumerate(machine.memories):
        if unit.contents is None:
            words[unit.label] = {int(a): int(w) for a, w in kept["words"].get(unit.label, ())}
            for address, word in words[unit.label].items():
                walker.memories[index][address] = word
    stand = dict(walker.controls)
    found = []
    loops: dict[str, int] = {}
    for place, step in enumerate(steps):
        told = {name: tuple(map(int, step["controls"].get(name, at))) for name, at in stand.items()}
        if place:
            found.append(walker.step(told))
            continue
        walker.controls.update(told)
        found.append(walker.power_up())
        loops = _loops(machine, walker)
    return Trace(
        storage=first,
        words=words,
        loops=loops,
        steps=tuple(found),
        loop=kept["loop"],
        same=tuple(kept["same"]),
        fewest=kept["fewest"],
    )


def _loops(machine: Machine, walker: Walker) -> dict[str, int]:
    """The levels of loops that hold, at a quiet moment."""
    assert walker.before is not None, "the power is on"
    levels, graph = walker.before.levels, machine.graph
    named = ((graph.leaf_of(n), levels[n]) for x in machine.loops if x.holds for n in x.leaves)
    return {leaf.name: level for leaf, level in named if leaf is not None}
