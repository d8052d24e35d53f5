"""The whole comparison of two revisions: what changed, what it does, what is proved."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from breadproof.specs.formula.parse import parse, plain
from breadproof.specs.load import load_netlist
from breadproof.specs.machine.build import build_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import BoardFormula, Netlist, NetlistNames
from breadproof.specs.reading.diagnostics import BadInput, Diagnostic, Problems
from breadproof.specs.reading.yamltree import Text, near
from breadproof.verify.prove.assumptions import check_assumptions
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.revisions.alike import Answered
from breadproof.verify.revisions.behaviour import Found, Task, behaviour, rests_on
from breadproof.verify.revisions.cause import Parting
from breadproof.verify.revisions.changes import Change, changes_of
from breadproof.verify.revisions.items import Item, items_of
from breadproof.verify.revisions.later import Latency, Shown, clocks_of
from breadproof.verify.revisions.links import Links, link
from breadproof.verify.revisions.matching import Matching, match
from breadproof.verify.revisions.naming import Renaming
from breadproof.verify.revisions.places import place_changes
from breadproof.verify.revisions.said import names_bouncing, said_changes, same_formula
from breadproof.verify.revisions.samewiring import same_wiring
from breadproof.verify.revisions.start import Start, declared, held, reset_words
from breadproof.verify.revisions.verdicts import Means, Proved, on_both
from breadproof.verify.revisions.walked import Walked
from breadproof.verify.wiring.finding import listed

Behaviour = Literal["same", "differs", "undecided"]
Outcome = Literal["pass", "fail", "undecided"]
WHEN = "while"
"""The name of the formula while which alone is compared."""
SAME_WIRING = "each part, pin and net has its counterpart, and what proofs rest on is the same"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is asked for: ``only`` these outputs and nets, what is seen from ``outside`` alone,
    ``when`` this formula holds, after the ``start``; ``proofs``: everything that is proved, too."""

    only: tuple[str, ...] = ()
    outside: bool = False
    when: str = ""
    start: Start = "power-up"
    proofs: bool = True
    wiring: bool = False
    """What changed on the board, and no more."""
    periods: int = 0
    """So many periods of ``clock`` the new board is later, as it is meant to be."""
    clock: str = ""
    """A net of the old board; empty: the one that its chips are clocked from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """Everything about two revisions.

    ``because`` tells why ``behaviour`` is undecided. ``answered`` and ``proved`` are None where
    nothing had to be proved, or was to be. ``unclean`` are standing checks that do not hold and on
    which equal behaviour rests; ``gone`` are outputs that the new board does not have, ``alone``
    controls that only one has, ``aside`` assumptions that only one makes and that were left aside.
    """

    matching: Matching
    changes: tuple[Change, ...]
    same_wiring: bool
    behaviour: Behaviour
    because: str
    items: tuple[Item, ...]
    answered: Answered | None
    parting: Parting | None
    proved: Proved | None
    verdict: Outcome
    seconds: float
    wanted: Wanted
    unclean: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    alone: tuple[str, ...] = ()
    aside: tuple[str, ...] = ()
    runs: tuple[Walked, Walked] | None = None
    """The two runs of a difference."""
    latency: Latency | None = None
    shown: Shown | None = None
    """The two moments of a difference, where the new board is to be later."""
    begins: str = ""
    """How runs begin that were compared; empty: when power comes on."""

    @property
    def old(self) -> Netlist:
        """The old board."""
        return self.matching.old

    @property
    def new(self) -> Netlist:
        """The new board."""
        return self.matching.new

    @property
    def moving(self) -> tuple[Netlist, Netlist]:
        """Both boards as they move in runs: capacitors that take their time are controls there."""
        if self.runs is None:
            return self.old, self.new
        return self.runs[0].machine.netlist, self.runs[1].machine.netlist


def compare(
    old: Path, new: Path, wanted: Wanted, means: Means, folders: Sequence[Path] = ()
) -> Compared:
    """Compare two board files.

    Raises:
        BadInput: one of them cannot be understood, or ``when`` cannot.
        Unknown: ``wanted`` names what the boards do not have.
        TraceMismatch: a difference that was found does not show (our error).
    """
    begun = time.monotonic()
    means.progress("reading")
    found: list[Netlist] = []
    wrong: list[Diagnostic] = []
    for path in (old, new):
        try:
            found.append(load_netlist(path, folders))
        except BadInput as error:
            wrong += error.diagnostics
    if wrong:
        raise BadInput(wrong)
    return compare_netlists(found[0], found[1], wanted, means, begun)


def compare_netlists(
    old: Netlist, new: Netlist, wanted: Wanted, means: Means, begun: float | None = None
) -> Compared:
    """Compare two boards; see `compare`."""
    begun = time.monotonic() if begun is None else begun
    means.progress("comparing the wiring")
    matching = match(old, new)
    changes = (*changes_of(matching), *said_changes(matching), *place_changes(matching))
    work = _Work(matching, changes, wanted, means, same_wiring(matching))
    return replace(work.compared(), seconds=time.monotonic() - begun)


class Unknown(Exception):
    """``option`` names something that the boards do not have; the text has the way out."""

    def __init__(self, option: str, text: str) -> None:
        """The option, such as ``--only``."""
        super().__init__(text)
        self.option = option


@dataclass(slots=True)
class _Work:
    matching: Matching
    changes: tuple[Change, ...]
    wanted: Wanted
    means: Means
    same: bool

    def compared(self) -> Compared:
        if self.wanted.wiring:
            return self.wiring_alone()
        latency = self.latency()
        if self.same and latency is None:
            return self.unchanged()
        machines, aside = self.machines()
        links = link(*machines, self.matching)
        if self.wanted.start == "reset":
            self.need_reset(machines, links)
        items = self.items(machines, links, latency)
        gone = self.gone(machines)
        task = Task(
            matching=self.matching, machines=machines, links=links, items=items,
            changes=self.changes, start=self.wanted.start, when=self.when(machines),
            seconds=self.means.seconds, progress=self.means.progress, latency=latency,
        )  # fmt: skip
        found = behaviour(task)
        proved = on_both(self.matching, self.means) if self.wanted.proofs else None
        unclean = self.unclean(machines, items, proved, latency)
        verdict, because = self.judged(machines, found, unclean, gone)
        return Compared(
            matching=self.matching,
            changes=self.changes,
            same_wiring=self.same,
            behaviour=verdict,
            because=because,
            items=items,
            answered=found.answered,
            parting=found.parting,
            proved=proved,
            verdict=_verdict(verdict, proved),
            seconds=0.0,
            wanted=self.wanted,
            unclean=unclean,
            gone=gone,
            alone=links.alone,
            aside=aside,
            runs=found.runs,
            latency=latency,
            shown=found.shown,
            begins=reset_words(machines[0]) if self.wanted.start == "reset" else "",
        )

    def unchanged(self) -> Compared:
        """The wiring is the same: so is what the board does, and only formulas may be new."""
        gone = ("formula gone", "cover gone")
        told = [c for c in self.changes if c.group == "said" and c.kind not in gone]
        proved = on_both(self.matching, self.means) if told and self.wanted.proofs else None
        return Compared(
            matching=self.matching,
            changes=self.changes,
            same_wiring=True,
            behaviour="same",
            because="",
            items=(),
            answered=None,
            parting=None,
            proved=proved,
            verdict=_verdict("same", proved),
            seconds=0.0,
            wanted=self.wanted,
        )

    def wiring_alone(self) -> Compared:
        """No more than what changed on the board."""
        return Compared(
            matching=self.matching,
            changes=self.changes,
            same_wiring=self.same,
            behaviour="same" if self.same else "undecided",
            because="" if self.same else "only the wiring was compared",
            items=(),
            answered=None,
            parting=None,
            proved=None,
            verdict="pass" if self.same else "fail",
            seconds=0.0,
            wanted=self.wanted,
        )

    # the two machines -------------------------------------------------------------------------

    def machines(self) -> tuple[tuple[Machine, Machine], tuple[str, ...]]:
        """Both machines with the assumptions that both make, and the names of the others.

        What the world moves are the contacts, bouncing or not: what is the same however they move,
        is the same however they bounce. Assumptions about fingers would be about contacts here, and
        are left aside.
        """
        renaming = Renaming(self.matching)
        old, new = self.matching.old, self.matching.new
        one = {f.name: f for f in old.formulas if f.kind == "assume"}
        two = {f.name: f for f in new.formulas if f.kind == "assume"}
        both = [
            n
            for n, f in one.items()
            if n in two and same_formula(f, two[n], renaming) and not names_bouncing(f, old, new)
        ]
        aside = [name for name in {**one, **two} if name not in both]
        problems = Problems()
        found: list[Machine] = []
        for netlist, own in ((old, one), (new, two)):
            formulas = [own[name] for name in both]
            if self.wanted.when:
                formulas.append(while_formula(self.wanted.when))
            plain = replace(netlist, formulas=tuple(formulas), bounces=())
            machine = build_machine(plain, problems)
            found.append(machine)
        problems.stop_if_any()
        return (found[0], found[1]), tuple(aside)

    def need_reset(self, machines: tuple[Machine, Machine], links: Links) -> None:
        """Both boards must declare the same reset, with a control that both have."""
        for which, machine in zip(("old", "new"), machines, strict=True):
            if not held(machine):
                raise Unknown(
                    "--after",
                    f"the {which} board declares no reset that is pressed or pulled. Write "
                    "'reset: {press: CLEAR}' in its file.",
                )
        (one, beats), two = (declared(machine) for machine in machines)
        called = {name: links.controls.get(name, "") for name in (*dict(one), *beats)}
        again = tuple((called[name], level) for name, level in one)
        if (again, {called[name]: times for name, times in beats.items()}) != two:
            raise Unknown("--after", "the two boards declare different resets.")

    def when(self, machines: tuple[Machine, Machine]) -> tuple[int, int] | None:
        """The nodes of the formula while which alone is compared."""
        if not self.wanted.when:
            return None
        one, two = map(while_node, machines)
        return one, two

    def latency(self) -> Latency | None:
        """How much later the new board is to be; its clock is one that chips of the old board are
        clocked from."""
        if not self.wanted.periods:
            return None
        old = self.matching.old
        clocks = clocks_of(old)
        name = self.wanted.clock or (clocks[0] if len(clocks) == 1 else "")
        if not name:
            told = f"several: {listed(clocks)}" if clocks else "none"
            raise Unknown("--clock", f"of clocks the old board has {told}. Name one.")
        names = NetlistNames(old)
        net = names.singles.get(names.called(name), -1)
        if net < 0 or old.nets[net].name not in clocks:
            hint = f"Chips are clocked from {listed(clocks)}." if clocks else "No chip has a clock."
            raise Unknown("--clock", f"'{name}' clocks no chip of the old board. {hint}")
        return Latency(periods=self.wanted.periods, clock=old.nets[net].name)

    # what is compared -------------------------------------------------------------------------

    def items(
        self, machines: tuple[Machine, Machine], links: Links, latency: Latency | None
    ) -> tuple[Item, ...]:
        items = items_of(*machines, self.matching, links)
        if latency is not None:
            items = tuple(item for item in items if item.kind in ("lamp", "port"))
        if self.wanted.outside:
            items = tuple(item for item in items if item.outside)
        if not self.wanted.only:
            return items
        known = {item.name: item for item in items}
        names = NetlistNames(self.matching.old)
        only = [(name, names.called(name)) for name in self.wanted.only]
        return tuple(known.get(one) or self.net_item(name, one, known) for name, one in only)

    def net_item(self, name: str, called: str, known: dict[str, Item]) -> Item:
        """A net of the old board that both have, by its pins."""
        old = {net.name: net for net in self.matching.old.nets}
        net = old.get(called)
        other = None if net is None else self.matching.nets.get(net.index)
        if net is not None and other is not None:
            return Item(name=called, kind="net", old=(net.index,), new=(other,))
        hint = near(called, [*known, *old]) or "Name lamps, ports, nets, or memories such as U7.M."
        what = "is no net or output of the old board" if net is None else "is on the old board only"
        raise Unknown("--only", f"'{name}' {what}. {hint}")

    def gone(self, machines: tuple[Machine, Machine]) -> tuple[str, ...]:
        """Lamps and ports that only the old board has."""
        old, new = self.matching.old, self.matching.new
        names = self.matching.parts
        lamps = [n for n in machines[0].lamps if n not in machines[1].lamps]
        lamps = [n for n in lamps if names.get(n.partition("[")[0]) is None]
        ports = {port.name for port in new.ports if port.direction != "in"}
        gone = [p.name for p in old.ports if p.direction != "in" and not p.moment]
        found = [*lamps, *(name for name in gone if name not in ports)]
        return tuple(n for n in found if not self.wanted.only or n in self.wanted.only)

    # verdicts ---------------------------------------------------------------------------------

    def unclean(
        self,
        machines: tuple[Machine, Machine],
        items: tuple[Item, ...],
        proved: Proved | None,
        latency: Latency | None,
    ) -> tuple[str, ...]:
        """Checks of the pins in the cone of what is compared that do not hold, or were not made."""
        found: list[str] = []
        for side, machine in enumerate(machines):
            results = proved.results[side] if proved is not None else ()
            verdicts = {result.name: result.verdict for result in results}
            which = ("old", "new")[side]
            clock = latency.clock if latency is not None and not side else ""
            when = while_node(machine) if self.wanted.when else None
            for name in rests_on(machine, items, side, clock, when):
                if verdicts.get(name) != "holds":
                    found.append(f"{name} ({which} board)")
        return tuple(found)

    def judged(
        self,
        machines: tuple[Machine, Machine],
        found: Found,
        unclean: tuple[str, ...],
        gone: tuple[str, ...],
    ) -> tuple[Behaviour, str]:
        answered = found.answered
        if gone:
            return "differs", ""
        if answered is None:
            return "undecided", found.because
        assumptions = check_assumptions(machines[0], Deadline(self.means.seconds))
        if "differs" in answered.fates.values():
            return ("differs", "") if assumptions.lasting else ("undecided", assumptions.because)
        if "undecided" in answered.fates.values():
            return "undecided", answered.because
        if assumptions.verdict != "holds":
            return "undecided", assumptions.because
        why = not_clean(unclean, looked=self.wanted.proofs)
        if why:
            return "undecided", why
        return "same", ""


def while_formula(text: str) -> BoardFormula:
    """The formula of ``--when`` as one of a board's."""
    source: Text = plain(text, "--when")
    return BoardFormula(
        name=WHEN, kind="cover", says="", expr=parse(source), text=source, span=source.span
    )


def while_node(machine: Machine) -> int:
    """Its node in a machine of a board that has it."""
    return next(f.bad for f in machine.logic.formulas if f.formula.name == WHEN)


def _verdict(behaviour: Behaviour, proved: Proved | None) -> Outcome:
    effects = {row.effect for row in proved.rows} if proved is not None else set()
    if behaviour == "differs" or "worse" in effects:
        return "fail"
    if behaviour == "undecided" or "open" in effects or (proved and proved.interrupted):
        return "undecided"
    return "pass"


def not_clean(unclean: Sequence[str], *, looked: bool) -> str:
    """Why boards of the same levels need not behave alike, in words: checks that do not hold, or
    were not ``looked`` at; empty where there are none."""
    if not unclean:
        return ""
    if not looked:
        return "the levels are the same; glitches and races were not looked for"
    more = f" and {len(unclean) - 3} more" if len(unclean) > 3 else ""
    return f"the levels are the same, but pins are not clean: {', '.join(unclean[:3])}{more}"
