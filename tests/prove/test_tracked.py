"""Proofs about what memories hold: words of any address tracked, for runs of any length.

What proves a property is asked again of bitwuzla with the memories as arrays (SMT-LIB 2, theory
ArraysEx), where a tracked word is the array's element and no reads are compared. Verdicts on tiny
memories are held against the explicit search of `test_brute`.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.verify.exchange.smtlib import LOGIC, Definitions
from breadproof.verify.prove import directed, engine
from breadproof.verify.prove.cubes import words_matter
from breadproof.verify.prove.directed import Found, search_directed
from breadproof.verify.prove.inductive import Inductive
from breadproof.verify.prove.paths import remembered
from breadproof.verify.prove.proof import Clause
from breadproof.verify.prove.quiet import find_rounds
from breadproof.verify.prove.solver import Deadline, Solver
from breadproof.verify.prove.system import board_system
from breadproof.verify.prove.tracked import Tracked
from tests.prove.boards import Sketch, formulas, sketch, small
from tests.prove.directed import asserts, sequencer
from tests.prove.test_brute import agree, load
from tests.support.second_solver import answer


def vector(name: str, bits: int) -> str:
    """``name7`` to ``name0`` as a vector."""
    return "{" + ", ".join(f"{name}{k}" for k in reversed(range(bits))) + "}"


WHERE, WHAT = vector("pa", 15), vector("pd", 8)
WRITTEN = f"writes(U1) && {vector('a', 15)} == {WHERE} && {vector('d', 8)} == {WHAT}"
READ = f"({vector('a', 15)} == {WHERE} && we -> {vector('b', 8)} == {WHAT})"
STORE = {
    # what is stored at an address is read back there until something is stored there again
    f"always ({WRITTEN} -> next ({READ} until (!we && {vector('a', 15)} == {WHERE})))": None,
    # but not longer
    f"always ({WRITTEN} -> next always {READ})": 2,
    # and nothing is known before it is stored
    f"always {READ}": 0,
}


def store(folder: Path) -> Machine:
    """A 62256 whose data pins are driven through a 74x245 while it is written; a connector shows
    any address and word, which stay as they are."""
    nets = {f"a{k}": f"U1.A{k}" for k in range(15)}
    nets |= {f"b{k}": f"U1.IO{k} U2.B{k + 1}" for k in range(8)}
    nets |= {f"d{k}": f"U2.A{k + 1}" for k in range(8)}
    nets |= {f"pa{k}": f"J1.{k + 1}" for k in range(15)}
    nets |= {f"pd{k}": f"J1.{k + 16}" for k in range(8)}
    ports = " ".join([*nets, "we"]).replace("b", "-")
    ports = " ".join(port for port in ports.split() if port[0] != "-")
    nets |= {"we": "U1.WE_n U2.G_n U3.A1", "GND": "U1.CS_n", "VCC": "U2.DIR", "oe": "U3.Y1 U1.OE_n"}
    made = sketch(folder, "U2:245 U3:04", nets, ports, {"U1": "62256"})
    made.parts["J1"] = "{part: connector, pins: 23}"
    made.wire("VCC", "U1.28")
    made.wire("GND", "U1.14")
    still = (
        f'assume:\n  still: {{says: "", formula: "always (stable({WHERE}) && stable({WHAT}))"}}\n'
    )
    return load(made, still + asserts(STORE))


def searched(machine: Machine, number: int, seconds: float = 60) -> Found:
    """The property-directed search for formula f``number``."""
    node = next(f.bad for f in machine.logic.formulas if f.formula.name == f"f{number}")
    rounds = find_rounds(machine, Deadline(60)).rounds
    return search_directed(machine, rounds, node, lambda m: m.values[node], Deadline(seconds))


@dataclass(frozen=True, slots=True)
class Arrays:
    """The closing questions over arrays, each of which must be "unsat".

    Two moments are looked back on: in the system a state alone does not say that what formulas
    remember was handed on by a moment.
    """

    machine: Machine
    name: str
    words: tuple[Tracked, ...]
    clauses: tuple[Clause, ...]

    def scripts(self) -> dict[str, str]:
        """By what they ask."""
        rounds = find_rounds(self.machine, Deadline(60)).rounds
        system = board_system(self.machine, rounds, self.words, self.name)
        work = Definitions(system)
        goal = next(one for one in system.safety if one.name == self.name)
        literals = [
            system.aig.or_([system.names[name][0] ^ 1 ^ level for name, level in clause])
            for clause in self.clauses
        ]
        definitions = [work.here(), work.init(), work.trans(), work.predicate("met", literals)]
        definitions += work.goal("bad", goal)
        states = [work.moment(k, work.state) for k in range(3)]
        inputs = [work.moment(k, work.inputs) for k in (1, 2)]
        init = f"(assert {work.applied('init', states[0])})"
        met = [work.applied("met", state) for state in states]
        bad = [work.applied("bad after", states[k], inputs[k]) for k in (0, 1)]
        go = [
            f"(assert {work.applied('trans', states[k], inputs[k], states[k + 1])})" for k in (0, 1)
        ]
        quiet = f"(assert {work.applied('here', states[0])})"
        run = f"{quiet}(assert {met[0]}){go[0]}(assert {met[1]}){go[1]}"
        questions = {
            "broken at first": f"{init}(assert {work.applied('bad at first', states[0])})",
            "broken by the first step": f"{init}{go[0]}(assert {bad[0]})",
            "not met at first": f"{init}(assert (not {met[0]}))",
            "not met after the first step": f"{init}{go[0]}(assert (not {met[1]}))",
            "not kept": f"{run}(assert (not {met[2]}))",
            "broken": f"{run}(assert {bad[1]})",
        }
        constants = work.declared([one for group in (*states, *inputs) for one in group])
        head = [f"(set-logic {LOGIC})", *definitions, *constants]
        return {what: "\n".join([*head, q, "(check-sat)"]) for what, q in questions.items()}

    def answers(self) -> dict[str, str]:
        """Bitwuzla's."""
        return {what: answer(script) for what, script in self.scripts().items()}


def confirmed(machine: Machine, number: int, found: Found) -> None:
    """Arrays say the same; with no clauses, or a literal of one inverted, they say otherwise."""
    assert found.verdict == "never", found
    answers = Arrays(machine, f"f{number}", found.words, found.invariant).answers()
    assert set(answers.values()) == {"unsat"}, answers
    wrong: list[tuple[Clause, ...]] = [()]
    for place, clause in enumerate(found.invariant):
        (name, level), *rest = reversed(clause)
        other = (*rest, (name, 1 - level))
        wrong.append((*found.invariant[:place], other, *found.invariant[place + 1 :]))
    for clauses in wrong:
        answers = Arrays(machine, f"f{number}", found.words, clauses).answers()
        assert "sat" in answers.values(), clauses


def test_what_is_stored_is_read_back(tmp_path: Path) -> None:
    """Any of 32768 addresses, any word, runs of any length."""
    machine = store(tmp_path)
    found = searched(machine, 0)
    assert [one.when for one in found.words] == ["now"]
    assert len(found.invariant) <= 4
    confirmed(machine, 0, found)
    # what a first moment breaks is not for the search; what comes later it finds
    other = searched(machine, 1)
    assert (other.verdict, other.steps) == ("reached", 2)


# a flip-flop takes in what is read, others whether that is the word that was written
TAKEN_IN = {
    "w": "U1.WE_n U4.CLR_n", "a": "U1.A0 U3.D", "d": "U1.D", "c": "U2.CLK U3.CLK U4.CLK",
    "q": "U1.Q U2.D", "VCC": "U4.D", "GND": "U1.CS_n",
    "got": "U2.Q", "from": "U3.Q", "since": "U4.Q",
}  # fmt: skip
LATER = {
    "always ((writes(U1) && a && d) -> next ((from && since -> got) until !w))": None,
    "always ((writes(U1) && a && d) -> next ((from && since && !c && !a -> got) until !w))": None,
    "always ((writes(U1) && a && d) -> next ((since && !c && !a -> got) until !w))": 5,
}


@pytest.fixture
def taken_in(tmp_path: Path) -> Machine:
    """A memory of two words, and a flip-flop that keeps what was read at the last rising edge."""
    made = sketch(tmp_path, "U1:9003 U2:9001 U3:9001 U4:9001", TAKEN_IN, "w a d c")
    return load(made, asserts(LATER))


def test_what_was_read_before_an_edge(taken_in: Machine) -> None:
    """The address may have changed since: the one at the edge is tracked."""
    whens = []
    for number in (0, 1):
        found = searched(taken_in, number)
        confirmed(taken_in, number, found)
        whens.append({one.when for one in found.words})
    assert whens[0] == {"now"}
    assert "edge" in whens[1]
    assert searched(taken_in, 2).verdict == "reached"


# a sequencer that branches on what a memory holds ------------------------------------------------


def test_a_sequencer_beside_a_memory(tmp_path: Path) -> None:
    """One; more in tests/long."""
    beside_a_memory(tmp_path, seed=1, count=6)


def beside_a_memory(folder: Path, seed: int, count: int) -> None:
    """Its ROM branches on a word that can be written. Both can be anything from the start, and
    the address is an input: the branch is as free as an input, and so the plain search of the table
    knows the steps. States that are not reached whatever is written are proved so."""
    made = sequencer(Random(seed), 4)
    facts = dict(Random(seed).sample(sorted(made.facts().items()), count))
    way = {"way": "U3.Q", "a": "U3.A0", "w": "U3.WE_n", "d": "U3.D", "GND": "U3.CS_n"}
    machine = made.machine(folder, facts, ("U3:9003", way, "clk a w d"))
    assert words_matter(machine, machine.logic.formulas[0].bad)
    found: dict[str, int] = {"never": 0, "reached": 0}
    for number, steps in enumerate(facts.values()):
        answer = searched(machine, number)
        assert answer.verdict == ("never" if steps is None else "reached"), (number, answer)
        assert steps is None or answer.steps >= steps
        found[answer.verdict] += 1
    assert all(found.values())


# small boards, against the search of all states ---------------------------------------------------

MEMORIES = ("memory", "memory with a moving address")


@pytest.fixture
def directed_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever one step does not settle is left to the property-directed search."""
    monkeypatch.setattr(engine, "MAX_STEPS", 0)
    monkeypatch.setattr(engine, "SHALLOW", 0)


@pytest.mark.usefixtures("directed_only")
@pytest.mark.parametrize("name", MEMORIES)
def test_small_memories(tmp_path: Path, name: str) -> None:
    """Some formulas; more, and random boards, in tests/long."""
    all_settled(small(tmp_path, name), seed=0, count=6)


def all_settled(made: Sketch, seed: int, count: int) -> None:
    """Random formulas: the search of all states agrees, and nothing stays open."""
    found = agree(load(made, formulas(made, Random(seed), count)))
    assert not found["open"], found
    assert found["holds"]
    assert found["fails"]


# what stays open ----------------------------------------------------------------------------------


def test_no_run_of_the_abstraction_is_believed(
    taken_in: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With nothing tracked the search finds a run that is none: that is no answer."""
    monkeypatch.setattr(directed, "LEVELS", ((),))
    found = searched(taken_in, 0)
    assert found.verdict == "undecided"
    assert found.because == "no invariant over the words of memories that were tracked"


def test_a_run_that_is_too_long_to_be_drawn(
    taken_in: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(directed, "MAX_UNROLLED", 0)
    found = searched(taken_in, 2)
    assert found.verdict == "undecided"
    assert found.because.endswith("it is longer than 0 steps")


def test_no_violation_goes_uncounted_unnoticed(taken_in: Machine) -> None:
    """An invariant about one address says nothing of violations at others: without the rule which
    violations count, it proves nothing."""
    found = searched(taken_in, 0)
    node = next(f.bad for f in taken_in.logic.formulas if f.formula.name == "f0")
    one = Inductive(taken_in, 2, remembered(taken_in, node), lambda m: m.values[node], found.words)
    assert one.check(found.invariant, Deadline(20)).answer == "unsat"
    step = one.step()
    solver = Solver(step.aig)
    for literal in (*step.here, *step.held, *step.there, *step.read):
        solver.require(literal)
    holds = step.holds(found.invariant, step.now)
    assert solver.check([*holds, step.second.values[node]], 20) == "sat"
    assert solver.check([*holds, step.counts, step.second.values[node]], 20) == "unsat"
