"""Reading the `storage:` and `memory:` of a part file."""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.catalogue.fields import (
    formula_if,
    formula_under,
    table_of,
    text_of,
)
from breadproof.specs.catalogue.part import (
    AsyncLoad,
    Formula,
    Latch,
    Memory,
    Register,
    Storage,
)
from breadproof.specs.catalogue.scope import Scope, check
from breadproof.specs.catalogue.vectors import is_name, split
from breadproof.specs.formula import syntax as s
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import Table, Text, Tree

REGISTER = ("clock", "next", "clear", "preset", "load")
LATCH = ("open", "from", "clear", "preset")
MEMORY = ("words", "bits", "address", "write", "from", "program")
LOAD = ("when", "from")
MAX_WIDTH = 64
MAX_WORDS = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class StorageHead:
    """A storage whose name and width are known and whose formulas are still to be read."""

    name: str
    width: int
    fields: Table


@dataclass(frozen=True, slots=True, kw_only=True)
class MemoryHead:
    """A memory whose size is known and whose formulas are still to be read."""

    name: str
    words: int
    bits: int
    fields: Table


def storage_heads(tree: Tree | None, problems: Problems) -> tuple[StorageHead, ...]:
    """Names and widths of all storage: ``R[3:0]``, or ``R`` for one bit."""
    table = None if tree is None else table_of(tree, "'storage'", (), problems)
    heads = []
    for key, body in table or ():
        vector = split(key.value)
        name, left, right = vector or (key.value, 0, 0)
        if not is_name(name) or right != 0 or left >= MAX_WIDTH:
            problems.error(
                "part-storage",
                f"'{key.value}' is no name of storage",
                key.span,
                hint=f"Write R, or R[3:0] with at most {MAX_WIDTH} bits down to 0.",
            )
            continue
        known = LATCH if isinstance(body, Table) and body.get("open") is not None else REGISTER
        fields = table_of(body, f"'{key.value}'", known, problems)
        if fields is not None:
            heads.append(StorageHead(name=name, width=left + 1, fields=fields))
    return tuple(heads)


def read_storage(head: StorageHead, scope: Scope, problems: Problems) -> Storage | None:
    """A register or a latch; None, and noted, if something required is missing."""
    what = f"'{head.name}'"
    clear = formula_if(head.fields, "clear", what, problems)
    preset = formula_if(head.fields, "preset", what, problems)
    for formula in (clear, preset):
        check(formula, scope, problems)
    if head.fields.get("open") is not None:
        opened = formula_under(head.fields, "open", what, problems)
        source = formula_under(head.fields, "from", what, problems)
        check(opened, scope, problems)
        check(source, scope, problems)
        if opened is None or source is None:
            return None
        return Latch(
            name=head.name,
            width=head.width,
            open=opened,
            source=source,
            clear=clear,
            preset=preset,
        )
    clock = _clock(head, problems)
    following = formula_under(head.fields, "next", what, problems)
    check(following, scope, problems)
    load = _load(head, scope, problems)
    if clock is None or following is None:
        return None
    check(clock[0], scope, problems)
    return Register(
        name=head.name,
        width=head.width,
        clock=clock[0],
        rising=clock[1],
        next=following,
        clear=clear,
        preset=preset,
        load=load,
    )


def _clock(head: StorageHead, problems: Problems) -> tuple[Formula, bool] | None:
    """``rose(CLK)`` as the formula CLK and True, ``fell(CLK)`` as CLK and False."""
    formula = formula_under(head.fields, "clock", f"'{head.name}'", problems)
    if formula is None:
        return None
    expr = formula.expr
    if isinstance(expr, s.Call) and expr.function in ("rose", "fell") and len(expr.arguments) == 1:
        return Formula(expr=expr.arguments[0], text=formula.text), expr.function == "rose"
    problems.error(
        "part-storage",
        "a clock is an edge",
        formula.text.span,
        hint="Write rose(CLK) or fell(CLK); a latch has 'open' and 'from' instead.",
    )
    return None


def _load(head: StorageHead, scope: Scope, problems: Problems) -> AsyncLoad | None:
    tree = head.fields.get("load")
    fields = None if tree is None else table_of(tree, "'load'", LOAD, problems)
    if fields is None:
        return None
    when = formula_under(fields, "when", "'load'", problems)
    source = formula_under(fields, "from", "'load'", problems)
    check(when, scope, problems)
    check(source, scope, problems)
    return None if when is None or source is None else AsyncLoad(when=when, source=source)


def memory_heads(tree: Tree | None, problems: Problems) -> tuple[MemoryHead, ...]:
    """Names and sizes of all memories."""
    table = None if tree is None else table_of(tree, "'memory'", (), problems)
    heads = []
    for key, body in table or ():
        if not is_name(key.value):
            problems.error(
                "part-storage", f"'{key.value}' is no name of a memory", key.span, hint="Write M."
            )
            continue
        fields = table_of(body, f"'{key.value}'", MEMORY, problems)
        if fields is None:
            continue
        words = _size(fields, "words", MAX_WORDS, key.value, problems)
        bits = _size(fields, "bits", MAX_WIDTH, key.value, problems)
        heads.append(MemoryHead(name=key.value, words=words, bits=bits, fields=fields))
    return tuple(heads)


def _size(fields: Table, key: str, most: int, name: str, problems: Problems) -> int:
    text: Text | None = text_of(fields, key, f"'{name}'", problems)
    if text is None:
        return 1
    if not (text.value.isascii() and text.value.isdigit()) or not 1 <= int(text.value) <= most:
        problems.error(
            "part-storage",
            f"'{text.value}' is no number of {key}",
            text.span,
            hint=f"Write a number from 1 to {most:,}, without separators.",
        )
        return 1
    return int(text.value)


def read_memory(head: MemoryHead, scope: Scope, problems: Problems) -> Memory | None:
    """A memory, or, without ``write``, a ROM; None, and noted, if something is missing."""
    what = f"'{head.name}'"
    address = formula_under(head.fields, "address", what, problems)
    write = formula_if(head.fields, "write", what, problems)
    source = formula_if(head.fields, "from", what, problems)
    program = formula_if(head.fields, "program", what, problems)
    for formula in (address, write, source, program):
        check(formula, scope, problems)
    if (head.fields.get("write") is None) != (head.fields.get("from") is None):
        problems.error(
            "part-storage",
            f"{what} has only one of 'write' and 'from'",
            head.fields.span,
            hint="A memory that is written has both; a ROM has neither.",
        )
    if address is None:
        return None
    return Memory(
        name=head.name,
        words=head.words,
        bits=head.bits,
        address=address,
        write=write,
        program=program,
        source=source,
    )
