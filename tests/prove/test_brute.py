"""Verdicts and lengths against a search of all quiet moments and steps of small boards.

The search (`tests.support.brute`) is an explicit one, on the second evaluator's rounds, with the
standing checks derived anew from design.md section 4 and the formulas from IEEE 1850-2010 (see
`tests.support.finite_traces`). It shares no code with the Machine, the monitors or the prover.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.verdict import Result
from tests.prove.boards import SMALL, Sketch, assumptions, formulas, random_board, small
from tests.support.brute import Explorer, Formulas, Space
from tests.support.brute_looks import Bench

RESTS = "it rests on"


def race_names(bench: Bench) -> dict[str, str]:
    """The races of the search by the pin that the product names them after."""
    found = {}
    for place in bench.places:
        pins = [pin for pin in bench.by_name[place.part].pins if pin.label in place.pins]
        named = [pin.label for pin in pins if pin.role.value == place.kind]
        found[f"race:{place.main}"] = f"race:{(named or [pin.label for pin in pins])[0]}"
    return found


def agree(machine: Machine) -> Counter[str]:
    """Compare everything; what was compared, by verdict."""
    netlist = machine.netlist
    explorer = Explorer(netlist, list(machine.free))
    space = explorer.explore()
    rounds, results = prove_board(machine, seconds=10)
    by_name = {result.name: result for result in results}
    found: Counter[str] = Counter()
    quiet = by_name.pop("quiet")
    assumes = [f.expr for f in netlist.formulas if f.kind == "assume"]
    if assumes and by_name.pop("assumptions", None) is not None:
        return Counter({"dead end": 1})
    if space.never_quiet:
        assert quiet.verdict == "fails" or assumes, quiet
        return Counter({"not quiet": 1})
    assert quiet.verdict == "holds", quiet
    assert rounds == space.rounds or (assumes and rounds < space.rounds), (rounds, space.rounds)
    races = race_names(explorer.bench)
    search = Formulas(space, assumes)
    names = {name for step in every(space) for name in step}
    names = {races.get(name, name) for name in names if name[-1] not in ">~"}
    # Whether a pulse that open storage passes on matters is the product's word (see test_through).
    passed = {pin for one in machine.strobes if one.kind == "through" for pin in one.pins}
    compared = set()
    for name, result in by_name.items():
        if name.startswith("dead:"):
            continue  # see test_dead.py
        if result.kind == "standing":
            wanted = frozenset(
                {name, *(place for place, label in races.items() if label == name)} - {""}
            )
            compared.add(name)
            if name.partition(":")[2] in passed:
                wanted |= {f"{name}>"}
            length = search.shortest_broken(wanted)
            if name.startswith("glitch:") and by_name[f"float:{name[7:]}"].verdict == "fails":
                # The float itself is reported. A floating pin reads one level for the whole step;
                # the search, stricter, lets it pulse when a driver takes over at that level. The
                # product is stricter where it is the driver's level that changes meanwhile.
                earlier = result.verdict == "fails" and (length is None or result.steps < length)
                if earlier or (length is not None and result.verdict == "holds"):
                    found["float instead"] += 1
                    continue
            if name.startswith(("race:", "floats:")) and result.verdict == "fails":
                length = between(loosely(machine, search, wanted), result.steps, length)
            same(result, length, found)
    assert names <= compared, names - compared
    for formula in netlist.formulas:
        if formula.kind != "assume":
            length = search.shortest(formula.expr, formula.kind == "cover")
            same(by_name[formula.name], length, found)
    return found


def loosely(machine: Machine, search: Formulas, wanted: frozenset[str]) -> int | None:
    """The length if all that the search is not sure of counts as broken."""
    floats = any(name.startswith("floats:") for name in wanted)
    if floats and any(loop.holds for loop in machine.loops):
        return 0  # of what loops of gates may keep the search tells nothing
    return search.shortest_broken(wanted | {f"{one}~" for one in wanted})


def between(loose: int | None, found: int, strict: int | None) -> int | None:
    """The length a race may have: the search knows that open storage moves, not for whom; of
    what floats, that X gets somewhere.

    ``loose`` takes all of that as broken, ``strict`` none of it.
    """
    if loose is None or found < loose or (strict is not None and found > strict):
        return strict
    return found


def every(space: Space) -> list[frozenset[str]]:
    steps = [step for steps in space.steps.values() for step in steps]
    return [step.broken for step in [*space.first, *steps]]


def same(result: Result, length: int | None, found: Counter[str]) -> None:
    """The verdict is the search's, and so is the length; "undecided" is only an honest one."""
    found[result.verdict] += 1
    match result.verdict:
        case "holds" | "unreachable":
            assert length is None, (result, length)
        case "fails" | "covered":
            assert length == result.steps, (result, length)
            assert result.trace is not None
            assert len(result.trace.steps) == result.steps + 1
        case "undecided":
            if result.because.startswith(RESTS):
                assert length is None, (result, length)
            else:
                assert length is None or length > result.steps, (result, length)
                found["open"] += 1


def load(made: Sketch, more: str = "") -> Machine:
    path = made.folder / "small.yaml"
    path.write_text(made.text(more), encoding="utf-8")
    return load_machine(path)


@pytest.mark.parametrize("name", SMALL)
def test_small_boards(tmp_path: Path, name: str) -> None:
    made = small(tmp_path, name)
    machine = load(made, formulas(made, Random(name), 8))
    found = agree(machine)
    assert found["open"] <= 2
    assert sum(found.values()) >= 10 or found["not quiet"]


def random_machine(folder: Path, random: Random) -> Machine:
    """A board of a size that can be searched, in half of the cases with assumptions."""
    while True:
        made = random_board(folder, random)
        more = formulas(made, random, 6)
        if random.random() < 0.5:
            more += assumptions(made, random)
        machine = load(made, more)
        bits = len(machine.stores) + sum(len(c.bits) for c in machine.netlist.controls)
        bits += sum(memory.words * memory.bits for memory in machine.memories)
        if bits + 2 * len(machine.free) <= 9:
            return machine


@pytest.mark.parametrize("seed", range(14))
def test_random_boards(tmp_path: Path, seed: int) -> None:
    agree(random_machine(tmp_path, Random(seed)))
