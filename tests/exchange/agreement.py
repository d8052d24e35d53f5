"""What verify says of a board, against other people's model checkers on the exported obligation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from breadproof.specs.machine.machine import Machine
from breadproof.verify.exchange.aiger import aiger_binary
from breadproof.verify.exchange.btor2 import btor2
from breadproof.verify.exchange.circuit import Circuit, circuit
from breadproof.verify.exchange.flat import flat
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.system import System, board_system
from breadproof.verify.prove.verdict import Result
from tests.support.abc_checker import broken
from tests.support.btor_checker import BtorChecker

RESTS = "it rests on"
REACHED = ("fails", "covered")
PROVED = ("holds", "unreachable")


def agree(machine: Machine, folder: Path, abc: str, seconds: float = 10.0) -> int:
    """Compare all verdicts on levels, and the lengths of all runs; how many there were.

    ABC proves or breaks each property of the AIGER file; Boolector's bounded search on the BTOR2
    text, which has memories as arrays, finds the shortest run, frame k being step k.
    """
    rounds, results = prove_board(machine, seconds=seconds)
    if not rounds:
        return 0
    return checked(results, board_system(machine, rounds), folder, abc, seconds)


def checked(
    results: Sequence[Result], system: System, folder: Path, abc: str, seconds: float
) -> int:
    """The same, of results and a system that are at hand."""
    made = circuit(system)
    names = [one.name for one in made.bad]
    file = folder / "board.aig"
    file.write_bytes(aiger_binary(replace(flat(made), justice=(), fair=())))  # not read by ABC
    reached = broken(abc, file, names, int(seconds))
    assert reached is not None, "ABC is out of time"
    by_name = {result.name: result for result in results}
    assert set(names) <= set(by_name)
    settled = [by_name[name] for name in names]
    for result in settled:
        same(result, reached)
    lengths(made, [one for one in settled if one.verdict in REACHED and safe(one)])
    return len(settled)


def safe(result: Result) -> bool:
    """Whether a run is broken by its last step, and not by going round."""
    return result.trace is not None and result.trace.loop is None


def same(result: Result, reached: set[str]) -> None:
    """A verdict; "undecided" is right about levels if only a pin that pulses stands in the way."""
    if result.verdict in REACHED:
        assert result.name in reached or not safe(result), result
    elif result.verdict in PROVED or result.because.startswith(RESTS):
        assert result.name not in reached, result


def lengths(made: Circuit, results: Sequence[Result]) -> None:
    """The runs are the shortest ones."""
    if results:
        longest = max(result.steps for result in results)
        wanted = {result.name for result in results}
        few = replace(made, bad=tuple(one for one in made.bad if one.name in wanted))
        found = BtorChecker(btor2(few)).reached(longest)
        for result in results:
            assert found[result.name] == result.steps, (result, found[result.name])
