"""The rows of every chip tell of all its inputs and outputs.

What is required of a part file: a source, rows with an origin; every output expected at each of
its levels; and no input that could be stuck without a row noticing. The faults are made in the
Machine, all of a chip at once (`tests.against.faults`).
"""

from __future__ import annotations

import dataclasses

import pytest

from breadproof.specs.catalogue.part import PartType, PinKind
from breadproof.specs.formula import syntax as s
from tests.against.faults import Fault, rows_of
from tests.rows.judging import NUMBERS, placed


def expected_levels(part: PartType) -> set[tuple[str, str]]:
    """Each output with each level that it has."""
    wanted: set[tuple[str, str]] = set()
    for pin in part.pins:
        if pin.kind.drives or pin.name in part.switch_pins:
            wanted.add((pin.name, "L"))
            if pin.kind not in (PinKind.OPEN_COLLECTOR, PinKind.WIRED_AND):
                wanted.add((pin.name, "H"))
            if pin.kind is not PinKind.OUT:
                wanted.add((pin.name, "Z"))
    return wanted


def only_program(part: PartType) -> set[Fault]:
    """Pins stuck so that a read-only memory is never written, where only that looks at the pin:
    its words stay, and no row can show more."""
    found: set[str] = set()
    for memory in part.memories:
        stack: list[s.Expr] = [] if memory.program is None else [memory.program.expr]
        while stack:
            node = stack.pop()
            if isinstance(node, s.Name):
                found.add(node.path)
            stack.extend(s.children(node))
    return {(name, 1) for name in found if name.startswith("WE")}


def left_to_the_world(part: PartType) -> set[Fault]:
    """What is no pin but a level that no book tells: no row looks at it."""
    found: set[Fault] = set()
    for moment in part.moments:
        cells = {
            left[table.columns_in.index(moment.name)]
            for table in part.rows
            if moment.name in table.columns_in
            for left, _ in table.table
        }
        if cells <= {"X"}:
            found |= {(moment.name, 0), (moment.name, 1)}
    return found


@pytest.mark.parametrize("number", NUMBERS)
def test_rows_tell_of_every_pin(number: str) -> None:
    chip = placed(number)
    assert chip.part.source.strip()
    assert chip.part.rows
    assert all(table.origin.strip() for table in chip.part.rows)
    rows = rows_of(chip)
    assert expected_levels(chip.part) <= rows.shown
    assert rows.missed_pins() <= only_program(chip.part) | left_to_the_world(chip.part)


def test_missing_rows_are_noticed() -> None:
    """The 157 without its rows of select high: nothing tells of its B inputs."""
    chip = placed("157")
    tables = []
    for table in chip.part.rows:
        at = table.columns_in.index("S")
        kept = [k for k, (left, _) in enumerate(table.table) if left[at] != "H"]
        tables.append(
            dataclasses.replace(
                table,
                table=tuple(table.table[k] for k in kept),
                spans=tuple(table.spans[k] for k in kept),
            )
        )
    part = dataclasses.replace(chip.part, rows=tuple(tables))
    rows = rows_of(dataclasses.replace(chip, part=part))
    missed = {name for name, _ in rows.missed_pins()}
    assert missed == {"B1", "B2", "B3", "B4", "S"}


def test_missing_levels_are_noticed() -> None:
    """The 125 without the rows in which its outputs are off."""
    chip = placed("125")
    table = chip.part.rows[0]
    kept = [k for k, (_, right) in enumerate(table.table) if "Z" not in right]
    assert 0 < len(kept) < len(table.table)
    fewer = dataclasses.replace(
        table,
        table=tuple(table.table[k] for k in kept),
        spans=tuple(table.spans[k] for k in kept),
    )
    part = dataclasses.replace(chip.part, rows=(fewer,))
    rows = rows_of(dataclasses.replace(chip, part=part))
    assert expected_levels(part) - rows.shown == {(f"Y{k}", "Z") for k in range(1, 5)}
    assert ("G1_n", 0) in rows.missed_pins()


def test_a_wrong_row_is_noticed_without_a_fault() -> None:
    chip = placed("00")
    table = chip.part.rows[0]
    (left, right), *others = table.table
    turned = tuple({"L": "H", "H": "L"}[cell] for cell in right)
    wrong = dataclasses.replace(table, table=((left, turned), *others))
    part = dataclasses.replace(chip.part, rows=(wrong,))
    with pytest.raises(AssertionError, match="00: "):
        rows_of(dataclasses.replace(chip, part=part))
