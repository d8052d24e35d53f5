"""Rows of the data sheet against what a chip does.

The rows of a part file are written from the data sheet's tables, and never from the formulas that
are under test. `expand` makes stimuli of them; here they are put to a `Subject`, and what it does
is compared with the row.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from random import Random
from typing import Protocol

from breadproof.specs.catalogue.part import PinKind, RowTable
from breadproof.specs.catalogue.rows import Run, Stimulus, expand, first_levels, start_bits
from breadproof.specs.reading.diagnostics import Span
from breadproof.verify.rows.boards import Placed

MAX_ROUNDS = 4
"""No part needs so many rounds after one change of its inputs: two edges, at most, and one more."""


class Restless(Exception):
    """A chip does not become quiet after one change of its inputs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One run of a table."""

    chip: Placed
    table: RowTable
    run: Run
    number: int

    def dice(self, seed: int = 0) -> Random:
        """The chances of this run."""
        return Random(f"{seed} {self.chip.part.number} {self.table.origin} {self.number}")

    def idle(self, dice: Random) -> dict[str, int | None]:
        """What every input is at power-up."""
        return idle(self.chip, dice) | first_levels(self.table, self.run)

    def drawn(self, labels: Iterable[str], dice: Random) -> dict[str, int]:
        """Any content of registers and latches (``U161.R[3]``), but for what the table tells."""
        told_bits = start_bits(self.table)
        content: dict[str, int] = {}
        for label in labels:
            bit = told_bits.get(label.removeprefix(f"{self.chip.name}."))
            content[label] = dice.getrandbits(1) if bit is None else bit
        return content

    @property
    def key(self) -> tuple[Span, int]:
        """Which run of which table."""
        return self.table.spans[0], self.number

    def ends(self) -> Iterator[tuple[Stimulus, bool]]:
        """The stimuli, each with whether it is the last one of its row."""
        for this, following in zip(self.run, (*self.run[1:], None), strict=True):
            yield this, following is None or following.span != this.span

    def watched(self) -> tuple[str, ...]:
        """What the rows look at: pins, bits of storage, bits of words."""
        return tuple(dict.fromkeys(name for s in self.run for name, _ in s.expect))


def trials_of(chip: Placed, table: RowTable, seed: int = 0) -> tuple[Trial, ...]:
    """All runs of a table."""
    return tuple(
        Trial(chip=chip, table=table, run=run, number=number)
        for number, run in enumerate(expand(chip.part, table, seed))
    )


def trials(chip: Placed, seed: int = 0) -> tuple[Trial, ...]:
    """All runs of all tables of a chip."""
    return tuple(trial for table in chip.part.rows for trial in trials_of(chip, table, seed))


@dataclass(frozen=True, slots=True, kw_only=True)
class PinSeen:
    """What is seen of a driving pin, or of one that an analogue switch may join to another.

    ``drives`` and ``level`` tell what the chip puts on it or passes on to it, ``net`` what its net
    reads, ``outside`` what is put on it from outside.
    """

    drives: bool
    level: int
    net: int
    outside: int | None

    def letter(self) -> str:
        """``H``, ``L`` or ``Z``; a sentence if the net does not go with the pin."""
        levels = f"drives {self.drives}, level {self.level}, net {self.net}, port {self.outside}"
        if self.drives:
            return "LH"[self.level] if self.outside is None and self.net == self.level else levels
        return "Z" if self.outside is None or self.net == self.outside else levels


class Subject(Protocol):
    """A chip that can be set and looked at."""

    def start(self, trial: Trial) -> None:
        """Power up with any content; each input at any steady level.

        Raises:
            Restless: it does not become quiet.
        """

    def apply(self, inputs: Mapping[str, int | None]) -> None:
        """Set pins together (None: not driven) and let the chip become quiet.

        Raises:
            Restless: it does not.
        """

    def see(self, name: str) -> str:
        """``H``, ``L`` or ``Z`` of a pin or bit; or what is wrong with it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrong:
    """A pin or bit (``name``) that is not what a row says; "" if the chip became not quiet."""

    stimulus: Stimulus
    name: str
    wanted: str
    seen: str

    def what(self) -> str:
        """It in one line."""
        if not self.name:
            return self.seen
        return f"{self.name} is to be {self.wanted}: {self.seen}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A run that was run: the rows that were compared, and all that was wrong, in order."""

    compared: tuple[Span, ...]
    wrong: tuple[Wrong, ...]


def idle(chip: Placed, dice: Random) -> dict[str, int | None]:
    """A steady level for every input, no drive on what the chip may drive or join itself."""
    joined = chip.part.switch_pins
    return {
        pin.name: None if pin.kind.drives or pin.name in joined else dice.getrandbits(1)
        for pin in chip.part.pins
        if pin.kind.reads or pin.name in joined or (pin.kind.drives and pin.kind is not PinKind.OUT)
    }


def steps(trial: Trial, subject: Subject) -> Iterator[tuple[Stimulus, tuple[Wrong, ...]]]:
    """Run one run: each stimulus, with what is wrong after it.

    It ends where the chip does not become quiet, with a `Wrong` that says so.
    """
    watched = trial.watched()
    before: dict[str, str] = {}
    reached = trial.run[0]
    try:
        subject.start(trial)
        for stimulus, ends in trial.ends():
            reached = stimulus
            subject.apply(dict(stimulus.inputs))
            seen = {name: subject.see(name) for name in watched}
            wanted = [(name, meant(says, before.get(name))) for name, says in stimulus.expect]
            yield (
                stimulus,
                tuple(
                    Wrong(stimulus=stimulus, name=name, wanted=letter, seen=seen[name])
                    for name, letter in wanted
                    if seen[name] != letter
                ),
            )
            if ends:
                before = seen
    except Restless as restless:
        yield reached, (Wrong(stimulus=reached, name="", wanted="", seen=str(restless)),)


def compare(trial: Trial, subject: Subject) -> Outcome:
    """Run one run to its end, or to where the chip does not become quiet."""
    compared: dict[Span, None] = {}
    wrong: list[Wrong] = []
    for stimulus, found in steps(trial, subject):
        wrong += found
        if stimulus.expect:
            compared[stimulus.span] = None
    return Outcome(compared=tuple(compared), wrong=tuple(wrong))


def meant(says: str, before: str | None) -> str:
    """The letter that an expectation comes to."""
    if says == "=":
        return before or "nothing, no row is before"
    if says == "!":
        return {"H": "L", "L": "H"}.get(before or "", "nothing, no level was before")
    return says


def told(trial: Trial, stimulus: Stimulus, what: str) -> str:
    """The row's place and cells, what was set and what is wrong."""
    span, table = stimulus.span, trial.table
    left, right = table.table[table.spans.index(span)]
    inputs = " ".join(f"{name}={'Z' if v is None else v}" for name, v in stimulus.inputs)
    return (
        f"{span.file}:{span.line}: {what}\n"
        f"  columns {' '.join(table.columns_in)} | {' '.join(table.columns_out)}\n"
        f"  row     {' '.join(left)} | {' '.join(right)}\n"
        f"  run {trial.number}, set {inputs}"
    )
