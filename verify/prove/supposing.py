"""What would mend a formula that fails, were it assumed: a control that nobody moves, a clock that
goes on.

Only controls that move in the run that was found are tried, for without a move of theirs that run
is still one; then the formula is proved anew under the assumption, quiet moments, clean pins and
all. Where a condition of the formula never comes true under it, it is no way out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from breadproof.specs.formula.parse import parse, plain
from breadproof.specs.formula.rewrite import renamed
from breadproof.specs.machine.build import build_machine
from breadproof.specs.machine.influence import closure
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import CompiledFormula
from breadproof.specs.machine.trace import Trace
from breadproof.specs.netlist.model import (
    BoardFormula,
    Control,
    Netlist,
    NetlistNames,
    written,
)
from breadproof.specs.reading.diagnostics import Problems
from breadproof.verify.prove.endless import plain_name
from breadproof.verify.prove.prover import Prover
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.prove.verdict import Result

MAX_CONTROLS = 12
"""Controls beyond this are not tried."""

STILL = {
    "button": "if nobody presses or releases {}",
    "changeover": "if nobody moves {}",
    "way": "if nobody moves {}",
    "rotary": "if nobody turns {}",
    "jumper": "if nobody moves {}",
    "in": "if {} stays as it is",
    "oscillator": "if {} stands still",
}
"""What is supposed of a control, by its kind."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Supposed:
    """With the assumption ``name``, of formula ``formula``, the property holds; ``says`` it."""

    name: str
    says: str
    formula: str

    @property
    def text(self) -> str:
        """``if nobody moves MODE, it holds; assume it: {MODE-stays: "always stable(MODE)"}``."""
        return f'{self.says}, it holds; to assume it: {{{self.name}: "{self.formula}"}}'


def supposings(
    machine: Machine,
    result: Result,
    deadline: Deadline,
    progress: Callable[[str], None] = lambda text: None,
) -> Iterator[Supposed]:
    """The assumptions under which a formula that fails holds, as far as time allows."""
    formula = next(f for f in machine.logic.formulas if f.formula.name == result.name)
    if result.trace is None:
        return
    for one in candidates(machine, formula, result.trace):
        if deadline.left <= 0:
            return
        other = assuming(machine.wired, one)
        if other is None:
            continue
        progress(f"{result.name}: {one.says}")
        prover = Prover(other, seconds=deadline.left)
        (answer,) = prover.run((result.name,))
        if prover.interrupted:
            raise KeyboardInterrupt
        if answer.verdict == "holds" and not answer.vacuous:
            yield one


def candidates(machine: Machine, formula: CompiledFormula, trace: Trace) -> list[Supposed]:
    """What may be tried, in the order of the board: controls that decide and that move in the run;
    where something is waited for, clocks that need not go on."""
    roots = [formula.bad, *(awaited.node for awaited in formula.awaited)]
    behind = closure(machine, roots)[0]
    found: list[Supposed] = []
    for control in machine.netlist.controls:
        if behind.isdisjoint(machine.controls[control.name]):
            continue
        if trace.loop is not None and goes_on(control):
            found.append(
                Supposed(
                    name=f"{plain_name(control.name)}-goes-on",
                    says=f"if {control.name} goes on for ever",
                    formula=f"always eventually! rose({written(control.name)})",
                )
            )
        levels = {step.controls[control.name] for step in trace.steps}
        if control.kind in STILL and len(levels) > 1:
            found.append(
                Supposed(
                    name=f"{plain_name(control.name)}-stays",
                    says=STILL[control.kind].format(control.name),
                    formula=f"always {still(control)}",
                )
            )
    return found[:MAX_CONTROLS]


def goes_on(control: Control) -> bool:
    """Whether a control may be a clock."""
    return control.kind in ("oscillator", "in") and len(control.bits) == 1


def still(control: Control) -> str:
    """That a control stays, as a formula."""
    name, bits = written(control.name), [written(bit) for bit in control.bits]
    if control.kind == "changeover":
        positions = [bit.rpartition(".")[2] for bit in bits]
        return f"({' && '.join(f'stable({name} == {one})' for one in positions)})"
    if control.kind == "in" and len(control.bits) > 1:
        return f"stable({{{', '.join(bits)}}})"
    return f"stable({name})"


def assuming(netlist: Netlist, one: Supposed) -> Machine | None:
    """The machine with one more assumption; None if it cannot be written so on this board, or the
    board has one of that name."""
    if any(formula.name == one.name for formula in netlist.formulas):
        return None
    text = plain(one.formula)
    expr = renamed(parse(text), NetlistNames(netlist).called)
    more = BoardFormula(
        name=one.name, kind="assume", says=one.says, expr=expr, text=text, span=text.span
    )
    problems = Problems()
    machine = build_machine(replace(netlist, formulas=(*netlist.formulas, more)), problems)
    return None if problems.found else machine
