"""Reading the `switches:` of a part file: analogue switches, each closed while a formula holds."""

from __future__ import annotations

from breadproof.specs.catalogue.fields import formula_under, table_of
from breadproof.specs.catalogue.part import PinKind, Switch
from breadproof.specs.catalogue.scope import Scope, check
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree, near

KEYS = ("joins", "when")
FORM = "Write '- {joins: [Y1, Z1], when: \"E1\"}'."


def read_switches(tree: Tree | None, scope: Scope, problems: Problems) -> tuple[Switch, ...]:
    """The switches in file order.

    Each joins two ``passive`` pins, a pair once; its condition reads what `logic` may read.
    """
    if tree is None:
        return ()
    if not isinstance(tree, Rows):
        problems.error("part-switch", "'switches' is to be a list", tree.span, hint=FORM)
        return ()
    found: list[Switch] = []
    first: dict[frozenset[str], Tree] = {}
    for item in tree.items:
        switch = _switch(item, scope, problems)
        if switch is None:
            continue
        before = first.setdefault(frozenset(switch.joins), item)
        if before is not item:
            problems.error(
                "part-switch",
                f"'{switch.joins[0]}' and '{switch.joins[1]}' are joined twice",
                item.span,
                hint="One switch a pair of pins: join the two conditions with |.",
                related=(("first here", before.span),),
            )
        found.append(switch)
    return tuple(found)


def _switch(tree: Tree, scope: Scope, problems: Problems) -> Switch | None:
    fields = table_of(tree, "a switch", KEYS, problems)
    if fields is None:
        return None
    joins = _joins(fields, scope, problems)
    when = formula_under(fields, "when", "a switch", problems)
    check(when, scope, problems)
    if joins is None or when is None:
        return None
    return Switch(joins=joins, when=when)


def _joins(fields: Table, scope: Scope, problems: Problems) -> tuple[str, str] | None:
    tree = fields.get("joins")
    items = tree.items if isinstance(tree, Rows) else ()
    names = [item for item in items if isinstance(item, Text)]
    if len(items) != 2 or len(names) != 2 or names[0].value == names[1].value:
        problems.error(
            "part-switch",
            "a switch joins two pins",
            (tree or fields).span,
            hint=FORM,
        )
        return None
    passive = [name for name, pin in scope.pins.items() if pin.kind is PinKind.PASSIVE]
    good = True
    for name in names:
        if name.value not in passive:
            problems.error(
                "part-switch",
                f"'{name.value}' is no passive pin",
                name.span,
                hint=near(name.value, passive)
                or "The two sides of a switch are pins like '2: Y1 passive'.",
            )
            good = False
    return (names[0].value, names[1].value) if good else None
