"""A board beside a Verilog module: the same, proved, or the shortest run that tells them apart.

What is claimed. The module's inputs, its clock among them, have at each quiet moment of the board
the levels of the nets that the ports file names, which switches, buttons, oscillators and input
ports alone decide. Its flip-flops take in, in a step in which that clock rises (or falls, where
they are drawn so), what their data was before. Then each output that the ports file names has, at
every quiet moment, the level of its net or lamp: the net has a level of its own, and it is that.
That may be asked of those quiet moments alone at which a formula about the board holds.

A run begins after the board's declared reset, whatever flip-flops of either held before: its
controls are pressed, the clock changes as often as the board file says, or else several times,
then they are released. Or it begins when
power comes on, if the module has no flip-flops, or if the ports file says for all of them which
storage of the board they begin with.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from breadproof.specs.load import load_netlist
from breadproof.specs.machine.build import build_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import Netlist, NetlistNames
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.portmap import PortMap, read_portmap
from breadproof.verify.equal.readback import Unreadable
from breadproof.verify.equal.yosys import NoReader, ReadingFailed
from breadproof.verify.prove.assumptions import check_assumptions
from breadproof.verify.prove.properties import result_names
from breadproof.verify.prove.prover import Prover
from breadproof.verify.prove.quiet import find_rounds
from breadproof.verify.prove.solver import Deadline
from breadproof.verify.revisions.alike import Answered, Comparison
from breadproof.verify.revisions.behaviour import replayed, rests_on
from breadproof.verify.revisions.compare import (
    Behaviour,
    Outcome,
    Unknown,
    not_clean,
    while_formula,
    while_node,
)
from breadproof.verify.revisions.flops import read_module
from breadproof.verify.revisions.hardware import Hardware, hardware
from breadproof.verify.revisions.ports import Mapped, mapped
from breadproof.verify.revisions.said import names_bouncing
from breadproof.verify.revisions.start import Rounds, Start, held, moves
from breadproof.verify.revisions.twin import power_up_rounds
from breadproof.verify.revisions.verdicts import Means
from breadproof.verify.revisions.walked import Walked, confirm

READING = 60.0
"""Seconds for yosys to read Verilog in, however little time there is for proofs."""
BEATS = 4
"""So often the clock changes while the reset is held, for what is cleared at its edge, if the board
file does not say itself how often clocks do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """``board`` is the machine that runs are of.

    ``unclean`` are checks of the board that do not hold, or were not made, and on which equal
    behaviour rests. ``left`` are outputs of the module that the ports file does not name, ``aside``
    assumptions about fingers on contacts that bounce. Only while the formula ``when`` holds is
    anything compared, if there is one. ``beats`` changed while the reset was held.
    """

    netlist: Netlist
    board: Machine
    hardware: Hardware
    mapped: Mapped
    start: Start
    when: str
    behaviour: Behaviour
    because: str
    answered: Answered | None
    runs: tuple[Walked, Walked] | None
    unclean: tuple[str, ...]
    left: tuple[str, ...]
    aside: tuple[str, ...]
    assumed: tuple[str, ...]
    beats: tuple[str, ...]
    verdict: Outcome
    seconds: float
    interrupted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """``only`` these outputs, ``when`` this formula about the board holds; ``proofs``: the checks
    of the board's pins, too."""

    only: tuple[str, ...] = ()
    when: str = ""
    start: Start = "power-up"
    proofs: bool = True


def beside(
    board: Path,
    verilog: Path,
    ports: Path,
    asked: Asked,
    means: Means,
    folders: Sequence[Path] = (),
) -> Beside:
    """Compare a board file with a Verilog file, ``ports`` being read as a ports file.

    Raises:
        BadInput: a file cannot be understood.
        Unknown: an option names what is not there, or the Verilog is nothing that can be compared.
        TraceMismatch: a difference that was found does not show (our error).
    """
    begun = time.monotonic()
    means.progress("reading")
    netlist = load_netlist(board, folders)
    portmap = read_portmap(ports)
    rams = tuple(memories_named(netlist, portmap))
    found = module_of(verilog, portmap, max(means.seconds, READING), rams)
    work = _Work(netlist, found, portmap, asked, means)
    return replace(work.done(), seconds=time.monotonic() - begun)


def memories_named(netlist: Netlist, portmap: PortMap) -> Iterator[str]:
    """What in the module is said to be a memory of the board."""
    names = NetlistNames(netlist)
    for port in portmap.storage:
        if len(port.places) == 1:
            owner, _, name = names.called(port.places[0].value).rpartition(".")
            part = names.parts.get(owner)
            if part is not None and name in [memory.name for memory in part.type.memories]:
                yield port.name.value


def module_of(
    verilog: Path, portmap: PortMap, seconds: float, rams: Sequence[str] = ()
) -> Hardware:
    """The module of a Verilog file as a machine; ``rams`` in it are memories of the board.

    Raises:
        Unknown: it is nothing that can be compared with a board.
    """
    try:
        text = verilog.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise Unknown("NEW", f"{verilog} cannot be read: {error}") from error
    name = "" if portmap.module is None else portmap.module.value
    clock = "" if portmap.clock is None else portmap.clock.name.value
    try:
        system = verilog.suffix == ".sv"
        return hardware(
            read_module(text, name, clock, seconds, system=system, rams=rams), str(verilog)
        )
    except ReadingFailed as error:
        told = str(error).replace("board:", f"{verilog}:")
        raise Unknown("NEW", f"{verilog}: {told}") from error
    except (Unreadable, NoReader) as error:
        told = str(error)
        place = told.startswith("board:")
        told = told.replace("board:", f"{verilog}:", 1) if place else f"{verilog}: {told}"
        raise Unknown("NEW", told) from error


@dataclass(slots=True)
class _Work:
    netlist: Netlist
    hardware: Hardware
    portmap: PortMap
    asked: Asked
    means: Means
    aside: tuple[str, ...] = ()
    interrupted: bool = False
    machine: Machine = field(init=False)
    mapped: Mapped = field(init=False)

    def done(self) -> Beside:
        self.machine = self.as_it_moves()
        problems = Problems()
        self.mapped = mapped(self.portmap, self.machine, self.hardware, problems)
        problems.stop_if_any()
        self.hardware = replace(self.hardware, machine=self.mapped.module)
        self.narrow()
        beats = self.begins()
        answered, because, runs = self.answer(beats)
        unclean = self.unclean()
        behaviour, because = self.judged(answered, because, unclean)
        verdicts: dict[Behaviour, Outcome] = {"same": "pass", "differs": "fail"}
        return Beside(
            netlist=self.netlist,
            board=self.machine,
            hardware=self.hardware,
            mapped=self.mapped,
            start=self.asked.start,
            when=self.asked.when,
            behaviour=behaviour,
            because=because,
            answered=answered,
            runs=runs,
            unclean=unclean,
            left=tuple(
                name
                for name in self.hardware.ports
                if name not in {port.name.value for port in self.portmap.outputs}
            ),
            aside=self.aside,
            assumed=tuple(f.name for f in self.machine.netlist.formulas if f.kind == "assume"),
            beats=beats,
            verdict=verdicts.get(behaviour, "undecided"),
            seconds=0.0,
            interrupted=self.interrupted,
        )

    def as_it_moves(self) -> Machine:
        """The board with its assumptions and no other formulas, contacts moving as they like."""
        problems = Problems()
        own = [f for f in self.netlist.formulas if f.kind == "assume"]
        kept = [f for f in own if not names_bouncing(f, self.netlist)]
        self.aside = tuple(f.name for f in own if f not in kept)
        if self.asked.when:
            kept.append(while_formula(self.asked.when))
        machine = build_machine(replace(self.netlist, formulas=tuple(kept), bounces=()), problems)
        problems.stop_if_any()
        return machine

    def narrow(self) -> None:
        """Only those outputs that are asked for."""
        wanted = self.asked.only
        if not wanted:
            return
        items = {item.name: item for item in self.mapped.items}
        for name in wanted:
            if name not in items:
                raise Unknown(
                    "--only", f"'{name}' is no output in the ports file. It has {', '.join(items)}."
                )
        self.mapped = replace(self.mapped, items=tuple(items[name] for name in wanted))

    def while_node(self) -> int | None:
        """The node of the formula while which alone is compared."""
        return while_node(self.machine) if self.asked.when else None

    def begins(self) -> tuple[str, ...]:
        """What moves while the reset is held; see that it is known how a run begins."""
        if self.asked.start == "reset":
            if not held(self.machine):
                raise Unknown(
                    "--after",
                    "the board declares no reset that is pressed or pulled. Write "
                    "'reset: {press: CLEAR}' in its file.",
                )
            clock = self.mapped.clock
            moved = {name for name, _ in moves(self.machine)}
            return (clock,) * BEATS if clock and clock not in moved else ()
        known = self.mapped.links.of("store")
        open_ = [s.label for s in self.hardware.machine.stores if s.leaf not in known]
        if open_:
            names = list(dict.fromkeys(label.split(".", 1)[1].split("[")[0] for label in open_))
            raise Unknown(
                "--after",
                f"nobody says what {', '.join(names[:4])} of the module begins with. Give "
                "'--after reset', or name the storage of the board that it begins with under "
                "'storage:' in the ports file. Initial values in the Verilog are left aside.",
            )
        return ()

    def answer(
        self, beats: tuple[str, ...]
    ) -> tuple[Answered | None, str, tuple[Walked, Walked] | None]:
        machines = (self.machine, self.hardware.machine)
        self.means.progress("does the board get quiet?")
        rounds = Rounds(0, 0)
        for which, machine in zip(("board", "module"), machines, strict=True):
            quiet = find_rounds(machine, Deadline(self.means.seconds))
            if quiet.verdict != "holds":
                return None, f"the {which} is not proved to get quiet: {quiet.because}", None
            rounds = Rounds(max(rounds.step, quiet.rounds), 0)
        if self.asked.start == "power-up":
            first = [power_up_rounds(m, Deadline(self.means.seconds)) for m in machines]
            if not all(first):
                return None, "the board is not proved to get quiet when power comes on", None
            rounds = Rounds(rounds.step, max(first))
        mapped, when = self.mapped, self.while_node()
        answered = Comparison(
            *machines, mapped.links, rounds, mapped.items, (), self.asked.start,
            self.means.seconds, self.means.progress, often=(mapped.clock,) if mapped.clock else (),
            beats=beats, when=None if when is None else (when, None),
        ).answer()  # fmt: skip
        if answered.difference is None:
            return answered, "", None
        runs = confirm(answered.difference, *machines, mapped.links, mapped.items, self.asked.start)
        self.means.progress("replaying the run on the board")
        replayed(self.machine, answered.difference.old, "the board")
        return answered, "", runs

    def unclean(self) -> tuple[str, ...]:
        """Checks of the pins in the cone of what is compared that do not hold, or were not made."""
        names = rests_on(
            self.machine, self.mapped.items, 0, self.mapped.clock_net, self.while_node()
        )
        if not names:
            return ()
        verdicts: dict[str, str] = {}
        if self.asked.proofs:
            problems = Problems()
            machine = build_machine(self.netlist, problems)
            problems.stop_if_any()
            prover = Prover(
                machine, seconds=self.means.seconds, progress=self.means.progress,
                crew=self.means.crew, store=self.means.store,
            )  # fmt: skip
            known = set(result_names(machine))
            wanted = tuple(name for name in names if name in known)
            results = prover.run(wanted) if wanted else ()
            self.interrupted = prover.interrupted
            verdicts = {result.name: result.verdict for result in results}
        return tuple(name for name in names if verdicts.get(name) != "holds")

    def judged(
        self, answered: Answered | None, because: str, unclean: tuple[str, ...]
    ) -> tuple[Behaviour, str]:
        if answered is None:
            return "undecided", because
        assumptions = check_assumptions(self.machine, Deadline(self.means.seconds))
        fates = answered.fates.values()
        if "differs" in fates:
            return ("differs", "") if assumptions.lasting else ("undecided", assumptions.because)
        if "undecided" in fates or not fates:
            return "undecided", answered.because or "there is nothing to compare"
        if assumptions.verdict != "holds":
            return "undecided", assumptions.because
        why = not_clean(unclean, looked=self.asked.proofs)
        if why:
            return "undecided", why
        return "same", ""
