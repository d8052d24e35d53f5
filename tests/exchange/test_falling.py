"""Evidence that what is waited for comes: ranks of states, confirmed by bitwuzla and cvc5.

The questions are those of a ranking function over states with fairness (D. Lehmann, A. Pnueli and
J. Stavi 1981; told from memory); verdicts are held against a search for cycles in
`tests.prove.test_endless`.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.verify.exchange.confirming import Confirmer, EvidenceMismatch
from breadproof.verify.exchange.evidence import ENDLESS, evidence
from breadproof.verify.exchange.falling import falling_questions
from breadproof.verify.prove import ranking as ranking_module
from breadproof.verify.prove.proof import Falling, Ranking
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.system import board_system
from tests.exchange.evidence import check_files, check_results, report_of
from tests.prove.boards import sketch
from tests.prove.test_assumptions import flop
from tests.prove.test_brute import load
from tests.prove.test_endless import CLOCK, counter, random_machine


def has_evidence(machine: Machine) -> int:
    """All of a board; how many strong formulas hold."""
    found = evidence(report_of(machine), 20.0)
    check_results(found)
    check_files(found)
    strong = {f.formula.name for f in machine.logic.formulas if f.liveness}
    return sum(one.verdict == "holds" and one.name in strong for one in found.report.results)


@pytest.mark.parametrize(
    ("assumes", "formula"),
    [
        ([CLOCK, "always d"], "eventually! q"),
        ([CLOCK, "always (d -> next d)"], "always (d -> eventually! q)"),
        ([CLOCK], "always eventually! (q == d)"),
        ([], "always eventually! (stable(c) || stable(d))"),  # no assumption is counted on
        ([CLOCK, "always eventually! rose(d)"], "always (c -> (c until! !c))"),
    ],
)
def test_flip_flop(tmp_path: Path, assumes: list[str], formula: str) -> None:
    """Those of `tests.prove.test_endless` that hold, worked out by hand there."""
    assert has_evidence(flop(tmp_path, assumes, [formula])) == 1


def test_counter(tmp_path: Path) -> None:
    """Eight steps once round: the rank falls from edge to edge."""
    machine = counter(tmp_path, [CLOCK, "always e"], "always eventually! (q1 && q0)")
    assert has_evidence(machine) == 1


def test_random_boards(tmp_path: Path) -> None:
    total = 0
    for seed in range(4):
        folder = tmp_path / str(seed)
        folder.mkdir()
        total += has_evidence(random_machine(folder, Random(seed)))
    assert total >= 1


def two_clocks(folder: Path) -> tuple[Machine, int, Ranking]:
    """q takes d at a rising edge of c, and d keeps changing: q does too, or nearly so."""
    text = f'assume:\n  a0: {{says: "", formula: "{CLOCK}"}}\n'
    text += '  a1: {says: "", formula: "always eventually! rose(e)"}\n'
    text += 'assert:\n  f0: {says: "", formula: "always eventually! (q1 && q0)"}\n'
    text += "together: [[c, e]]\n"
    nets = {"c": "U1.CLK", "d": "U1.EN", "q1": "U1.Q1", "q0": "U1.Q0", "e": "U2.A1", "y": "U2.Y1"}
    text = text.replace("assert:", '  a2: {says: "", formula: "always d"}\nassert:')
    machine = load(sketch(folder, "U1:9006 U2:04", nets, "c d e"), text)
    rounds, results = prove_board(machine, seconds=20)
    proof = next(one.proof for one in results if one.name == "f0")
    assert proof is not None
    assert proof.ranking is not None
    return machine, rounds, proof.ranking


def test_a_ranking_with_a_fault_is_refused(tmp_path: Path) -> None:
    """Each state, rank and assumption counts: a fault in any shows in a question."""
    machine, rounds, right = two_clocks(tmp_path)
    system = board_system(machine, rounds)
    confirmer = Confirmer(20.0)
    assert len(falling_questions(system, "f0", right, confirmer)) == 4
    (falling,) = right.falling
    top, used = max(falling.ranks), {*falling.counts_on}
    assert top >= 3
    assert used <= {-1, 0}, "it counts on the counter's clock, which is the first assumption"
    wrong: list[Ranking] = []
    for place in range(len(right.states)):
        less = right.states[:place] + right.states[place + 1 :]
        ranks = falling.ranks[:place] + falling.ranks[place + 1 :]
        wrong.append(replace(right, states=less, falling=(replace(falling, ranks=ranks),)))
    for other in (-1, 1):
        counted = tuple(other for _ in falling.counts_on)
        wrong.append(replace(right, falling=(replace(falling, counts_on=counted),)))
    turned = tuple(top - one for one in falling.ranks)
    wrong.append(replace(right, falling=(replace(falling, ranks=turned),)))
    flat = Falling(ranks=tuple(0 for _ in falling.ranks), counts_on=(0,))
    wrong.append(replace(right, falling=(flat,)))
    for one in wrong:
        with pytest.raises(EvidenceMismatch):
            falling_questions(system, "f0", one, confirmer)


def test_too_many_states_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ranking_module, "MOST", 1)
    found = evidence(report_of(flop(tmp_path, [CLOCK], ["always eventually! c"])), 20.0)
    result = next(one for one in found.report.results if one.name == "f0")
    assert (result.verdict, result.evidence, result.no_evidence) == ("holds", (), ENDLESS)
