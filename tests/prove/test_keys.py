"""The key of an answer covers all that the answer depends on, and nothing else.

Random boards are changed at random, and everything is found out about all of them without keeping
anything: the same key must never come with two answers. What is no part of a question must not
change its key, or a proof would be lost for nothing.
"""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.influence import closure
from breadproof.specs.machine.machine import Machine, StoreBit
from breadproof.verify.prove import keys as module
from breadproof.verify.prove.checks import standing_checks
from breadproof.verify.prove.digests import Unkeyed
from breadproof.verify.prove.keys import HANDLED, Keys, handled
from breadproof.verify.prove.properties import claimed
from tests.prove.boards import assumptions, formulas, random_board, sketch
from tests.prove.directed import Sequencer, sequencer
from tests.prove.kept import Told, answers, changed, loaded
from tests.prove.test_brute import load

LIGHT_STORE = Path(__file__).parents[2] / "specs" / "boards" / "light-store.yaml"


def conflicts(seed: int, boards: int, changes: int, folder: Path) -> dict[str, int]:
    """Compare random boards and changes of them; how often keys were the same, and were not."""
    dice = Random(seed)
    seen: dict[str, Told] = {}
    counts = {"same": 0, "changed": 0}
    for number in range(boards):
        own = folder / f"{seed}-{number}"
        own.mkdir()
        made = random_board(own, dice)
        more = formulas(made, dice, 5)
        if dice.random() < 0.5:
            more += assumptions(made, dice)
        machine = loaded(made, more)
        first = {one.name: one for one in answers(machine)} if machine else {}
        seen |= {one.key: one for one in first.values()}
        for _ in range(changes):
            other = changed(made, more, dice)
            machine = loaded(*other) if other else None
            for told in answers(machine) if machine else ():
                before = first.get(told.name)
                if before is not None and before.answer != told.answer:
                    assert before.key != told.key, (seed, number, before, told)
                    counts["changed"] += 1
                known = seen.setdefault(told.key, told)
                assert known.answer == told.answer, (seed, number, known, told)
                counts["same"] += known is not told
    return counts


def test_the_same_key_has_the_same_answer(tmp_path: Path) -> None:
    counts = conflicts(13, 4, 4, tmp_path)
    assert counts["same"] >= 50, "keys that never come again show nothing"
    assert counts["changed"] >= 5, "answers that never change show nothing"


@pytest.mark.parametrize("read", [False, True])
def test_what_a_memory_takes_in_changes_the_keys_of_its_checks(tmp_path: Path, read: bool) -> None:
    """While it is written its data stand still behind one gate and move behind another; it does not
    matter whether anybody reads it."""
    nets = {"w": "U1.WE_n U2.B1", "d": "U2.A1", "y": "U2.Y1 U1.D U1.A0", "q": "U1.Q"}
    nets["GND"] = "U1.CS_n"
    if read:
        nets["q"] += " U3.D"
        nets["c"] = "U3.CLK"
    told: list[dict[str, str]] = []
    for gate in ("32", "00"):
        chips = f"U1:9003 U2:{gate}" + " U3:9001" * read
        machine = load(sketch(tmp_path, chips, nets, "w d c" if read else "w d"), "")
        found = Keys(machine)
        told.append({one.name: found.check(one).text for one in standing_checks(machine)})
        told[-1]["quiet"] = found.quiet.text
    assert told[0].keys() == told[1].keys()
    for name in ("race:U1.1", "quiet"):
        assert told[0][name] != told[1][name]


def texts(machine: Machine) -> dict[str, str]:
    """The key of each formula."""
    keys = Keys(machine)
    return {one.formula.name: keys.formula(one).text for one in claimed(machine)}


def test_a_word_of_a_rom_that_changes_an_answer_changes_its_key(tmp_path: Path) -> None:
    """The answers come from a search of the table, by the test."""
    dice = Random(5)
    for _ in range(4):
        one = sequencer(dice, 3)
        facts = one.facts()
        two = one
        while not (differ := {n for n, t in enumerate(facts) if two.facts()[t] != facts[t]}):
            table = list(one.table)
            table[dice.randrange(len(table))] ^= 1 << dice.randrange(3)
            two = Sequencer(bits=3, table=tuple(table))
        before, after = texts(one.machine(tmp_path, facts)), texts(two.machine(tmp_path, facts))
        assert all(before[f"f{number}"] != after[f"f{number}"] for number in differ)
        assert before == texts(one.machine(tmp_path, facts))


CHIPS = "U1:175 U2:08 U3:86"
NETS = {
    "clk": "U1.CLK", "a": "U1.D0 U2.A1", "b": "U1.D1 U2.B1 U3.A1", "q": "U1.Q0 U3.B1",
    "y": "U2.Y1 U1.D2", "x": "U3.Y1 U1.D3", "r": "U1.Q1", "s": "U1.Q2", "t": "U1.Q3",
}  # fmt: skip
FORMULAS = """\
assume:
  still: {says: "", formula: "always (rose(clk) -> stable(a))"}
assert:
  first: {says: First., formula: "always (rose(clk) -> q == prev(q) || q == prev(a))"}
  last: {says: Last., formula: "always (fell(q) -> next (r until! s))"}
  wait: {says: Wait., formula: "always (rose(a) -> (!q until rose(clk)))"}
"""


def board(folder: Path, *, more: str = FORMULAS, backwards: bool = False) -> Machine:
    """A board of three chips with some formulas."""
    made = sketch(folder, CHIPS, NETS, "clk a b")
    made.text()
    if backwards:
        made.parts = dict(reversed(made.parts.items()))
        made.nets = {net: pins[::-1] for net, pins in reversed(made.nets.items())}
        made.ports = dict(reversed(made.ports.items()))
    machine = loaded(made, more)
    assert machine is not None
    return machine


def test_places_titles_and_orders_change_no_key(tmp_path: Path) -> None:
    told = texts(board(tmp_path))
    assert len(set(told.values())) == 3
    assert texts(board(tmp_path, backwards=True)) == told
    title = "title: Another one\n\n# and a comment\n"
    assert texts(board(tmp_path, more=title + FORMULAS.replace("First.", "1st"))) == told
    lines = FORMULAS.splitlines(keepends=True)
    again = "".join([*lines[:3], *reversed(lines[3:])])
    assert texts(board(tmp_path, more=again)) == told
    new = '  early: {says: "", formula: "always (rose(b) -> next[2] (t until r))"}\n'
    more = texts(board(tmp_path, more="".join([*lines[:3], new, *lines[3:]])))
    assert {name: more[name] for name in told} == told
    keys, other = Keys(board(tmp_path)), Keys(board(tmp_path, backwards=True))
    assert keys.quiet.text == other.quiet.text


@pytest.mark.parametrize(
    ("old", "new", "differ"),
    [
        ("stable(a)", "stable(b)", {"first", "last", "wait"}),
        ("next (r until! s)", "next (r until s)", {"last"}),
        ("next (r until! s)", "next (s until! r)", {"last"}),
        ("!q until rose(clk)", "q until rose(clk)", {"wait"}),
        ("q == prev(a)", "q != prev(a)", {"first"}),
        ("assume:\n", "together: [[a, b]]\nassume:\n", {"last"}),
        ("assume:\n", "together: all\nassume:\n", {"first", "last", "wait"}),
    ],
)
def test_what_a_formula_says_and_assumes_changes_its_key(
    tmp_path: Path, old: str, new: str, differ: set[str]
) -> None:
    one, two = texts(board(tmp_path)), texts(board(tmp_path, more=FORMULAS.replace(old, new)))
    assert {name for name in one if one[name] != two[name]} == differ


@pytest.mark.parametrize(
    ("net", "pins", "differ"),
    [
        ("q", "U1.Q0 U3.B1 U2.A2", set()),  # a reader that leads nowhere
        ("y", "U2.Y1 U1.D2 U2.A2 U2.B2", set()),
        ("b", "U1.D1 U2.A1 U3.A1", {"last"}),
    ],
)
def test_a_wire_changes_the_keys_of_what_it_matters_to(
    tmp_path: Path, net: str, pins: str, differ: set[str]
) -> None:
    one = texts(board(tmp_path))
    nets = NETS | {net: pins}
    if differ:
        nets["a"] = "U1.D0 U2.B1 U1.D1"
        nets["b"] = "U2.A1 U3.A1"
    machine = loaded(sketch(tmp_path, CHIPS, nets, "clk a b"), FORMULAS)
    assert machine is not None
    two = texts(machine)
    assert {name for name in one if one[name] != two[name]} == differ


def test_a_board_beside_changes_no_answer(tmp_path: Path) -> None:
    """What keys rest on: a part that nothing acts on does alone what it does in company."""
    dice, compared = Random(77), 0
    for number in range(2):
        here = tmp_path / str(number)
        here.mkdir()
        for name in ("a", "b"):
            folder = here / name
            folder.mkdir()
            made = random_board(folder, dice)
            (folder / "small.yaml").write_text(made.text(formulas(made, dice, 4)), "utf-8")
        alone, both = here / "alone.yaml", here / "both.yaml"
        alone.write_text("board: alone\nboards: {a: a/small.yaml}\n", "utf-8")
        both.write_text("board: both\nboards: {a: a/small.yaml, b: b/small.yaml}\n", "utf-8")
        one = {told.name: told for told in answers(load_machine(alone))}
        two = {told.name: told for told in answers(load_machine(both))}
        for name in one.keys() & two.keys() - {"quiet", "lively"}:
            assert one[name].answer == two[name].answer, (number, name)
            compared += 1
    assert compared >= 10


def test_the_part_is_closed(tmp_path: Path) -> None:
    """It has all that `influence.closure` finds, which the search for loops rests on."""
    for machine in (load_machine(LIGHT_STORE), board(tmp_path)):
        keys = Keys(machine)
        for one in claimed(machine):
            seen, memories = closure(machine, [one.bad])
            key = keys.formula(one)
            assert seen <= key.seen
            assert all(machine.memories[index].write in key.seen for index in memories)


def test_all_parts_of_a_machine_are_taken_care_of(monkeypatch: pytest.MonkeyPatch) -> None:
    """A new field wants a place in the keys, or the reason why it needs none, in `HANDLED`."""
    assert handled()
    monkeypatch.setitem(HANDLED, StoreBit, HANDLED[StoreBit].replace(" preset", ""))
    assert not handled()
    with pytest.raises(Unkeyed):
        Keys(load_machine(LIGHT_STORE))


def test_the_edition_is_in_every_key(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    machine = board(tmp_path)
    one = {*texts(machine).values(), Keys(machine).quiet.text, Keys(machine).lively.text}
    monkeypatch.setattr(module, "edition", lambda: "another")
    two = {*texts(machine).values(), Keys(machine).quiet.text, Keys(machine).lively.text}
    assert not one & two
