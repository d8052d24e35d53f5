"""A script: what somebody does at a board, one thing after another, and what is to be seen then.

One key, ``stimulus``, with a list of entries, each with one key of its own:

- ``drive: {MODE: SHOW, PATTERN: 8'hA5}`` sets controls: input ports, switches, buttons held down.
- ``press: STORE`` presses a button and lets it go; a list presses one after another.
- ``clock: {clk: 12}`` runs that many whole periods of a clock; ``clock: {name: OSC, until: "done",
  most: 500}`` runs whole periods until a formula holds, and fails if it does not come.
- ``check: {q: 1, bus: 8'hA5}`` compares levels; ``check: {says: "...", formula: "..."}``, or a
  formula alone, asks for any formula without temporal operators.
- ``repeat: {times: 3, stimulus: [...]}`` does its entries that often.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from breadproof.specs.formula import syntax as s
from breadproof.specs.formula.parse import parse
from breadproof.specs.reading.diagnostics import BadInput, Problems, Span
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree, near, read_tree

KEYS: Final = ("stimulus",)
ENTRIES: Final = ("drive", "press", "clock", "check", "repeat")
CLOCK_KEYS: Final = ("name", "times", "until", "most")
CHECK_KEYS: Final = ("says", "formula")
REPEAT_KEYS: Final = ("times", "stimulus")
MOST = 10_000
"""Periods in which what is waited for must come, if the script does not say."""
LONGEST = 2_000_000_000
"""A number of times is at most this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """Controls and what they are set to, as written."""

    settings: tuple[tuple[Text, Text], ...]
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Press:
    """Buttons, pressed and let go one after another."""

    buttons: tuple[Text, ...]
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Formula:
    """A formula that was read, and its text."""

    text: Text
    expr: s.Expr


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """``times`` whole periods of a clock; with ``until`` at most so many, until it holds."""

    name: Text
    times: int
    until: Formula | None
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """What is looked at, and what it is to be."""

    name: Formula
    value: Formula


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """What is to be seen: a formula, or levels; ``says`` is the sentence beside it, or ""."""

    says: str
    formula: Formula | None
    levels: tuple[Level, ...]
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat:
    """Entries, done ``times`` times."""

    times: int
    entries: tuple[Entry, ...]
    span: Span


Entry = Drive | Press | Clock | Check | Repeat


@dataclass(frozen=True, slots=True, kw_only=True)
class Script:
    """A script file."""

    file: str
    entries: tuple[Entry, ...]


def read_script(path: Path, problems: Problems) -> Script:
    """The script of a file; nothing in it is looked up yet. Problems of its form are collected.

    Raises:
        BadInput: it cannot be read, is not YAML, or has no list under ``stimulus``.
    """
    tree = read_tree(path)
    work = _Reading(problems)
    if not isinstance(tree, Table):
        work.shape(tree.span, "a script is a table", "It begins with 'stimulus:'.")
    else:
        work.known(tree, KEYS, "a script")
    found = tree.get("stimulus") if isinstance(tree, Table) else None
    if not isinstance(found, Rows):
        if isinstance(tree, Table):
            span = tree.span if found is None else found.span
            work.shape(span, "a script has a list of entries under 'stimulus'", _ENTRY_HINT)
        problems.stop_if_any()
        raise AssertionError("unreachable: what is no list is a problem")
    return Script(file=str(path), entries=work.entries(found))


_ENTRY_HINT = "An entry is '- drive: {MODE: SHOW}', or has press, clock, check or repeat."


class _Reading:
    def __init__(self, problems: Problems) -> None:
        self.problems = problems

    def shape(self, span: Span, message: str, hint: str) -> None:
        self.problems.error("script-shape", message, span, hint=hint)

    def known(self, table: Table, keys: tuple[str, ...], what: str) -> None:
        for key, _ in table:
            if key.value not in keys:
                hint = near(key.value, keys) or f"It has {', '.join(keys)}."
                message = f"{what} has no '{key.value}'"
                self.problems.error("key-unknown", message, key.span, hint=hint)

    def entries(self, rows: Rows) -> tuple[Entry, ...]:
        found = [self.entry(item) for item in rows.items]
        return tuple(entry for entry in found if entry is not None)

    def entry(self, tree: Tree) -> Entry | None:
        if not isinstance(tree, Table) or len(tree.entries) != 1:
            self.shape(tree.span, "an entry has one key", _ENTRY_HINT)
            return None
        key, body = tree.entries[0]
        match key.value:
            case "drive":
                return self.drive(body, key.span)
            case "press":
                return self.press(body, key.span)
            case "clock":
                return self.clock(body, key.span)
            case "check":
                return self.check(body, key.span)
            case "repeat":
                return self.repeat(body, key.span)
        hint = near(key.value, ENTRIES) or f"There are {', '.join(ENTRIES)}."
        self.problems.error("script-entry", f"there is no entry '{key.value}'", key.span, hint=hint)
        return None

    def drive(self, body: Tree, span: Span) -> Drive | None:
        hint = "Write 'drive: {MODE: SHOW, d: 8'hA5}'."
        if not isinstance(body, Table) or not body.entries:
            self.shape(body.span, "'drive' is a table of controls and what they are set to", hint)
            return None
        good: list[tuple[Text, Text]] = []
        for name, value in body:
            if isinstance(value, Text) and value.value:
                good.append((name, value))
            else:
                self.shape(value.span, f"'{name.value}' is set to one value", hint)
        return Drive(settings=tuple(good), span=span)

    def press(self, body: Tree, span: Span) -> Press | None:
        items = body.items if isinstance(body, Rows) else (body,)
        texts = tuple(item for item in items if isinstance(item, Text) and item.value)
        if len(texts) != len(items) or not texts:
            self.shape(body.span, "'press' names buttons", "Write 'press: STORE' or '[A, B]'.")
            return None
        return Press(buttons=texts, span=span)

    def clock(self, body: Tree, span: Span) -> Clock | None:
        hint = "Write 'clock: {clk: 12}' or 'clock: {name: clk, until: \"done\", most: 500}'."
        if not isinstance(body, Table) or not body.entries:
            self.shape(body.span, "'clock' names a clock and how many periods it runs", hint)
            return None
        if body.get("name") is None:
            if len(body.entries) != 1 or body.entries[0][0].value in CLOCK_KEYS:
                self.shape(body.span, "one entry runs one clock", hint)
                return None
            name, periods = body.entries[0]
            return Clock(name=name, times=self.number(periods), until=None, span=span)
        self.known(body, CLOCK_KEYS, "a clock")
        named, until = body.get("name"), body.get("until")
        count = body.get("most" if until is not None else "times")
        wrong = body.get("times" if until is not None else "most")
        if not isinstance(named, Text) or wrong is not None or (until is None and count is None):
            at = body.span if wrong is None else wrong.span
            self.shape(at, "a clock has 'times', or 'until' and 'most'", hint)
            return None
        times = MOST if count is None else self.number(count)
        formula = None if until is None else self.formula(until)
        if until is not None and formula is None:
            return None
        return Clock(name=named, times=times, until=formula, span=span)

    def check(self, body: Tree, span: Span) -> Check | None:
        if isinstance(body, Text):
            formula = self.formula(body)
            return self.asked("", formula, span)
        if not isinstance(body, Table) or not body.entries:
            self.shape(
                body.span,
                "'check' is a formula, or a table of nets and levels",
                "Write 'check: {bus: 8'hA5}' or 'check: {says: \"...\", formula: \"...\"}'.",
            )
            return None
        if body.get("formula") is None and body.get("says") is None:
            levels = [self.level(name, value) for name, value in body]
            good = tuple(level for level in levels if level is not None)
            return Check(says="", formula=None, levels=good, span=span)
        self.known(body, CHECK_KEYS, "a check")
        says, text = body.get("says"), body.get("formula")
        if text is None:
            self.shape(body.span, "the check has no formula", "Write 'formula: \"...\"'.")
            return None
        formula = self.formula(text)
        sentence = says.value if isinstance(says, Text) else ""
        return self.asked(sentence, formula, span)

    def asked(self, says: str, formula: Formula | None, span: Span) -> Check | None:
        return None if formula is None else Check(says=says, formula=formula, levels=(), span=span)

    def level(self, name: Text, value: Tree) -> Level | None:
        left, right = self.formula(name), self.formula(value)
        return Level(name=left, value=right) if left and right else None

    def repeat(self, body: Tree, span: Span) -> Repeat | None:
        hint = "Write 'repeat: {times: 3, stimulus: [...]}'."
        inner = body.get("stimulus") if isinstance(body, Table) else None
        times = body.get("times") if isinstance(body, Table) else None
        if isinstance(body, Table):
            self.known(body, REPEAT_KEYS, "a repeat")
        if not isinstance(inner, Rows) or times is None:
            self.shape(body.span, "'repeat' has 'times' and a list under 'stimulus'", hint)
            return None
        return Repeat(times=self.number(times), entries=self.entries(inner), span=span)

    def number(self, tree: Tree) -> int:
        """A number of times; 0 for what is none, which is noted."""
        text = tree.value.replace("_", "") if isinstance(tree, Text) else ""
        if text.isascii() and text.isdecimal() and len(text) < 12 and int(text) <= LONGEST:
            return int(text)
        self.problems.error(
            "script-number",
            "this is no number of times",
            tree.span,
            hint=f"Write a whole number, at most {LONGEST:,}.",
        )
        return 0

    def formula(self, tree: Tree) -> Formula | None:
        if not isinstance(tree, Text):
            hint = "Put it in double quotes."
            self.shape(tree.span, "YAML does not read the formula as text", hint)
            return None
        try:
            return Formula(text=tree, expr=parse(tree))
        except BadInput as bad:
            self.problems.take(bad)
            return None
