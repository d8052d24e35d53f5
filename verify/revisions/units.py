"""What can change places on a part without anybody noticing: its gates, and pins of a gate.

A quad NAND gate has four units that are alike, and the two inputs of each are alike too. Both are
read off the part's own equations: gates are alike if the equations of one become those of the
other when its number is put for the other's, inputs if the equations stay the same when the two
change places (the operands of ``&``, ``|`` and ``^`` in any order). What is not found to be alike
is taken for different; that is always safe.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from networkx.utils import UnionFind

from breadproof.specs.catalogue.part import Memory, PartType, PinKind
from breadproof.specs.formula import syntax as s
from breadproof.specs.netlist.model import Part

_DIGITS = re.compile(r"\d+")
_ANY_ORDER = ("&", "|", "^", "&&", "||")
_LARGEST = 14
"""Inputs that are alike are looked for in gates of up to so many pins."""
SMALL_CAPACITOR = 1e-6
"""Farads; from here on a capacitor is taken to have a plus and a minus."""

Statement = tuple[str, tuple[tuple[str, s.Expr | None], ...]]
"""What one equation sets (``out Y1``) and its expressions, each with what it is for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """A part, or a gate of it. ``pins`` are pin numbers with their roles, in order.

    Units of one ``kind`` may change places within a part, and so may the pins of one role within a
    unit. The unit of what cannot has the kind "".
    """

    kind: str
    pins: tuple[tuple[str, str], ...]


def units(part: Part) -> tuple[Unit, ...]:
    """The units of a part; the first has what belongs to no gate, and may have no pins."""
    if part.device == "chip":
        return _chip_units(part.type)
    return _device_units(part)


# chips --------------------------------------------------------------------------------------------


@cache
def _chip_units(kind: PartType) -> tuple[Unit, ...]:
    statements = list(_statements(kind))
    pins = {pin.name: pin.number for pin in kind.pins}
    groups, common = _groups(statements, pins)
    gates: list[Unit] = []
    for group in groups:
        names = set().union(*(_names(statement) for statement in group)) - common
        new = _numberless(names)
        if new is None:
            continue
        roles = _roles(kind, group, names & set(pins))
        told = sorted(_shape(statement, _by(new)) for statement in group)
        kept = sorted((pins[name], new[roles.get(name, name)]) for name in names if name in pins)
        attributes = sorted(
            f"{new[p.name]} {p.kind.value} {p.role.value} {p.pulled_up} {p.schmitt}"
            for p in kind.pins
            if p.name in names
        )
        gates.append(Unit(kind=repr((told, attributes)), pins=tuple(kept)))
    taken = {number for gate in gates for number, _ in gate.pins}
    rest = [pin for pin in kind.pins if pin.number not in taken]
    roles = {}
    if not gates and len(rest) <= _LARGEST and not kind.storage and not kind.memories:
        roles = _roles(kind, statements, {pin.name for pin in rest})
    body = tuple((pin.number, roles.get(pin.name, pin.name) or pin.number) for pin in rest)
    return (Unit(kind="", pins=body), *gates)


def _statements(kind: PartType) -> Iterator[Statement]:
    for where, outputs in (("inner", kind.inner), ("out", kind.logic)):
        for output in outputs:
            when = None if output.when is None else output.when.expr
            named: list[tuple[str, s.Expr | None]] = [("level", output.level.expr), ("when", when)]
            yield f"{where} {' '.join(output.names)}", tuple(named)
    for one in (*kind.storage, *kind.memories):
        fields: list[tuple[str, s.Expr | None]] = []
        for field in ("clock", "next", "open", "source", "clear", "preset", "write", "program",
                      "address"):  # fmt: skip
            formula = getattr(one, field, None)
            fields.append((field, None if formula is None else formula.expr))
        load = getattr(one, "load", None)
        if load is not None:
            fields += [("load when", load.when.expr), ("load", load.source.expr)]
        size = (one.words, one.bits) if isinstance(one, Memory) else (one.width,)
        edge = getattr(one, "rising", "")
        up = dict(kind.powers_up).get(one.name, "")
        yield f"{type(one).__name__}{size}{edge}{up} {one.name}", tuple(fields)
    for switch in kind.switches:
        yield f"switch {' '.join(sorted(switch.joins))}", (("when", switch.when.expr),)


def _names(statement: Statement) -> set[str]:
    """All names in a statement, and what it sets."""
    found = set(statement[0].split()[1:])
    stack = [expr for _, expr in statement[1] if expr is not None]
    while stack:
        here = stack.pop()
        if isinstance(here, s.Name):
            found.add(here.path)
        stack.extend(s.children(here))
    return found


def _groups(
    statements: Sequence[Statement], pins: dict[str, str]
) -> tuple[list[list[Statement]], set[str]]:
    """Statements that share names; where all do, those that share more than the common pins."""
    names = [_names(statement) for statement in statements]
    if not names:
        return [], set()
    for common in (set(), set.intersection(*names) & set(pins)):
        together: UnionFind[str] = UnionFind()
        for some in names:
            together.union(*sorted(some - common))
        groups: dict[str, list[Statement]] = {}
        for statement, some in zip(statements, names, strict=True):
            own = sorted(some - common)
            if own:
                groups.setdefault(together[own[0]], []).append(statement)
        if len(groups) > 1:
            return list(groups.values()), common
    return [], set()


def _numberless(names: set[str]) -> dict[str, str] | None:
    """The names without the number that they share: ``A1`` and ``Y1`` as ``A#`` and ``Y#``.

    None if there is no such number, or if two become one.
    """
    numbers = [set(_DIGITS.findall(name)) for name in names]
    for number in sorted(set.intersection(*numbers)) if numbers else ():
        new = {name: _DIGITS.sub(_hiding(number), name) for name in names}
        if len(set(new.values())) == len(new):
            return new
    return None


def _by(table: Mapping[str, str]) -> Callable[[str], str]:
    """Names through a table; those that are not in it stay."""
    return lambda name: table.get(name, name)


def _hiding(number: str) -> Callable[[re.Match[str]], str]:
    return lambda match: "#" if match[0] == number else match[0]


def _roles(kind: PartType, group: Sequence[Statement], names: set[str]) -> dict[str, str]:
    """For each input the first of those that it may change places with."""
    inputs = [pin for pin in kind.pins if pin.name in names and pin.kind is PinKind.IN and pin.name]
    if len(names) > _LARGEST:
        return {}
    told = sorted(_shape(statement, lambda name: name) for statement in group)
    found: dict[str, str] = {}
    for place, pin in enumerate(inputs):
        for first in inputs[:place]:
            if found.get(first.name, first.name) != first.name or (
                (first.role, first.pulled_up, first.schmitt)
                != (pin.role, pin.pulled_up, pin.schmitt)
            ):
                continue
            swap = {pin.name: first.name, first.name: pin.name}
            other = sorted(_shape(one, _by(swap)) for one in group)
            if other == told:
                found[pin.name] = first.name
                break
    return found


def _shape(statement: Statement, new: Callable[[str], str]) -> str:
    """A statement as a text that is the same for the same equation over new names."""
    head, *sets = statement[0].split(" ")
    fields = [f"{what}={text_of(expr, new)}" for what, expr in statement[1] if expr is not None]
    return f"{head} {' '.join(new(name) for name in sets)}: {'; '.join(fields)}"


def text_of(expr: s.Expr, new: Callable[[str], str]) -> str:
    """An expression over new names as a text; that of operands in another order is the same."""
    match expr:
        case s.Name():
            return new(expr.path)
        case s.Number():
            return f"{expr.value}w{expr.width}{'s' if expr.signed else ''}"
        case s.Binary() if expr.op in _ANY_ORDER:
            return f"({expr.op} {' '.join(sorted(text_of(one, new) for one in _operands(expr)))})"
        case _:
            told = [type(expr).__name__]
            told += [
                str(getattr(expr, name))
                for name in ("op", "function", "down", "count", "kind", "strong", "both", "never")
                if hasattr(expr, name)
            ]
            if isinstance(expr, s.Concat):
                told.append("times" if expr.times is not None else "once")
            return f"({' '.join([*told, *(text_of(one, new) for one in s.children(expr))])})"


def _operands(expr: s.Binary) -> Iterator[s.Expr]:
    for side in (expr.left, expr.right):
        if isinstance(side, s.Binary) and side.op == expr.op:
            yield from _operands(side)
        else:
            yield side


# other parts --------------------------------------------------------------------------------------


def _device_units(part: Part) -> tuple[Unit, ...]:
    alike: list[tuple[str, ...]]
    match part.device:
        case "resistor" | "push-button" | "crystal":
            alike = [("1", "2")]
        case "capacitor" if part.value is not None and part.value < SMALL_CAPACITOR:
            alike = [("1", "2")]
        case "jumper" if not part.positions:
            alike = [("1", "2")]
        case "resistor-network" if part.isolated:
            pairs = [(str(2 * k - 1), str(2 * k)) for k in range(1, part.ways + 1)]
            gates = [Unit(kind="resistor", pins=tuple((n, "end") for n in pair)) for pair in pairs]
            return (Unit(kind="", pins=()), *gates)
        case "resistor-network":
            alike = [tuple(str(k) for k in range(2, part.ways + 2))]
        case "dip-switch":
            alike = [(str(k), str(2 * part.ways + 1 - k)) for k in range(1, part.ways + 1)]
        case _:
            alike = []
    role = {number: group[0] for group in alike for number in group}
    return (
        Unit(
            kind="",
            pins=tuple((pin.number, role.get(pin.number, pin.number)) for pin in part.pins),
        ),
    )
