"""A script for one board as a flat program: what controls are set, step by step, what is looked at.

A step changes one control, or several that the board's ``together`` allows to change at once; what
else an entry sets comes in steps of its own, in the order of the script. A setting that is there
already makes no step. A change-over switch passes between its positions (or joins both, if it makes
before it breaks); a press is two steps, or four of a change-over contact; a period of a clock is
two, away from its level and back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import IntEnum

from breadproof.export.stimulus.controls import Moves, moves_of, press_of, single
from breadproof.export.stimulus.sights import Sights, Watched
from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.script import (
    Check,
    Clock,
    Drive,
    Entry,
    Formula,
    Press,
    Repeat,
    Script,
)


class Op(IntEnum):
    """What an instruction does; ``a`` and ``b`` are its numbers.

    SET the bit of controls at place ``a`` of the row to ``b``; TOGGLE it. STEP: rounds until quiet,
    if a bit was changed, or if ``a``; then RECORD, if ``b``. CHECK condition ``a``. REPEAT what
    follows ``a`` times, up to NEXT, which goes back to ``a``; at 0 times it goes on at ``b``.
    LEAVE: if condition ``a`` holds, end the loop and go on at ``b``; WHEN: go on at ``b``, outside
    of a loop. OVERRUN: what a clock waited for did not come. RECORD the row. END.
    """

    END = 0
    SET = 1
    TOGGLE = 2
    STEP = 3
    CHECK = 4
    REPEAT = 5
    NEXT = 6
    LEAVE = 7
    WHEN = 8
    OVERRUN = 9
    RECORD = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Instruction:
    """``entry`` is the place in `Program.entries` of the entry it was made for."""

    op: Op
    a: int = 0
    b: int = 0
    entry: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """An entry of the script as it is told: in words, and where it stands."""

    text: str
    span: Span
    says: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """What a check, a clock that waits, or a breakpoint asks.

    ``node`` holds if it is so. ``levels`` are the single levels of a check with what each is to
    be, ``named`` what a formula names.
    """

    node: int
    text: str
    levels: tuple[tuple[Watched, Watched | str, int], ...] = ()
    named: tuple[Watched, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """The whole script; entry 0 is power-on."""

    code: tuple[Instruction, ...]
    entries: tuple[Done, ...]
    conditions: tuple[Condition, ...]
    checks: int
    """How many entries check something."""


@dataclass(slots=True)
class _Writer:
    sights: Sights
    problems: Problems
    every_step: bool
    code: list[Instruction] = field(default_factory=list)
    entries: list[Done] = field(default_factory=list)
    conditions: list[Condition] = field(default_factory=list)
    checks: int = 0

    def emit(self, op: Op, a: int = 0, b: int = 0) -> int:
        self.code.append(Instruction(op=op, a=a, b=b, entry=len(self.entries) - 1))
        return len(self.code) - 1

    def jump_here(self, place: int) -> None:
        old = self.code[place]
        self.code[place] = Instruction(op=old.op, a=old.a, b=len(self.code), entry=old.entry)

    def begin(self, text: str, span: Span, says: str = "") -> None:
        self.entries.append(Done(text=text, span=span, says=says))

    def step(self, *, always: bool = False) -> None:
        self.emit(Op.STEP, int(always), int(self.every_step))

    def record(self) -> None:
        if not self.every_step:
            self.emit(Op.RECORD)

    def all(self, entries: Sequence[Entry]) -> None:
        for entry in entries:
            match entry:
                case Drive():
                    self.drive(entry)
                case Press():
                    self.press(entry)
                case Clock():
                    self.clock(entry)
                case Check():
                    self.check(entry)
                case Repeat():
                    self.repeat(entry)

    def drive(self, entry: Drive) -> None:
        self.begin(
            "drive " + ", ".join(f"{name.value}: {value.value}" for name, value in entry.settings),
            entry.span,
        )
        found: list[Moves] = []
        for name, value in entry.settings:
            found += moves_of(self.sights.machine.netlist, name, value, self.problems)
        group: list[Moves] = []
        for move in found:
            if group and not all(self.together(move.control, other.control) for other in group):
                self.move(group)
                group = []
            group.append(move)
        self.move(group)
        self.record()

    def together(self, a: str, b: str) -> bool:
        """Whether two controls may change in one step; one that is set again has its own."""
        allowed = self.sights.machine.netlist.together
        if a == b:
            return False
        return allowed == "all" or any({a, b} <= set(group) for group in allowed)

    def move(self, group: Sequence[Moves]) -> None:
        """One step for what comes first of all, and one for what comes then."""
        for phase in range(2):
            bits = [
                (self.sights.row.control(move.control, bit), level)
                for move in group
                for bit, level in (move.first, move.then)[phase]
            ]
            for place, level in bits:
                self.emit(Op.SET, place, level)
            if bits:
                self.step()

    def press(self, entry: Press) -> None:
        self.begin("press " + ", ".join(text.value for text in entry.buttons), entry.span)
        for text in entry.buttons:
            for move in press_of(self.sights.machine.netlist, text, self.problems):
                self.move([move])
        self.record()

    def clock(self, entry: Clock) -> None:
        until = "" if entry.until is None else f" until {entry.until.text.value}"
        times = f" x {entry.times:,}" if entry.until is None else until
        self.begin(f"clock {entry.name.value}{times}", entry.span)
        kinds = ("oscillator", "in", "button", "moment", "way", "jumper")
        name = single(self.sights.machine.netlist, entry.name, kinds, self.problems)
        place = 0 if name is None else self.sights.row.control(name, 0)
        condition = -1 if entry.until is None else self.condition(entry.until)
        loop = self.emit(Op.REPEAT, entry.times)
        back = len(self.code)
        leave = self.emit(Op.LEAVE, condition) if condition >= 0 else None
        for _ in range(2):
            self.emit(Op.TOGGLE, place)
            self.step()
        self.emit(Op.NEXT, back)
        self.jump_here(loop)
        if leave is not None:
            when = self.emit(Op.WHEN, condition)
            self.emit(Op.OVERRUN, condition)
            self.jump_here(leave)
            self.jump_here(when)
        self.record()

    def condition(self, formula: Formula) -> int:
        node = self.sights.condition(formula, self.problems)
        named = self.sights.named(formula, self.problems)
        self.conditions.append(Condition(node=node, text=formula.text.value, named=named))
        return len(self.conditions) - 1

    def check(self, entry: Check) -> None:
        self.checks += 1
        if entry.formula is not None:
            self.begin(f"check {entry.formula.text.value}", entry.span, entry.says)
            self.emit(Op.CHECK, self.condition(entry.formula))
            return
        told = ", ".join(f"{one.name.text.value}: {one.value.text.value}" for one in entry.levels)
        self.begin(f"check {told}", entry.span)
        levels: list[tuple[Watched, Watched | str, int]] = []
        for one in entry.levels:
            said = self.sights.said(one)
            if said is not None:
                levels.append((said[1], one.value.text.value, said[0]))
                continue
            node = self.sights.equal(one, self.problems)
            name = None if node is None else self.sights.watched(one.name, self.problems)
            if node is not None and name is not None:
                value: Watched | str | None = one.value.text.value
                if not name.words:
                    value = self.sights.watched(one.value, self.problems)
                levels.append((name, one.value.text.value if value is None else value, node))
        node = self.sights.graph.and_(*(node for _, _, node in levels))
        self.conditions.append(Condition(node=node, text=told, levels=tuple(levels)))
        self.emit(Op.CHECK, len(self.conditions) - 1)

    def repeat(self, entry: Repeat) -> None:
        self.begin(f"repeat x {entry.times:,}", entry.span)
        loop = self.emit(Op.REPEAT, entry.times)
        back = len(self.code)
        self.all(entry.entries)
        self.emit(Op.NEXT, back)
        self.jump_here(loop)


def program_of(
    script: Script, sights: Sights, problems: Problems, *, every_step: bool = False
) -> Program:
    """The program of a script; what names no control of the board, and so on, is noted.

    ``every_step``: the row is recorded after every step instead of after every entry.
    """
    work = _Writer(sights, problems, every_step)
    work.begin("power on", Span(file=script.file, line=1, column=1))
    work.step(always=True)
    work.record()
    work.all(script.entries)
    work.emit(Op.END)
    return Program(
        code=tuple(work.code),
        entries=tuple(work.entries),
        conditions=tuple(work.conditions),
        checks=work.checks,
    )
