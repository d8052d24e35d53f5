"""A simulation as a table that fits its page, and as one JSON object."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from breadproof.export.stimulus.player import MAX_ROUNDS, Reason, Record
from breadproof.export.stimulus.program import Op
from breadproof.export.stimulus.run import Simulated, text_of
from breadproof.export.stimulus.setting import Setting
from breadproof.export.stimulus.sights import Evaluator, Watched
from breadproof.specs.netlist.bouncing import finger_of
from breadproof.specs.netlist.model import Control
from breadproof.specs.netlist.segments import shown
from breadproof.specs.reading.diagnostics import Span
from breadproof.verify.report.page import Page
from breadproof.verify.report.words import count, listed, moment_says, printable, wrapped

DONE = 34
"""The widest that the column of what was done may get."""
SCHEMA = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A simulation and what there is to say about how it was made."""

    setting: Setting
    result: Simulated
    script: str
    engine: str
    seed: int | None


def listing(told: Told, page: Page) -> str:
    """All of it as text."""
    setting, result = told.setting, told.result
    lines = [
        f"{page.paint(printable(setting.machine.netlist.board), 'bold')}: {told.script}",
        *wrapped(power_on(told), page.width),
        "",
        *_table(told, page),
        "",
    ]
    lines += _ending(told, page)
    lines += [""] if result.levels else []
    for remark in remarks(told):
        lines += wrapped(remark, page.width)
    return "\n".join([*lines, ""])


def remarks(told: Told) -> list[str]:
    """What is to be known of a run before it is believed: levels that two may drive, and moments
    that the script leaves to the world, which never comes then."""
    said: list[str] = []
    contested = told.setting.generated.lowered.contested
    if contested:
        said.append(
            f"Levels on {', '.join(contested)} mean something only while no two drive there at "
            "once; 'breadproof verify' proves whether that is so."
        )
    netlist = told.setting.machine.netlist
    waiting = _never_come(told)
    if waiting:
        what = [f"{one.part} ({moment_says(netlist, one)})" for one in waiting]
        said.append(
            f"Not in this script: {listed(what)}. It comes when the script says so: "
            f"'drive: {{{waiting[0].name}: 1}}'."
        )
    return said


def _never_come(told: Told) -> list[Control]:
    """Moments that nothing in the script brings about; what bounces aside."""
    setting = told.setting
    row = setting.sights.row
    moved = {one.a for one in setting.program.code if one.op in (Op.SET, Op.TOGGLE)}
    return [
        control
        for control in setting.machine.netlist.controls
        if control.kind == "moment" and not finger_of(control.part or "")
        if row.control(control.name, 0) not in moved
    ]


def power_on(told: Told) -> str:
    """Who plays it, and what the board holds at first; no stop at the end."""
    how = "everything that is written holds 0" if told.seed is None else f"by seed {told.seed}"
    return f"engine: {told.engine}; at power-on: {how}"


# the table ------------------------------------------------------------------------------------


def _table(told: Told, page: Page) -> list[str]:
    records = [*told.result.first, *told.result.last]
    if not records:
        return ["no step was finished"]
    columns = [
        ["step", *(str(one.step) for one in records)],
        ["rounds", *(str(one.rounds) for one in records)],
        ["done", *(_cut(told.setting.program.entries[one.entry].text) for one in records)],
    ]
    right = [True, True, False]
    missing: list[str] = []
    for watched in told.setting.watched:
        column = [watched.name, *(seen(told, watched, one) for one in records)]
        if _width([*columns, column]) > page.width:
            missing.append(watched.name)
        else:
            columns.append(column)
            right.append(False)
    widths = [max(map(len, column)) for column in columns]
    lines = [
        "  ".join(
            cell.rjust(width) if to_right else cell.ljust(width)
            for cell, width, to_right in zip(cells, widths, right, strict=True)
        ).rstrip()
        for cells in zip(*columns, strict=True)
    ]
    lines[0] = page.paint(lines[0], "bold")
    if told.result.left_out:
        gap = f"{' ' * widths[0]}  ... {told.result.left_out:,} rows left out (--rows)"
        lines.insert(1 + len(told.result.first), gap)
    if missing:
        lines += wrapped(
            f"not shown, as the page is too narrow: {', '.join(missing)} (--watch)", page.width
        )
    return lines


def _cut(text: str) -> str:
    plain = printable(text)
    return plain if len(plain) <= DONE else f"{plain[: DONE - 3]}..."


def _width(columns: list[list[str]]) -> int:
    return sum(max(map(len, column)) + 2 for column in columns) - 2


def seen(told: Told, watched: Watched, record: Record) -> str:
    """What something that is watched shows in a row, as who looks at it says it: a display by its
    digit."""
    lit = display_of(told, watched, record)
    return level(told, watched, record) if lit is None else shown(lit)


def display_of(told: Told, watched: Watched, record: Record) -> list[str] | None:
    """The segments that are lit of a display that is watched; None if it is none."""
    part = told.setting.machine.netlist.part(watched.name)
    if part is None or part.device != "display":
        return None
    row = told.setting.sights.row
    segments = (name for name in row.lamps if name.startswith(f"{part.name}["))
    return [
        name.partition("[")[2].removesuffix("]")
        for name in segments
        if record.row >> row.lamps[name] & 1
    ]


def level(told: Told, watched: Watched, record: Record) -> str:
    """What something that is watched shows in a row."""

    def nothing(memory: int, bit: int, address: int) -> int:
        raise AssertionError("a row shows no memory")

    return text_of(watched, Evaluator(told.setting.sights, nothing), record.row)


# the end --------------------------------------------------------------------------------------


def _ending(told: Told, page: Page) -> list[str]:
    result, program = told.result, told.setting.program
    entry = program.entries[result.entry]
    where = _where(entry.span)
    at = f"step {result.step}, {count(result.rounds, 'round')} after power-on"
    played = f"{count(result.step + 1, 'step')}, {count(result.rounds, 'round')}"
    if result.interrupted:
        return [f"interrupted: {played} were played"]
    match result.reason:
        case Reason.ENDED:
            checks = f"; {count(program.checks, 'check')}: all hold" if program.checks else ""
            return _headed(page, "the script is at its end", "green", f"{played}{checks}")
        case Reason.CHECK:
            says = f" ({entry.says})" if entry.says else ""
            text = f"{where}: {entry.text}{says}"
            return [*_headed(page, "fails", "red", text), f"  at {at}", *_told(told)]
        case Reason.BREAK:
            text = program.conditions[result.condition].text
            held = "" if result.held < 0 else f", first in round {result.held} of that step"
            return [*_headed(page, "stopped", "", f"{text} holds at {at}{held}"), *_told(told)]
        case Reason.OVERRUN:
            text = f"{where}: {entry.text}: it did not come"
            return [*_headed(page, "fails", "red", text), f"  at {at}", *_told(told)]
        case Reason.RESTLESS:
            text = f"{where}: {entry.text}: the board does not get quiet"
            more = (
                f"at step {result.step}: something still changes after {MAX_ROUNDS} rounds; "
                "'breadproof verify' names the nets"
            )
            return [*_headed(page, "fails", "red", text), *wrapped(more, page.width, "  ")]
        case Reason.PAUSED:
            raise AssertionError("a pause is no end")


def _headed(page: Page, head: str, colour: str, text: str) -> list[str]:
    """A text behind its head, on as many lines as it takes."""
    lines = wrapped(f"{head}: {text}", page.width, "", "  ")
    if lines[0].startswith(head):
        lines[0] = page.paint(head, colour) + lines[0][len(head) :]
    return lines


def _where(span: Span) -> str:
    return f"{span.file}:{span.line}"


def _told(told: Told) -> list[str]:
    return [
        f"  {printable(one.name)}: "
        + (f"expected {one.expected}, got {one.got}" if one.expected else one.got)
        for one in told.result.levels
    ]


# JSON -----------------------------------------------------------------------------------------


def json_text(told: Told) -> str:
    """All of it as one JSON object, ending in a newline."""
    result, program = told.result, told.setting.program
    entry = program.entries[result.entry]
    ended = "interrupted" if result.interrupted else _ENDS[result.reason]
    condition = None if result.condition < 0 else program.conditions[result.condition].text
    fields: dict[str, Any] = {
        "schema": SCHEMA,
        "board": told.setting.machine.netlist.board,
        "script": told.script,
        "verdict": "pass" if result.passed else "undecided" if result.interrupted else "fail",
        "engine": told.engine,
        "seed": told.seed,
        "steps": result.step + 1,
        "rounds": result.rounds,
        "end": {
            "how": ended,
            "step": result.step,
            "round": None if result.held < 0 else result.held,
            "entry": entry.text,
            "says": entry.says,
            "file": entry.span.file,
            "line": entry.span.line,
            "column": entry.span.column,
            "formula": condition,
            "levels": [
                {"name": one.name, "expected": one.expected or None, "got": one.got}
                for one in result.levels
            ],
        },
        "rows": [_row(told, one) for one in (*result.first, *result.last)],
        "rows_left_out": result.left_out,
    }
    return json.dumps(fields, indent=1, ensure_ascii=False) + "\n"


_ENDS = {
    Reason.PAUSED: "interrupted",
    Reason.ENDED: "script at its end",
    Reason.CHECK: "check fails",
    Reason.BREAK: "breakpoint",
    Reason.OVERRUN: "waited in vain",
    Reason.RESTLESS: "not quiet",
}


def _row(told: Told, record: Record) -> dict[str, Any]:
    entry = told.setting.program.entries[record.entry]
    return {
        "step": record.step,
        "rounds": record.rounds,
        "done": entry.text,
        "line": entry.span.line,
        "levels": {one.name: level(told, one, record) for one in told.setting.watched},
    }
