"""What the board files say otherwise: formulas, assumptions, resets, what moves together."""

from __future__ import annotations

import re
from collections.abc import Iterator

from breadproof.specs.formula.rewrite import renamed
from breadproof.specs.formula.syntax import Call, Expr, Name, children
from breadproof.specs.netlist.model import BoardFormula, Netlist, beyond
from breadproof.verify.revisions.changes import Change
from breadproof.verify.revisions.matching import Matching
from breadproof.verify.revisions.naming import Renaming
from breadproof.verify.revisions.units import text_of

KINDS = {"assume": "assumption", "assert": "formula", "cover": "cover"}


def same_formula(old: BoardFormula, new: BoardFormula, renaming: Renaming) -> bool:
    """Whether two formulas say the same, names and the order of operands aside."""
    if old.kind != new.kind:
        return False
    switches = {part.name for part in renaming.old.parts.values() if part.positions}
    before = text_of(renamed(old.expr, renaming, switches), lambda name: name)
    return before == text_of(new.expr, lambda name: name) and _same_outside(old.expr, renaming)


def _same_outside(expr: Expr, renaming: Renaming) -> bool:
    """Whether what is outside of the ports that a formula asks about is the same."""
    matching, stack = renaming.matching, [expr]
    old = {port.name: port for port in matching.old.joined}
    new = {port.name: port for port in matching.new.joined}
    while stack:
        here = stack.pop()
        stack += children(here)
        for one in here.arguments if isinstance(here, Call) and here.function == "outside" else ():
            name = one.path if isinstance(one, Name) else ""
            before, after = old.get(name), new.get(renaming(name))
            if (before is None) != (after is None):
                return False
            if before is not None and after is not None:
                was = {matching.pins.get(pin.label) for pin in beyond(matching.old, before)}
                if was != {pin.label for pin in beyond(matching.new, after)}:
                    return False
    return True


def said_changes(matching: Matching) -> Iterator[Change]:
    """Formulas, assumptions and covers that are new, gone or changed, and the rest."""
    renaming = Renaming(matching)
    new = {formula.name: formula for formula in matching.new.formulas}
    old = {formula.name: formula for formula in matching.old.formulas}
    for name, formula in old.items():
        other = new.get(name)
        what = KINDS[formula.kind]
        if other is None:
            yield _said(f"{what} gone", f"{what} {name} is gone", name)
        elif not same_formula(formula, other, renaming):
            text = f"{what} {name} now says {_one_line(other)}, not {_one_line(formula)}"
            if _one_line(other) == _one_line(formula):
                called = _called_otherwise(formula.expr, renaming)
                text = f"{what} {name} says so of other nets: {called}"
                if not called:
                    text = f"{what} {name} asks what is outside of a port, and that is another now"
            yield _said(f"{what} changed", text, name)
    for name, formula in new.items():
        if name not in old:
            what = KINDS[formula.kind]
            yield _said(f"{what} new", f"{what} {name} is new: {_one_line(formula)}", name)
    yield from _others(matching, renaming)


def _called_otherwise(expr: Expr, renaming: Renaming) -> str:
    """What of the old board a formula names that has another name now."""
    found: dict[str, None] = {}
    stack = [expr]
    while stack:
        here = stack.pop()
        if isinstance(here, Name) and renaming(here.path) != here.path:
            found[f"{here.path} of the old board is now {renaming(here.path)}"] = None
        stack += reversed(children(here))
    return ", ".join(found)


def _others(matching: Matching, renaming: Renaming) -> Iterator[Change]:
    before, after = matching.old, matching.new
    if before.supply != after.supply:
        yield _said("supply", f"the supply is {after.supply:g} V, not {before.supply:g} V")
    if _together(matching) != after.together and set(_together(matching)) != set(after.together):
        yield _said("together", "other controls may move together")
    resets = [(how, renaming(name)) for how, name in before.reset]
    if resets != list(after.reset):
        yield _said("reset", "the reset is declared otherwise")
    bouncing = {renaming(name) for name in before.bounces}
    for name in sorted(bouncing ^ set(after.bounces)):
        told = "no longer bounces" if name in bouncing else "bounces now"
        yield _said("bounces", f"{name} {told}")


def names_bouncing(formula: BoardFormula, *netlists: Netlist) -> bool:
    """Whether a formula may speak of a finger whose contact bounces on one of the boards."""
    words = set(re.findall(r"\w+", formula.text.value))
    bouncing = {name for netlist in netlists for name in netlist.bounces}
    return any(words & set(re.findall(r"\w+", name)) for name in bouncing)


def _together(matching: Matching) -> tuple[tuple[str, ...], ...] | str:
    if matching.old.together == "all":
        return "all"
    names = matching.parts
    return tuple(tuple(names.get(name, name) for name in group) for group in matching.old.together)


def _one_line(formula: BoardFormula) -> str:
    return " ".join(formula.text.value.split())


def _said(kind: str, text: str, formula: str = "") -> Change:
    return Change(group="said", kind=kind, text=text, formula=formula)
