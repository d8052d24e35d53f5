"""Which names the formulas of a part file may use, and the check that they use no others."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.catalogue.part import Formula, PinType
from breadproof.specs.catalogue.vectors import indices, pin_names
from breadproof.specs.formula import syntax as s
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import near


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """The names a formula may use: pins and inner names (one bit each), storage by width,
    memories by their number of bits a word."""

    pins: dict[str, PinType]
    inner: frozenset[str]
    storage: dict[str, int]
    memories: dict[str, int]

    def bit(self, name: str) -> bool:
        """Whether a name is that of a pin or of an inner signal."""
        return name in self.pins or name in self.inner

    def all_names(self) -> list[str]:
        """Every name, for near misses; sorted."""
        return sorted({*self.pins, *self.inner, *self.storage, *self.memories})

    def listed(self) -> str:
        """The first names as a hint."""
        names = self.all_names()
        more = ", …" if len(names) > 12 else ""
        return f"There are {', '.join(names[:12])}{more}; inner names stand above their use."


def check(formula: Formula | None, scope: Scope, problems: Problems) -> None:
    """Note every name of a formula that means nothing in the part, and every operator that
    has no place in a part file."""
    if formula is None:
        return
    stack: list[s.Expr] = [formula.expr]
    while stack:
        node = stack.pop()
        if isinstance(node, s.Temporal | s.Call):
            _note(
                formula,
                node,
                "only expressions can stand here",
                "A part is described by levels; an edge stands only in 'clock'.",
                problems,
            )
            continue
        stack.extend(reversed(_look(formula, node, scope, problems)))


def _look(formula: Formula, node: s.Expr, scope: Scope, problems: Problems) -> tuple[s.Expr, ...]:
    """Check one node; what is returned is still to be looked at."""
    match node:
        case s.Name():
            _bare(formula, node, scope, problems)
            return ()
        case s.Part(base=s.Name() as base):
            _range(formula, node, base.path, scope, problems)
            return ()
        case s.Index(base=s.Name() as base):
            _index(formula, node, base.path, scope, problems)
            return (node.at,)
        case s.Slide(base=s.Name() as base):
            if base.path not in scope.storage:
                _note(
                    formula, node, f"'{base.path}' is no storage", "Write a range: [3:0].", problems
                )
            return (node.at,)
        case _:
            return s.children(node)


def _bare(formula: Formula, node: s.Name, scope: Scope, problems: Problems) -> None:
    name = node.path
    if name in scope.memories:
        _note(formula, node, f"the memory '{name}' has no address", f"Write {name}[…].", problems)
    elif scope.bit(name):
        _readable(formula, node, name, scope, problems)
    elif name not in scope.storage:
        _unknown(formula, node, name, scope, problems)


def _range(formula: Formula, node: s.Part, name: str, scope: Scope, problems: Problems) -> None:
    if not (isinstance(node.left, s.Number) and isinstance(node.right, s.Number)):
        _note(formula, node, "a range is between two numbers", f"Write {name}[3:0].", problems)
        return
    left, right = node.left.value, node.right.value
    if name in scope.storage:
        if left < right or left >= scope.storage[name]:
            top = scope.storage[name] - 1
            _note(
                formula,
                node,
                f"'{name}' has no bits [{left}:{right}]",
                f"Its bits are [{top}:0], the most significant first.",
                problems,
            )
        return
    if name in scope.memories or scope.bit(name) or abs(left - right) > 64:
        _note(formula, node, f"'{name}' is no vector", f"Write {name} alone.", problems)
        return
    for index, pin in zip(indices(left, right), pin_names(name, left, right), strict=True):
        if not scope.bit(pin):
            _unknown(formula, node, pin, scope, problems, f"{name}[{index}]")
        else:
            _readable(formula, node, pin, scope, problems)


def _index(formula: Formula, node: s.Index, name: str, scope: Scope, problems: Problems) -> None:
    if name in scope.memories:
        return
    if name in scope.storage:
        if isinstance(node.at, s.Number) and node.at.value >= scope.storage[name]:
            _note(
                formula,
                node,
                f"'{name}' has no bit {node.at.value}",
                f"Its bits are [{scope.storage[name] - 1}:0].",
                problems,
            )
        return
    if isinstance(node.at, s.Number) and scope.bit(f"{name}{node.at.value}"):
        pin = f"{name}{node.at.value}"
        _note(formula, node, f"'{name}' is no storage", f"The pin is {pin}.", problems)
        return
    _unknown(formula, node, name, scope, problems)


def _readable(formula: Formula, node: s.Expr, name: str, scope: Scope, problems: Problems) -> None:
    """A part looks at its inputs; an output's level is what the whole net makes of it."""
    pin = scope.pins.get(name)
    if pin is None or pin.kind.reads:
        return
    _note(
        formula,
        node,
        f"'{name}' is no input of the part (it is '{pin.kind.value}')",
        "Put what several outputs share under 'inner'.",
        problems,
    )


def _unknown(
    formula: Formula,
    node: s.Expr,
    name: str,
    scope: Scope,
    problems: Problems,
    written: str = "",
) -> None:
    what = f"'{written}', the pin '{name}'" if written else f"'{name}'"
    _note(
        formula,
        node,
        f"{what} is neither a pin, nor inner, nor storage",
        near(name, scope.all_names()) or scope.listed(),
        problems,
    )


def _note(formula: Formula, node: s.Expr, message: str, hint: str, problems: Problems) -> None:
    start, end = node.stretch.start, node.stretch.end
    problems.error("part-name", message, formula.text.at(start, max(1, end - start)), hint=hint)
