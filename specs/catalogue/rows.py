"""From a table of rows to concrete stimuli: what to set, step by step, and what to expect.

A table is one or more *runs*; each run starts on a fresh part with unknown content. Of a table of
pure combinational rows every run has all rows, each as often as its X cells and variables ask
for. Of a table with storage or edges the whole table is one run for each way to fill its X cells.

What a harness has to do:
- set the inputs of a stimulus together, let the part become quiet, compare what is expected;
- give inputs that a run has not named yet any steady level, and leave bidirectional pins that it
  has not named undriven;
- for a ROM, put the words of `contents` in before the first step.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

from breadproof.specs.catalogue.cells import (
    Cell,
    Says,
    input_bits,
    input_cell,
    is_word,
    looped,
    output_bits,
    output_cell,
)
from breadproof.specs.catalogue.part import PartType, RowTable
from breadproof.specs.reading.diagnostics import Span

ALL_UP_TO = 64
"""So many ways to fill a combinational row are all tried."""
SEEDED = 8
SEEDED_RUNS = 3
FILLINGS = 2 + SEEDED_RUNS
"""The runs of a table with storage: its X cells all low, all high, and so many by chance."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stimulus:
    """One step.

    ``inputs``: the pins to set, with their level, None for a pin that is not driven from
    outside. ``expect``: pins (``D3``), storage bits (``R[3]``) and bits of memory words
    (``M[5][3]``) with 'H', 'L', 'Z' (the part drives nothing there), '=' (as observed after the
    last step of the row before) or '!' (its complement). Empty in the steps that only prepare an
    edge.
    """

    inputs: tuple[tuple[str, int | None], ...]
    expect: tuple[tuple[str, str], ...]
    span: Span


Run = tuple[Stimulus, ...]


def expand(part: PartType, table: RowTable, seed: int = 0) -> tuple[Run, ...]:
    """All runs of a table that `load_part` has accepted; the same seed gives the same runs."""
    sequential = is_sequential(part, table)
    runs: list[Run] = []
    for loop in table.loops:
        rows = tuple(_row(part, table, index, loop) for index in range(len(table.table)))
        if sequential:
            for fill in range(FILLINGS):
                dice = random.Random(f"{seed} {part.number} {table.origin} {loop} {fill}")
                runs.append(
                    tuple(s for row in rows for s in _steps(row, _filling(row, fill, dice)))
                )
        else:
            dice = random.Random(f"{seed} {part.number} {table.origin} {loop}")
            runs.append(
                tuple(s for row in rows for fill in _fillings(row, dice) for s in _steps(row, fill))
            )
    return tuple(runs)


def first_levels(table: RowTable, run: Run) -> dict[str, int | None]:
    """What the inputs are at power-up: of a table with ``start`` those of its first row, before
    its edge, so that nothing sets or clears what is in storage; else any (nothing is told)."""
    levels: dict[str, int | None] = {}
    if table.start:
        row = [stimulus for stimulus in run if stimulus.span == run[0].span]
        for stimulus in row[: max(1, len(row) - 1)]:
            levels |= dict(stimulus.inputs)
    return levels


def start_bits(table: RowTable) -> dict[str, int]:
    """The bits of storage (``R[3]``) that a table tells the start of."""
    return {f"{name}[{bit}]": value >> bit & 1 for name, value in table.start for bit in range(64)}


def contents(part: PartType, table: RowTable) -> tuple[tuple[str, int, int], ...]:
    """The words of a ROM that a table takes for granted: (memory, address, word)."""
    found = []
    for column, text in zip(table.columns_in, table.table[0][0], strict=True):
        if is_word(column):
            name, _, word = column.rstrip("]").partition("[")
            width = len(input_bits(part, column))
            found.append((name, int(word), input_cell(text, width).value))
    return tuple(found)


def is_sequential(part: PartType, table: RowTable) -> bool:
    """Whether the rows of a table depend on those before."""
    if part.storage or any(memory.write is not None for memory in part.memories):
        return True
    cells = (cell for left, right in table.table for cell in (*left, *right))
    return any(cell in ("^", "v", "=", "!") for cell in cells)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """A row whose columns are resolved to bits, and its free bits counted."""

    inputs: tuple[tuple[tuple[str, ...], Cell], ...]
    outputs: tuple[tuple[tuple[str, ...], Cell], ...]
    free: int
    span: Span


def _row(part: PartType, table: RowTable, index: int, loop: str) -> _Row:
    left, right = table.table[index]
    inputs = []
    for column, text in zip(table.columns_in, left, strict=True):
        if not is_word(looped(column, loop)):
            bits = input_bits(part, looped(column, loop))
            inputs.append((bits, input_cell(text, len(bits))))
    outputs = []
    for column, text in zip(table.columns_out, right, strict=True):
        bits = output_bits(part, looped(column, loop))
        outputs.append((bits, output_cell(text, len(bits))))
    free = sum(len(bits) for bits, cell in inputs if cell.says is Says.ANY)
    widths = {cell.variable: len(bits) for bits, cell in inputs if cell.says is Says.VARIABLE}
    return _Row(
        inputs=tuple(inputs),
        outputs=tuple(outputs),
        free=free + sum(widths.values()),
        span=table.spans[index],
    )


def _fillings(row: _Row, dice: random.Random) -> tuple[int, ...]:
    """The values of a combinational row's free bits, as one number each."""
    if 1 << row.free <= ALL_UP_TO:
        return tuple(range(1 << row.free))
    seeded = (dice.getrandbits(row.free) for _ in range(SEEDED))
    return (0, (1 << row.free) - 1, *seeded)


def _filling(row: _Row, fill: int, dice: random.Random) -> int:
    """The value of a sequential row's free bits: run 0 all 0, run 1 all 1, the others seeded."""
    if fill == 0 or row.free == 0:
        return 0
    return (1 << row.free) - 1 if fill == 1 else dice.getrandbits(row.free)


def _steps(row: _Row, filling: int) -> tuple[Stimulus, ...]:
    """One step, or, of a row with an edge: the clock back, the other inputs, the edge."""
    levels: list[tuple[str, int | None]] = []
    edges: list[tuple[str, int]] = []
    variables: dict[str, int] = {}
    for bits, cell in row.inputs:
        width = len(bits)
        match cell.says:
            case Says.RISING | Says.FALLING:
                edges.append((bits[0], int(cell.says is Says.RISING)))
                continue
            case Says.NOTHING:
                levels += [(name, None) for name in bits]
                continue
            case Says.NUMBER:
                value = cell.value
            case Says.VARIABLE if cell.variable in variables:
                value = variables[cell.variable]
            case _:
                value, filling = filling & ((1 << width) - 1), filling >> width
                if cell.variable:
                    variables[cell.variable] = value
        levels += [(name, value >> (width - 1 - at) & 1) for at, name in enumerate(bits)]
    expect = tuple(e for bits, cell in row.outputs for e in _expected(bits, cell, variables))
    if not edges:
        return (Stimulus(inputs=tuple(levels), expect=expect, span=row.span),)
    clock, level = edges[0]
    preparing: list[tuple[tuple[str, int | None], ...]] = [((clock, 1 - level),)]
    if levels:
        preparing.append(tuple(levels))
    return (
        *(Stimulus(inputs=inputs, expect=(), span=row.span) for inputs in preparing),
        Stimulus(inputs=((clock, level),), expect=expect, span=row.span),
    )


def _expected(
    bits: tuple[str, ...], cell: Cell, variables: dict[str, int]
) -> tuple[tuple[str, str], ...]:
    match cell.says:
        case Says.ANY:
            return ()
        case Says.NOTHING:
            return tuple((name, "Z") for name in bits)
        case Says.SAME:
            return tuple((name, "=") for name in bits)
        case Says.INVERTED:
            return tuple((name, "!") for name in bits)
        case Says.VARIABLE:
            value = variables[cell.variable]
        case Says.COMPLEMENT:
            value = ~variables[cell.variable]
        case _:
            value = cell.value
    top = len(bits) - 1
    return tuple((name, "LH"[value >> (top - at) & 1]) for at, name in enumerate(bits))
