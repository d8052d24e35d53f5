"""The transition system itself: a step ends in a state of it, and each of its parts counts.

That a step ends in a quiet moment is what `quiet` proves with the solver; here ABC does. That the
comparison with other model checkers sees a part that is wrong is tried with wrong ones.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from breadproof.specs.machine.machine import Machine
from breadproof.verify.exchange.aiger import aiger_binary
from breadproof.verify.exchange.circuit import circuit
from breadproof.verify.exchange.flat import flat
from breadproof.verify.exchange.obligation import obligation
from breadproof.verify.prove.cubes import Bit
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.system import Safety, System, board_system
from tests.exchange.agreement import checked
from tests.prove.boards import sketch, small
from tests.prove.test_brute import load
from tests.support.abc_checker import broken


def left(system: System) -> System:
    """``here`` is asked for at the start alone; that a later state misses it is a violation.

    A frame's ``after`` looks at the state before its step: that is the moment a step has led to.
    """
    missed = system.aig.and_(system.here) ^ 1
    goal = Safety(name="left", kind="standing", at_first=0, after=missed)
    return replace(
        system,
        here=(),
        first=(*system.first, *system.here),
        safety=(goal,),
        waiting=(),
        fair=(),
    )


@pytest.mark.parametrize(
    "name",
    ["ripple", "latch of two NANDs", "bus of two", "memory with a moving address", "gated clock"],
)
def test_steps_end_in_quiet_moments(tmp_path: Path, berkeley_abc: str, name: str) -> None:
    assert stays_quiet(load(small(tmp_path, name)), tmp_path, berkeley_abc)


def stays_quiet(machine: Machine, folder: Path, abc: str) -> bool:
    """Whether ABC proves that every step ends in a quiet moment."""
    file = folder / "left.aig"
    made = flat(circuit(left(obligation(machine, [], 10))))
    file.write_bytes(aiger_binary(replace(made, justice=(), fair=())))
    return broken(abc, file, ["left"], 10) == set()


# wrong systems ------------------------------------------------------------------------------------


def any_moment(system: System) -> System:
    return replace(system, here=())


def any_step(system: System) -> System:
    return replace(system, there=())


def any_beginning(system: System) -> System:
    return replace(system, first=())


def nothing_written(system: System) -> System:
    return replace(system, arrays=tuple(replace(one, writes=()) for one in system.arrays))


def older_write_wins(system: System) -> System:
    turned = tuple(replace(one, writes=one.writes[::-1]) for one in system.arrays)
    return replace(system, arrays=turned)


def first_bit_inverted(system: System) -> System:
    first, *rest = system.bits
    return replace(system, bits=(Bit(first.name, first.now, first.then ^ 1), *rest))


def never_at_first(system: System) -> System:
    return replace(system, safety=tuple(replace(one, at_first=0) for one in system.safety))


def never_after(system: System) -> System:
    return replace(system, safety=tuple(replace(one, after=0) for one in system.safety))


WRONG: tuple[Callable[[System], System], ...] = (
    any_moment,
    any_step,
    any_beginning,
    nothing_written,
    older_write_wins,
    first_bit_inverted,
    never_at_first,
    never_after,
)


def told_apart(machine: Machine, folder: Path, abc: str) -> set[str]:
    """The wrong systems that the comparison notices on one board."""
    rounds, results = prove_board(machine, seconds=10)
    found: set[str] = set()
    if rounds:
        checked(results, board_system(machine, rounds), folder, abc, 10)
        for wrong in WRONG:
            try:
                checked(results, wrong(board_system(machine, rounds)), folder, abc, 10)
            except AssertionError:
                found.add(wrong.__name__)
    return found


TOGGLED = {
    "c": "U2.CLK U3.A1",
    "w_n": "U3.Y1 U1.WE_n",
    "t": "U2.Q U1.D",
    "t_n": "U2.Q_n U2.D",
    "a": "U1.A0",
    "q": "U1.Q",
    "GND": "U1.CS_n",
}
"""A flip-flop that toggles at the edge with which a write of its level begins."""


def test_wrong_systems_are_noticed(tmp_path: Path, berkeley_abc: str) -> None:
    texts = (
        "(!q && !t && !c) -> always (fell(c) -> !q)",  # fails: a word of 1 is written and stays
        "always (stable(c) || stable(a))",
        "c -> next stable(t)",
        "q || !t",
        "never rose(q)",
    )
    lines = [f'  f{k}: {{says: "", formula: "{text}"}}' for k, text in enumerate(texts)]
    toggled = sketch(tmp_path, "U1:9003 U2:9001 U3:14", TOGGLED, "c a")
    found = told_apart(load(toggled, "\n".join(["assert:", *lines, ""])), tmp_path, berkeley_abc)
    cleared = small(tmp_path, "self-clearing counter")
    text = 'assert: {f: {says: "", formula: "never (q1 && q0)"}}\n'
    found |= told_apart(load(cleared, text), tmp_path, berkeley_abc)
    assert found == {wrong.__name__ for wrong in WRONG}
