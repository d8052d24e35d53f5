"""What a revision does to everything that is proved: each result of either board, on both.

Formulas that only one of the files has are asked of the other board too, with the names that it
has for the same pins and nets. What earlier runs proved is taken from the store, for each board by
itself; it is sound since it goes by what a proof rests on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from breadproof.specs.formula.rewrite import renamed
from breadproof.specs.machine.blast import WrongFormula
from breadproof.specs.machine.build import build_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.monitor import FormulaCompiler
from breadproof.specs.netlist.model import BoardFormula, Netlist
from breadproof.specs.reading.diagnostics import Problems
from breadproof.verify.prove.crew import Crew
from breadproof.verify.prove.prover import Prover
from breadproof.verify.prove.store import Store
from breadproof.verify.prove.verdict import Result
from breadproof.verify.revisions.matching import Matching
from breadproof.verify.revisions.naming import Renaming
from breadproof.verify.revisions.said import same_formula
from breadproof.verify.verify_board import confirmed
from breadproof.verify.wiring.finding import Finding
from breadproof.verify.wiring.registry import check_wiring

Effect = Literal["unchanged", "worse", "better", "open", "new", "gone"]
GOOD = ("holds", "covered", "clean")
BAD = ("fails", "unreachable", "error")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A result on both boards, under its name on each ("" where it is not asked). ``kind`` is that
    of the result, or "wiring". ``trace`` belongs to the new board's result."""

    old_name: str
    new_name: str
    kind: str
    old: str
    new: str
    effect: Effect
    says: str
    because: str = ""
    result: Result | None = None


@dataclass(slots=True, kw_only=True)
class Means:
    """What there is to prove with; see `Prover`."""

    seconds: float = 60.0
    progress: Callable[[str], None] = lambda text: None
    crew: Crew | None = None
    store: Store | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Proved:
    """Both boards' results, and the rows that they make."""

    rows: tuple[Row, ...]
    machines: tuple[Machine, Machine]
    results: tuple[tuple[Result, ...], tuple[Result, ...]]
    interrupted: bool = False


def effect(old: str, new: str) -> Effect:
    """What becomes of a verdict."""
    if not old:
        return "worse" if new in BAD else "open" if new == "undecided" else "new"
    if not new:
        return "gone"
    if old == new or (old in BAD and new in BAD):
        return "unchanged"
    if new in BAD:
        return "worse"
    if new == "undecided":
        return "open" if old in GOOD else "unchanged"
    return "better" if old in BAD else "unchanged"


def on_both(matching: Matching, means: Means) -> Proved:
    """Prove all of both boards and put it side by side."""
    back = reversed_matching(matching)
    netlists = (
        with_formulas_of(matching.new, matching.old, Renaming(back)),
        with_formulas_of(matching.old, matching.new, Renaming(matching)),
    )
    machines: list[Machine] = []
    results: list[tuple[Result, ...]] = []
    interrupted = False
    for which, netlist in zip(("old", "new"), netlists, strict=True):
        problems = Problems()
        machine = build_machine(netlist, problems)
        problems.stop_if_any()
        machines.append(machine)
        prover = Prover(
            machine,
            seconds=means.seconds,
            progress=_on(which, means.progress),
            crew=means.crew,
            store=means.store,
        )
        found = () if interrupted else prover.run()
        interrupted = interrupted or prover.interrupted
        results.append(
            found if which == "old" else confirmed(machine.netlist, found, means.progress)
        )
    rows = (*_wiring(matching), *_rows(matching, results[0], results[1]))
    return Proved(
        rows=rows,
        machines=(machines[0], machines[1]),
        results=(results[0], results[1]),
        interrupted=interrupted,
    )


def _on(which: str, progress: Callable[[str], None]) -> Callable[[str], None]:
    return lambda text: progress(f"{which} board: {text}")


def reversed_matching(matching: Matching) -> Matching:
    """The same from the new board back to the old one."""
    return Matching(
        old=matching.new,
        new=matching.old,
        parts=matching.parts_back,
        pins=matching.pins_back,
        nets=matching.nets_back,
        gates=tuple((matching.parts[name], b, a) for name, a, b in matching.gates),
        moved=tuple((b, a) for a, b in matching.moved),
        anew=frozenset(matching.parts[name] for name in matching.anew),
    )


def with_formulas_of(other: Netlist, netlist: Netlist, renaming: Renaming) -> Netlist:
    """A board with those formulas of the other that it does not have itself and that mean something
    on it; assumptions stay its own."""
    names = {formula.name for formula in netlist.formulas}
    foreign = [
        replace(formula, expr=renamed(formula.expr, renaming))
        for formula in other.formulas
        if formula.name not in names and formula.kind != "assume"
    ]
    if not foreign:
        return netlist
    machine = build_machine(replace(netlist, formulas=()), Problems())
    known = tuple(formula for formula in foreign if _means(machine, formula))
    return replace(netlist, formulas=(*netlist.formulas, *known))


def _means(machine: Machine, formula: BoardFormula) -> bool:
    try:
        FormulaCompiler(machine).compile(formula)
    except WrongFormula:
        return False
    return True


# rows ---------------------------------------------------------------------------------------------


def _rows(matching: Matching, old: Iterable[Result], new: Iterable[Result]) -> Iterable[Row]:
    renaming = Renaming(matching)
    after = {result.name: result for result in new}
    taken: set[str] = set()
    for one in old:
        name = one.name if one.kind != "standing" else called(one.name, matching, renaming)
        two = after.get(name)
        taken.add(name)
        yield _row(one, two, name if two is not None else "")
    for two in after.values():
        if two.name not in taken:
            yield _row(None, two, two.name)


def _row(one: Result | None, two: Result | None, name: str) -> Row:
    shown = two if two is not None else one
    assert shown is not None, "a row has a result"
    before = one.verdict if one is not None else ""
    after = two.verdict if two is not None else ""
    return Row(
        old_name=one.name if one is not None else "",
        new_name=name,
        kind=shown.kind,
        old=before,
        new=after,
        effect=effect(before, after),
        says=shown.says,
        because=two.because if two is not None else "",
        result=two,
    )


def called(name: str, matching: Matching, renaming: Renaming) -> str:
    """A standing check's name on the new board: ``glitch:U9.21`` goes with the pin."""
    kind, colon, what = name.partition(":")
    if not colon:
        return name
    now = matching.pins.get(what)
    if now is None:
        head, bracket, bit = what.partition("[")
        now = renaming(what)
        if now == what and bracket:
            now = f"{renaming(head)}[{bit}"
    return f"{kind}:{now}"


def _wiring(matching: Matching) -> Iterable[Row]:
    """Errors of the wiring rules that only one of the boards has."""
    before = {_key(f, matching.pins): f for f in check_wiring(matching.old) if f.fails}
    after = {_key(f, {}): f for f in check_wiring(matching.new) if f.fails}
    for key, finding in before.items():
        name = f"{finding.code}:{finding.pins[0] if finding.pins else finding.net}"
        new = "error" if key in after else "clean"
        yield Row(old_name=name, new_name=name, kind="wiring", old="error", new=new,
                  effect=effect("error", new), says=finding.message)  # fmt: skip
    for key, finding in after.items():
        if key not in before:
            name = f"{finding.code}:{finding.pins[0] if finding.pins else finding.net}"
            yield Row(old_name=name, new_name=name, kind="wiring", old="clean", new="error",
                      effect="worse", says=finding.message)  # fmt: skip


def _key(finding: Finding, pins: Mapping[str, str]) -> tuple[object, ...]:
    """What makes a finding the same one on both boards."""
    return finding.code, tuple(sorted(pins.get(label, label) for label in finding.pins))


def unchanged_formulas(matching: Matching) -> bool:
    """Whether both files say the same in all their formulas."""
    renaming = Renaming(matching)
    old = {formula.name: formula for formula in matching.old.formulas}
    new = {formula.name: formula for formula in matching.new.formulas}
    return old.keys() == new.keys() and all(
        same_formula(formula, new[name], renaming) for name, formula in old.items()
    )
