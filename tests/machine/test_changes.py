"""Counted changes against the algebra that they come from, and against gates with any delays.

Sources: J. Brzozowski and Z. Esik, Hazard algebras (Formal Methods in System Design 23, 2003), for
words of alternating levels; S. H. Unger, Asynchronous Sequential Switching Circuits (1969), for the
static and the dynamic hazard (both from memory); the simulators of `tests.support.delays`, which go
through all orders of events and know nothing of words.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.changes import Change, extra_of
from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Settler
from breadproof.specs.machine.walk import NotQuiet, Numbers
from breadproof.specs.machine.watch import Watcher
from tests.machine.test_kinds import empty_machine
from tests.prove.boards import sketch
from tests.random_boards.boards import build, stimuli
from tests.random_boards.running import machine_of
from tests.support.delays import Gate, Op, with_gates, with_wires
from tests.support.second.counts import longest

Word = tuple[int, ...]
WORDS: list[Word] = [
    tuple((first + k) % 2 for k in range(length)) for first in (0, 1) for length in range(1, 6)
]
KIND = {"and": "and_", "or": "or_", "xor": "xor"}


def change(word: Word) -> Change[int]:
    """A word as the product keeps it."""
    moves = len(word) > 1
    return Change(word[0], (int(moves or word[0]), int(moves or not word[0])), int(len(word) > 2))


def by_the_book(op: str, words: tuple[Word, ...]) -> Word:
    """The word of an and, or or exclusive or by the definition of algebra C, with its counts.

    And: first and last letters by the truth table; as many ones as the words have together, less
    one for each gate passed, if all have any. Or: the same with zeros. Exclusive or: the changes
    add up.
    """
    if op == "xor":
        start, changes = sum(word[0] for word in words) % 2, sum(len(word) - 1 for word in words)
        return tuple((start + k) % 2 for k in range(changes + 1))
    one = 1 if op == "and" else 0
    if any(word == (1 - one,) for word in words):
        return (1 - one,)
    ends = [one if all(word[at] == one for word in words) else 1 - one for at in (0, -1)]
    ones = sum(word.count(one) for word in words) - len(words) + 1
    length = 2 * ones - 1 + sum(end != one for end in ends)
    return tuple((ends[0] + k) % 2 for k in range(length))


def orders(words: tuple[Word, ...], op: str) -> Word:
    """The longest word that any order of changes gives, all orders written out."""
    gate = Gate("g", op, ())  # type: ignore[arg-type]  # an Op
    steps = [number for number, word in enumerate(words) for _ in word[1:]]
    best: Word = ()
    for order in set(itertools.permutations(steps)):
        place = [0] * len(words)
        found = [gate.level([word[0] for word in words])]
        for number in order:
            place[number] += 1
            level = gate.level([word[k] for word, k in zip(words, place, strict=True)])
            found += [level] if level != found[-1] else []
        best = max(best, tuple(found), key=len)
    return best


@pytest.mark.parametrize("op", list(KIND))
def test_words_by_orders_and_by_the_book(op: str) -> None:
    """The definition's counts are what all orders give, and what the second evaluator finds."""
    gate = Gate("g", op, ())  # type: ignore[arg-type]  # an Op
    for pair in itertools.product([word for word in WORDS if len(word) < 5], repeat=2):
        assert orders(pair, op) == by_the_book(op, pair), pair
    for pair in itertools.product(WORDS, repeat=2):
        word, found = by_the_book(op, pair), longest(pair, gate.level)
        assert (found, len(found)) == (word, len(word)) or len(found) < len(word) > 7, pair


@pytest.mark.parametrize("op", list(KIND))
def test_one_bit_is_all_that_counts_of_a_word(op: str) -> None:
    """Of two and (and, or) three inputs, through all words of up to five levels."""
    for count in (2,) if op == "xor" else (2, 3):
        graph = Graph()
        leaves = [graph.leaf("control", f"c{k}") for k in range(count)]
        node = getattr(graph, KIND[op])(*leaves)
        for words in itertools.product(WORDS, repeat=count):
            wanted = by_the_book(op, words)
            inputs = dict(zip(leaves, map(change, words), strict=True))
            found = extra_of(Numbers(), graph, node, change(wanted).swing, inputs.__getitem__)
            assert found == (len(wanted) > 2), (words, wanted)


def test_an_inverter_keeps_the_number() -> None:
    graph = Graph()
    leaf = graph.leaf("control", "c")
    for word in WORDS:
        found = extra_of(
            Numbers(), graph, graph.not_(leaf), change(word).swing, {leaf: change(word)}.__getitem__
        )
        assert found == (len(word) > 2)


# ------------------------------------------------------------------------- circuits


def counted(gates: list[Gate], start: dict[str, int], end: dict[str, int]) -> dict[str, int]:
    """0, 1 or 2 (more than once) by the product, for gates in order and without loops."""
    graph = Graph()
    node = {name: graph.leaf("control", name) for name in end}
    for gate in gates:
        parts = [node[name] for name in gate.inputs]
        match gate.op:
            case "not":
                node[gate.name] = graph.not_(*parts)
            case "and" | "or" | "xor":
                node[gate.name] = getattr(graph, KIND[gate.op])(*parts)
            case "nand":
                node[gate.name] = graph.not_(graph.and_(*parts))
            case "nor":
                node[gate.name] = graph.not_(graph.or_(*parts))
    roots = [node[gate.name] for gate in gates]
    machine = replace(empty_machine(graph), order=tuple(range(2, len(graph))))
    settler = Settler(machine, Numbers(), [], roots)

    def no_memory(memory: int, bit: int, address: object) -> int:
        raise AssertionError("no memory")

    names = {leaf: name for name, leaf in node.items() if name in end}
    first = settler.settle(lambda leaf: start[names[leaf]], no_memory, None)
    now = settler.settle(lambda leaf: end[names[leaf]], no_memory, settler.at_rest(first))
    for gate in gates:
        start[gate.name] = first.levels[node[gate.name]]
    return {
        gate.name: 2
        if now.extra[node[gate.name]]
        else int(first.levels[node[gate.name]] != now.levels[node[gate.name]])
        for gate in gates
    }


OPS: tuple[Op, ...] = ("and", "or", "not", "xor", "nand", "nor")


def random_gates(random: Random, inputs: list[str], count: int, *, loops: bool) -> list[Gate]:
    gates: list[Gate] = []
    for number in range(count):
        op = random.choice(OPS)
        names = [*inputs, *(f"g{k}" for k in range(count if loops else number))]
        # Those nearest make for depth.
        pool = names if loops else [*names, *names[-2:]]
        ends = [random.choice(pool) for _ in range(1 if op == "not" else 2)]
        gates.append(Gate(f"g{number}", op, tuple(ends)))
    return gates


def exact(seed: int) -> list[int]:
    """One random circuit without loops, against every order of events on all its wires."""
    random = Random(seed)
    inputs = ["a", "b", "c"]
    gates = random_gates(random, inputs, random.randint(3, 5), loops=False)
    start = {name: random.randint(0, 1) for name in inputs}
    end = {name: random.randint(0, 1) for name in inputs}
    found = counted(gates, start, end)
    wanted = {name: min(most, 2) for name, most in with_wires(gates, start, end).items()}
    assert found == wanted, (gates, start, end)
    return list(wanted.values())


def test_counts_are_exact_without_loops() -> None:
    """With a delay in every wire nothing is counted that cannot happen, and nothing left out
    (Brzozowski and Esik's theorem on circuits without feedback)."""
    seen = [count for seed in range(250) for count in exact(seed)]
    assert all(seen.count(count) > 60 for count in (0, 1, 2))


def covered(folder: Path, seed: int) -> list[int]:
    """One random circuit with loops as a board, walked some steps; each against every order of
    events in its gates. What the counts were where settling is not the whole story."""
    random = Random(seed)
    inputs = ["a", "b"]
    gates = random_gates(random, inputs, random.randint(4, 7), loops=True)
    machine = wired(folder, gates, inputs)
    nets = {net.name: level for net, level in zip(machine.netlist.nets, machine.nets, strict=True)}
    roots = [nets[gate.name].level for gate in gates]
    watcher = Watcher(machine, count_of=roots, choice=lambda loop, cut: random.randint(0, 1))
    seen: list[int] = []
    try:
        watcher.power_up()
        for _ in range(6):
            old = watcher.rounds[-1].levels
            start = {name: old[nets[name].level] for name in [*inputs, *(g.name for g in gates)]}
            for gate in gates:
                assert gate.level([start[name] for name in gate.inputs]) == start[gate.name]
            end = {name: random.randint(0, 1) for name in inputs}
            watcher.step({name: (level,) for name, level in end.items()})
            assert len(watcher.rounds) == 1
            now = watcher.rounds[0]
            most = with_gates(gates, start, end)
            for gate in gates:
                node = nets[gate.name].level
                moves = now.swings[node] == (1, 1)
                count = 2 if now.extra[node] else int(moves)
                assert count == 2 or most[gate.name] <= count, (seed, gate, start, end)
                seen.append(count)
    except NotQuiet:
        pass
    return seen


CHIPS = {"and": "08", "or": "32", "not": "04", "xor": "86", "nand": "00", "nor": "02"}


def wired(folder: Path, gates: list[Gate], inputs: list[str]) -> Machine:
    """Each gate as the first of a chip of its own."""
    pins: dict[str, list[str]] = {name: [] for name in [*inputs, *(g.name for g in gates)]}
    for number, gate in enumerate(gates):
        pins[gate.name].append(f"U{number + 1}.Y1")
        for end, name in zip(("A1", "B1"), gate.inputs, strict=False):
            pins[name].append(f"U{number + 1}.{end}")
    unread = [name for name in inputs if not pins[name]]
    chips = " ".join(f"U{k + 1}:{CHIPS[gate.op]}" for k, gate in enumerate(gates))
    for number, name in enumerate(unread):
        chips += f" U9{number}:04"
        pins[name] = [f"U9{number}.A1"]
    nets = {name: " ".join(ends) for name, ends in pins.items()}
    made = sketch(folder, chips, nets, " ".join(inputs))
    path = folder / "loop.yaml"
    path.write_text(made.text(), encoding="utf-8")
    return load_machine(path)


def test_counts_cover_loops(tmp_path: Path) -> None:
    """No net of a loop, nor behind one, changes more often than was counted. Counts may be more."""
    seen = [count for seed in range(40) for count in covered(tmp_path, seed)]
    assert all(seen.count(count) > 40 for count in (0, 1, 2))


# ------------------------------------------------------------------------- examples


SELECT = [
    Gate("n", "not", ("s",)),
    Gate("p", "and", ("s", "a")),
    Gate("q", "and", ("n", "b")),
    Gate("y", "or", ("p", "q")),
]
COVERED = [*SELECT[:3], Gate("r", "and", ("a", "b")), Gate("h", "or", ("p", "q")),
           Gate("y", "or", ("h", "r"))]  # fmt: skip


@pytest.mark.parametrize(
    ("gates", "inputs", "count"),
    [
        (SELECT, "s01 a11 b11", 2),  # static hazard: two ways to y that move against each other
        (COVERED, "s01 a11 b11", 0),  # the term of both inputs covers it
        (SELECT, "s01 a11 b00", 1),
        (SELECT, "s11 a01 b10", 1),  # the other input is not looked at
        ([*SELECT, Gate("z", "and", ("y", "s"))], "s01 a11 b11", 2),  # dynamic hazard: 0101
        ([*COVERED, Gate("z", "and", ("y", "s"))], "s01 a11 b11", 1),
        ([Gate("n", "not", ("s",)), Gate("y", "xor", ("s", "n"))], "s01", 2),
        ([Gate("y", "and", ("a", "b"))], "a01 b01", 1),  # both rise: one change, whoever is first
        ([Gate("y", "and", ("a", "b"))], "a01 b10", 2),
    ],
)
def test_hazards_of_the_textbooks(gates: list[Gate], inputs: str, count: int) -> None:
    start = {word[0]: int(word[1]) for word in inputs.split()}
    end = {word[0]: int(word[2]) for word in inputs.split()}
    assert counted(gates, start, end)[gates[-1].name] == count
    assert min(with_wires(gates, start, end)[gates[-1].name], 2) == count


def test_a_latch_of_two_gates_sets_once(tmp_path: Path) -> None:
    """A change-over contact leaves one side, arrives at the other: each output of the latch changes
    once, at arrival (the textbooks' switch without bounce)."""
    gates = [Gate("q", "nand", ("s", "p")), Gate("p", "nand", ("r", "q"))]
    machine = wired(tmp_path, gates, ["s", "r"])
    names = {net.name: level.level for net, level in
             zip(machine.netlist.nets, machine.nets, strict=True)}  # fmt: skip
    watcher = Watcher(
        machine, count_of=[names["q"], names["p"]], controls={"s": (1,), "r": (0,)}
    )  # fmt: skip
    watcher.power_up()
    levels = []
    for controls in ({"r": (1,)}, {"s": (0,)}, {"s": (1,)}):
        watcher.step(controls)
        (now,) = watcher.rounds
        assert not now.extra[names["q"]]
        assert not now.extra[names["p"]]
        levels.append((now.levels[names["q"]], now.levels[names["p"]]))
    assert levels == [(0, 1), (1, 0), (1, 0)]


# ------------------------------------------------------------------------- boards


def agrees_with_settling(text: str, seed: int) -> int:
    """Walk a random board: where a level stays, extra is what three-valued settling says, of the
    node or of what is drawn to count its changes; where it changes, the node moves; and what is
    drawn has the level that it is drawn for."""
    machine = machine_of(text)
    drawn = stimuli(machine, Random(seed), 25)
    roots = [pin.level for pin in machine.pins.values()]
    roots += [strobe.condition for strobe in machine.strobes]
    watcher = Watcher(
        machine,
        count_of=roots,
        storage=dict(drawn.start.storage),
        controls=dict(drawn.start.controls),
        free=lambda reader: Random(f"{reader} {seed}").randint(0, 1),
    )
    extras = 0
    try:
        watcher.power_up()
        for step in drawn.changes:
            before = watcher.settler.at_rest(watcher.rounds[-1])
            watcher.step(step)
            for now in watcher.rounds:
                for node, extra in enumerate(now.extra):
                    if extra is None:
                        continue
                    drawn_as = machine.counted.get(node, node)
                    moves = (1, 1) in (now.swings[node], now.swings[drawn_as])
                    stays = before.levels[node] == now.levels[node]
                    assert bool(extra) == moves if stays else moves, (seed, node)
                    extras += bool(extra) and not stays
                assert all(now.levels[a] == now.levels[b] for a, b in machine.counted.items())
                before = now
    except NotQuiet:
        pass
    return extras


def test_where_a_level_stays_counting_is_settling() -> None:
    found = [agrees_with_settling(build(Random(seed)), seed) for seed in range(6)]
    found += [agrees_with_settling(build(Random(s), joins=100), s) for s in range(2)]
    assert sum(found) > 30
