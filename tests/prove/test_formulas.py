"""The formulas' monitors against IEEE 1850-2010's weak view of a truncated path.

The board is made of ports only, so that a trace is any sequence of levels, and is walked with
numbers. See `tests.support.finite_traces` for the sources. Random formulas of the simple subset
keep its limits (4.4.4 of the standard): Boolean left of ``->``, on both sides of ``<->`` and
``before``, right of ``until``, on one side of ``||`` and under ``never``.
"""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from breadproof.specs.formula import syntax as s
from breadproof.specs.formula.parse import parse
from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.watch import Watcher
from tests.support.finite_traces import Progress, Read, Violated, Weak

PORTS = ("a", "b", "c", "d")
Trace = list[dict[str, int]]


def board(folder: Path, formulas: list[str]) -> Machine:
    """Four input ports, and gates that read them."""
    path = folder / "ports.yaml"
    asserts = "\n".join(
        f'  f{n}: {{says: "", formula: "{text}"}}' for n, text in enumerate(formulas)
    )
    path.write_text(
        "board: ports\nparts:\n  U1: 74HC08\n  U2: 74HC08\nnets:\n"
        "  VCC: [U1.14, U2.14]\n  GND: [U1.7, U2.7, U1.9, U1.10, U1.12, U1.13, U2.1, U2.2, U2.4,"
        " U2.5, U2.9, U2.10, U2.12, U2.13]\n"
        "  a: [U1.1]\n  b: [U1.2]\n  c: [U1.4]\n  d: [U1.5]\n"
        "ports:\n  a: in\n  b: in\n  c: in\n  d: in\n"
        f"together: all\nassert:\n{asserts}\n",
        encoding="utf-8",
    )
    return load_machine(path)


def level(random: Random, depth: int, past: bool = True) -> str:
    """A one-bit expression."""
    kind = random.randrange(12)
    if depth <= 0 or kind < 4:
        return random.choice(PORTS)
    if kind < 6 and past:
        function = random.choice(("rose", "fell", "stable", "prev"))
        inner = level(random, depth - 2, past)
        back = random.choice(("", "", ", 2", ", 3")) if function == "prev" else ""
        return f"{function}({inner}{back})"
    if kind < 7:
        return f"!({level(random, depth - 1, past)})"
    op = random.choice(("&&", "||", "&", "|", "^", "==", "!="))
    return f"({level(random, depth - 1, past)} {op} {level(random, depth - 1, past)})"


def formula(random: Random, depth: int) -> str:
    """A property of the simple subset."""
    if depth <= 0:
        return level(random, 1)

    def inner() -> str:
        return formula(random, depth - 1)

    match random.randrange(10):
        case 0 | 1:
            return f"(always {inner()})"
        case 2:
            return f"(never {level(random, 2)})"
        case 3:
            return f"(next{random.choice(('', '[2]', '[3]', '[1]'))} {inner()})"
        case 4 | 5:
            return f"({level(random, 2)} -> {inner()})"
        case 6:
            bang = random.choice(("", "!"))
            return f"({inner()} until{bang} {level(random, 1)})"
        case 7:
            bang = random.choice(("", "!"))
            return f"({level(random, 1)} before{bang} {level(random, 1)})"
        case 8:
            return random.choice(
                (f"({inner()} && {inner()})", f"({level(random, 1)} || {inner()})",
                 f"({level(random, 1)} <-> {level(random, 2)})",
                 f"(eventually! {level(random, 1)})")
            )  # fmt: skip
        case _:
            # Always keeps an inner clock's start on a tick of the outer one (the standard lets an
            # inner clock begin before; the product waits for the outer tick first).
            event = random.choice(("rose(a)", "fell(a)", "b", "a || c"))
            return f"((always {inner()}) @({event}))"


def traces(random: Random, count: int, length: int) -> list[Trace]:
    found = []
    for _ in range(count):
        steps: Trace = [{port: random.getrandbits(1) for port in PORTS}]
        bias = {port: random.choice((20, 50, 80)) for port in PORTS}
        while len(steps) < length:
            steps.append(
                {p: 1 - v if random.randrange(100) < bias[p] else v for p, v in steps[-1].items()}
            )
        found.append(steps)
    return found


def reader(step: dict[str, int]) -> Read:
    def read(expr: s.Expr) -> int:
        assert isinstance(expr, s.Name)
        return step[expr.path]

    return read


def monitored(machine: Machine, trace: Trace) -> dict[str, int]:
    """The first step in which each formula is violated, by the monitors."""
    watcher = Watcher(machine, controls={port: (v,) for port, v in trace[0].items()})
    found: dict[str, int] = {}
    for number, step in enumerate(trace):
        if number:
            watcher.step({port: (v,) for port, v in step.items()})
        else:
            watcher.power_up()
        for name, bad in watcher.said.items():
            if bad:
                found.setdefault(name, number)
    return found


def progressed(expr: s.Expr, trace: Trace) -> int | None:
    work = Progress(expr)
    state = work.start()
    for number, step in enumerate(trace):
        try:
            state = work.step(state, reader(step))
        except Violated:
            return number
    return None


def compare(folder: Path, seed: int, formulas: int, runs: int, length: int) -> int:
    """Formulas against the weak view; how many (formula, trace) pairs were violated."""
    random = Random(seed)
    texts = [formula(random, random.randint(1, 4)) for _ in range(formulas)]
    machine = board(folder, texts)
    trees = [parse(text) for text in texts]
    violated = 0
    for trace in traces(random, runs, length):
        found = monitored(machine, trace)
        reads = [reader(step) for step in trace]
        for number, tree in enumerate(trees):
            expected = Weak(reads).violated(tree)
            assert found.get(f"f{number}") == expected, (texts[number], trace)
            assert progressed(tree, trace) == expected, (texts[number], trace)
            violated += expected is not None
    return violated


@pytest.mark.parametrize("seed", range(6))
def test_random_formulas(tmp_path: Path, seed: int) -> None:
    violated = compare(tmp_path, seed, 30, 8, 9)
    assert 40 < violated < 230  # both answers are common


STANDARD = [
    # (formula, levels of a, of b, of c, step of the violation), by IEEE 1850-2010, 6.2.1
    ("always (a -> next b)", "0100", "0010", "0000", None),
    ("always (a -> next b)", "0100", "0101", "0000", 2),
    ("always (a -> next[2] b)", "1000", "0000", "0000", 2),
    ("a until b", "1100", "0010", "0000", None),
    ("a until b", "1100", "0000", "0000", 2),  # weak: fails where a ends before b came
    ("a until b", "1111", "0000", "0000", None),  # weak: b need never come
    ("a before b", "0010", "0001", "0000", None),
    ("a before b", "0010", "0010", "0000", 2),  # strictly before
    ("a before b", "0000", "0100", "0000", 1),
    ("never (a && b)", "0110", "1001", "0000", None),
    ("a", "0111", "0000", "0000", 0),  # a Boolean speaks of the first step
    ("b", "0111", "1000", "0000", None),
    ("next b", "0000", "1011", "0000", 1),
    ("a -> always b", "1000", "1101", "0000", 2),
    ("a -> always b", "0111", "0000", "0000", None),
    ("(always (a -> next b)) @(rose(c))", "010000", "000100", "010101", None),
    # ticks are steps 1, 3, 5: a holds at 1, b is wanted at 3
    ("(always (a -> next b)) @(rose(c))", "010000", "001011", "010101", 3),
    ("(next b) @(rose(c))", "000000", "000000", "010101", 3),
    # of two clocks the inner one rules (IEEE 1850, 6.2.1.2)
    ("(next b) @(rose(c)) @(rose(a))", "000000", "000000", "010101", 3),
    ("(always (prev(a) == b)) @(rose(c))", "110000", "010100", "010101", None),
    ("(always (prev(a) == b)) @(rose(c))", "110000", "010000", "010101", 3),
    ("(never rose(a)) @(rose(c))", "000110", "000000", "010101", 3),
    ("(never rose(a)) @(rose(c))", "010100", "000000", "010101", None),
    ("always stable(a)", "000100", "000000", "000000", 3),
    ("never rose(a)", "100000", "000000", "000000", None),  # false in the first step
    ("a <-> b", "1000", "0000", "0000", 0),
    ("always (a <-> b)", "1010", "1000", "0000", 2),
    ("eventually! a", "0000", "0000", "0000", None),  # no finite run violates it
    ("always (b || (next a))", "0100", "1011", "0000", 2),
]  # fmt: skip


@pytest.mark.parametrize(("text", "a", "b", "c", "expected"), STANDARD)
def test_by_hand(tmp_path: Path, text: str, a: str, b: str, c: str, expected: int | None) -> None:
    """Worked by hand from the operators' definitions in the standard; also the two evaluators."""
    trace = [
        {"a": int(x), "b": int(y), "c": int(z), "d": 0}
        for x, y, z in zip(a, b.ljust(len(a), "0"), c.ljust(len(a), "0"), strict=False)
    ]
    machine = board(tmp_path, [text])
    tree = parse(text)
    assert Weak([reader(step) for step in trace]).violated(tree) == expected
    assert progressed(tree, trace) == expected
    assert monitored(machine, trace).get("f0") == expected
