"""Reading the `pins:` of a part file, against the package they are in."""

from __future__ import annotations

import re

from breadproof.specs.catalogue.fields import table_of
from breadproof.specs.catalogue.part import PinKind, PinType, Role
from breadproof.specs.catalogue.vectors import is_name
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import Table, Text, Tree, near

KINDS = {kind.value: kind for kind in PinKind if kind is not PinKind.MOMENT}
ROLES = {role.value: role for role in Role}
FLAGS = ("pulled-up", "schmitt")
"""Words after kind and role: an internal pull-up resistor, an input with hysteresis."""
UNNAMED = (PinKind.NOT_CONNECTED,)
"""Kinds whose pins may share a name: every ``nc`` pin is called NC."""

_PACKAGE = re.compile(r"[A-Z]+-([0-9]{1,3})")


def read_pins(table: Table, package: str, problems: Problems) -> tuple[PinType, ...]:
    """All pins in file order; numbers must be 1 to the package's last, each once."""
    tree = table.get("pins")
    if not isinstance(tree, Table):
        problems.error(
            "part-pin",
            "the part has no 'pins'" if tree is None else "'pins' is to be a mapping",
            (tree or table).span,
            hint="Write '1: NAME kind' lines.",
        )
        return ()
    pins: list[PinType] = []
    first: dict[str, Text] = {}
    for number, body in tree:
        pin = _pin(number, body, problems)
        if pin is None:
            continue
        if pin.name in first and pin.kind not in UNNAMED:
            problems.error(
                "part-pin",
                f"two pins are called '{pin.name}'",
                body.span,
                hint="Each pin has its own name.",
                related=(("first here", first[pin.name].span),),
            )
        if isinstance(body, Text):
            first.setdefault(pin.name, body)
        pins.append(pin)
    _complete(tree, package, problems)
    drivers = {pin.kind for pin in pins if pin.kind.drives}
    if drivers:
        # What only sinks (Darlington drivers) may do without a supply.
        needed = (PinKind.GROUND,) if all(kind.sinks for kind in drivers) else ()
        for kind in needed or (PinKind.SUPPLY, PinKind.GROUND):
            if not any(pin.kind is kind for pin in pins):
                problems.error(
                    "part-pin", f"the part has no {kind.value} pin", tree.span, hint="Add it."
                )
    return tuple(pins)


def _pin(number: Text, body: Tree, problems: Problems) -> PinType | None:
    """``1: NAME kind [role] [pulled-up] [schmitt]``."""
    words = body.value.split() if isinstance(body, Text) else []
    flags = {word for word in words[2:] if word in FLAGS}
    words = [*words[:2], *(word for word in words[2:] if word not in FLAGS)]
    if not isinstance(body, Text) or len(words) not in (2, 3):
        problems.error(
            "part-pin", "a pin is NAME kind [role]", body.span, hint="Write: 1: S in select"
        )
        return _assumed(number, words[0]) if words else None
    name, kind = words[0], KINDS.get(words[1])
    if not is_name(name):
        problems.error(
            "part-pin",
            f"'{name}' cannot stand in a formula",
            body.at(0, len(name)),
            hint="A name begins with a letter: A11 for the book's 1A1.",
        )
    if kind is None:
        problems.error(
            "part-pin",
            f"'{words[1]}' is no kind of pin",
            body.at(body.value.index(words[1], len(name)), len(words[1])),
            hint=near(words[1], tuple(KINDS)) or f"Kinds: {', '.join(KINDS)}.",
        )
        return _assumed(number, name)
    role = Role.DATA
    if len(words) == 3:
        found = ROLES.get(words[2])
        place = body.at(body.value.rindex(words[2]), len(words[2]))
        if found is None:
            problems.error(
                "part-pin",
                f"'{words[2]}' is no role of a pin",
                place,
                hint=near(words[2], tuple(ROLES)) or f"Roles: {', '.join(ROLES)}.",
            )
        elif not kind.reads:
            problems.error(
                "part-pin",
                f"only an input has a role, this is '{kind.value}'",
                place,
                hint="Leave the role out.",
            )
        else:
            role = found
    if flags and not kind.reads:
        problems.error(
            "part-pin",
            f"only an input is '{min(flags)}', this is '{kind.value}'",
            body.span,
            hint="Leave the word out.",
        )
    return PinType(
        number=number.value,
        name=name,
        kind=kind,
        role=role,
        pulled_up="pulled-up" in flags,
        schmitt="schmitt" in flags,
    )


def read_moments(
    tree: Tree | None, pins: tuple[PinType, ...], problems: Problems
) -> tuple[PinType, ...]:
    """``moments:`` as pins that are not on the package: ``T: "the pulse ends"``."""
    table = None if tree is None else table_of(tree, "'moments'", (), problems)
    taken = {pin.name for pin in pins} | {pin.number for pin in pins}
    found: list[PinType] = []
    for key, body in table or ():
        if not is_name(key.value) or key.value in taken:
            problems.error(
                "part-pin",
                f"a moment cannot be called '{key.value}'",
                key.span,
                hint="Give it a name of its own that can stand in a formula, such as T1.",
            )
        if not isinstance(body, Text) or not body.value.strip():
            problems.error(
                "part-field",
                f"'{key.value}' is to tell what happens then",
                body.span,
                hint='Write: T1: "the pulse of the first half ends".',
            )
            continue
        name = key.value
        found.append(PinType(number=name, name=name, kind=PinKind.MOMENT, says=body.value))
    return tuple(found)


def _assumed(number: Text, name: str) -> PinType:
    """A pin whose line is wrong: an input, so that formulas with its name are not wrong too."""
    return PinType(number=number.value, name=name, kind=PinKind.IN)


def _complete(tree: Table, package: str, problems: Problems) -> None:
    """Pin numbers are those of the package: nothing left out, nothing beyond."""
    match = _PACKAGE.fullmatch(package)
    if match is None:
        if package:
            problems.error(
                "part-pin", f"'{package}' is no package", tree.span, hint="Write DIP-16."
            )
        return
    wanted = [str(number) for number in range(1, int(match[1]) + 1)]
    for number, _ in tree:
        if number.value not in wanted:
            problems.error(
                "part-pin",
                f"a {package} has no pin '{number.value}'",
                number.span,
                hint=f"Its pins are 1 to {match[1]}.",
            )
    have = {number.value for number, _ in tree}
    missing = [number for number in wanted if number not in have]
    if missing:
        problems.error(
            "part-pin",
            f"of the {package} these pins are missing: {', '.join(missing)}",
            tree.span,
            hint="A pin without function is 'NC nc'.",
        )
