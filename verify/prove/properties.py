"""What is to be proved of a board, by name: standing checks and formulas."""

from __future__ import annotations

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import CompiledFormula
from breadproof.verify.prove.checks import standing_checks
from breadproof.verify.prove.engine import Property
from breadproof.verify.prove.lively import lively_names
from breadproof.verify.prove.reset import reset_units


def claimed(machine: Machine) -> tuple[CompiledFormula, ...]:
    """The formulas that are no assumptions, in order."""
    return tuple(f for f in machine.logic.formulas if f.kind != "assume")


def result_names(machine: Machine) -> tuple[str, ...]:
    """All results that a board has, by name, in order."""
    checks = (check.name for check in standing_checks(machine))
    formulas = (f.formula.name for f in claimed(machine))
    reset = (unit.name for unit in reset_units(machine))
    return ("quiet", *checks, *lively_names(machine), *reset, *formulas)


def check_property(name: str) -> Property:
    """A standing check as a property."""
    return Property(name=name, bad=lambda moment: moment.broken[name], anywhere=True)


def formula_property(formula: CompiledFormula) -> Property:
    """A formula as a property: what violates it (a cover: reaches it) must never happen."""
    return node_property(formula.formula.name, formula.bad)


def node_property(name: str, node: int) -> Property:
    """That a node of a formula never holds at a quiet moment."""
    return Property(name=name, bad=lambda moment: moment.values[node], node=node, anywhere=True)


def property_named(machine: Machine, name: str) -> Property:
    """The property of that name, made anew: it cannot be sent to another machine itself.

    Raises:
        KeyError: it is neither a standing check nor a formula.
    """
    for formula in claimed(machine):
        if formula.formula.name == name:
            return formula_property(formula)
    if any(check.name == name for check in standing_checks(machine)):
        return check_property(name)
    raise KeyError(name)
