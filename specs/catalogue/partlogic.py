"""Reading the `inner:` and `logic:` of a part file: what drives each output, and when."""

from __future__ import annotations

from dataclasses import replace

from breadproof.specs.catalogue.fields import formula_of, formula_under, table_of
from breadproof.specs.catalogue.part import Formula, Output, PinKind, PinType
from breadproof.specs.catalogue.scope import Scope, check
from breadproof.specs.catalogue.vectors import is_name, pin_names, split
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import Table, Text, Tree, near

LETS_GO = (PinKind.THREE_STATE, PinKind.BIDIRECTIONAL)
"""Kinds that need ``{level: …, when: …}``."""
OUTPUT_KEYS = ("level", "when")


def read_inner(
    tree: Tree | None, scope: Scope, problems: Problems
) -> tuple[tuple[Output, ...], Scope]:
    """The inner signals in file order, each using only those above it, and the wider scope."""
    table = None if tree is None else table_of(tree, "'inner'", (), problems)
    found: list[Output] = []
    for key, body in table or ():
        names = _names(key, problems)
        taken = [name for name in names if scope.bit(name) or name in scope.storage]
        if taken:
            problems.error(
                "part-logic",
                f"'{taken[0]}' stands for something else already",
                key.span,
                hint="Give the inner signal a name of its own.",
            )
        level = formula_of(body, f"'{key.value}'", problems)
        check(level, scope, problems)
        if level is not None:
            found.append(Output(names=names, level=level, when=None))
        scope = replace(scope, inner=scope.inner | frozenset(names))
    return tuple(found), scope


def read_logic(table: Table, scope: Scope, problems: Problems) -> tuple[Output, ...]:
    """What drives each output; every output once, and nothing but outputs."""
    tree = table.get("logic")
    entries = None if tree is None else table_of(tree, "'logic'", (), problems)
    outputs = tuple(name for name, pin in scope.pins.items() if pin.kind.drives)
    found: list[Output] = []
    driven: dict[str, Text] = {}
    for key, body in entries or ():
        names = _names(key, problems)
        kinds: set[PinKind] = set()
        for name in names:
            pin = scope.pins.get(name)
            if pin is None or not pin.kind.drives:
                problems.error(
                    "part-logic",
                    f"'{name}' is no output",
                    key.span,
                    hint=near(name, outputs) or f"Outputs: {', '.join(outputs)}.",
                )
            elif name in driven:
                problems.error(
                    "part-logic",
                    f"'{name}' is driven twice",
                    key.span,
                    hint="One formula an output: join the two.",
                    related=(("first here", driven[name].span),),
                )
            else:
                driven[name] = key
                kinds.add(pin.kind)
        output = _output(key, body, names, kinds, scope, problems)
        if output is not None:
            found.append(output)
    missing = [name for name in outputs if name not in driven]
    if missing:
        problems.error(
            "part-logic",
            f"no logic drives: {', '.join(missing)}",
            (tree or table).span,
            hint="Write one formula for each output under 'logic'.",
        )
    return tuple(found)


def _names(key: Text, problems: Problems) -> tuple[str, ...]:
    vector = split(key.value)
    if vector is not None and abs(vector[1] - vector[2]) < 64:
        return pin_names(*vector)
    if not is_name(key.value):
        problems.error(
            "part-logic", f"'{key.value}' is no name", key.span, hint="Write Y1 or Q[3:0]."
        )
    return (key.value,)


def _output(
    key: Text,
    body: Tree,
    names: tuple[str, ...],
    kinds: set[PinKind],
    scope: Scope,
    problems: Problems,
) -> Output | None:
    when: Formula | None = None
    if isinstance(body, Table):
        fields = table_of(body, f"'{key.value}'", OUTPUT_KEYS, problems)
        level = formula_under(body, "level", f"'{key.value}'", problems)
        when = formula_under(body, "when", f"'{key.value}'", problems) if fields else None
    else:
        level = formula_of(body, f"'{key.value}'", problems)
    for kind in sorted(kinds, key=lambda kind: kind.value):
        if (kind in LETS_GO) != isinstance(body, Table):
            form = "{level: …, when: …}" if kind in LETS_GO else "one formula"
            problems.error(
                "part-logic",
                f"'{key.value}' is '{kind.value}' and has {form}",
                body.span,
                hint="'when' is true while the output drives; only what can let go has one.",
            )
    check(level, scope, problems)
    check(when, scope, problems)
    return None if level is None else Output(names=names, level=level, when=when)


def pins_by_name(pins: tuple[PinType, ...]) -> dict[str, PinType]:
    """Pins by name; pins that are not connected left out, since they share one."""
    return {pin.name: pin for pin in pins if pin.kind is not PinKind.NOT_CONNECTED}
