"""A board and a script made ready to be played, in either engine."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from breadproof.export.amaranth_file import Generated, generate
from breadproof.export.stimulus.player import Player
from breadproof.export.stimulus.program import Condition, Program, program_of
from breadproof.export.stimulus.sights import Sights, Watched, row_of
from breadproof.export.stimulus.start import Start, start_of
from breadproof.specs.formula.parse import parse, plain
from breadproof.specs.formula.syntax import Name, Stretch
from breadproof.specs.machine.graph import Kind
from breadproof.specs.machine.machine import Machine
from breadproof.specs.reading.diagnostics import BadInput, Problems
from breadproof.specs.reading.script import Formula, Script


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """``breaks`` are the places of breakpoints in the program's conditions."""

    machine: Machine
    generated: Generated
    sights: Sights
    program: Program
    breaks: tuple[int, ...]
    watched: tuple[Watched, ...]

    def start(self, seed: int | None) -> Start:
        """What the board holds at power-on."""
        lowered = self.generated.lowered
        return start_of(self.machine, self.sights.row.stores, len(lowered.held), seed)


def setting(
    machine: Machine,
    script: Script,
    problems: Problems,
    *,
    watch: Sequence[str] = (),
    until: Sequence[str] = (),
    every_step: bool = False,
) -> Setting:
    """Look up all that the script, the breakpoints and the list of what is shown name.

    Raises:
        BadInput: with all that is wrong in them, and in what was noted before.
    """
    generated = generate(machine.netlist)
    lowered = generated.lowered
    stores = [
        f"{label}[{bit}]" for label, (_, width) in lowered.storage.items() for bit in range(width)
    ]
    sights = Sights(machine, row_of(machine, stores, lowered.writes))
    program = program_of(script, sights, problems, every_step=every_step)
    conditions = list(program.conditions)
    for text in until:
        formula = _formula(text, problems)
        if formula is not None:
            node = sights.condition(formula, problems)
            named = sights.named(formula, problems)
            conditions.append(Condition(node=node, text=text, named=named))
    asked = [_shown(sights, _formula(text, problems), problems) for text in watch]
    shown = asked or usual(sights, problems)
    problems.stop_if_any()
    breaks = tuple(range(len(program.conditions), len(conditions)))
    return Setting(
        machine=machine,
        generated=generated,
        sights=sights,
        program=Program(
            code=program.code,
            entries=program.entries,
            conditions=tuple(conditions),
            checks=program.checks,
        ),
        breaks=breaks,
        watched=tuple(one for one in shown if one is not None),
    )


def _formula(text: str, problems: Problems) -> Formula | None:
    try:
        return Formula(text=plain(text), expr=parse(text))
    except BadInput as bad:
        problems.take(bad)
        return None


def _named(name: str) -> Formula:
    """The formula that is one name, whatever is in it: that of a board has a slash."""
    return Formula(text=plain(name), expr=Name(path=name, stretch=Stretch(start=0, end=len(name))))


def _shown(sights: Sights, formula: Formula | None, problems: Problems) -> Watched | None:
    if formula is None:
        return None
    found = sights.watched(formula, problems)
    for node in sights.graph.cone(list(found.nodes)) if found else ():
        leaf = sights.graph.kinds[node] is Kind.LEAF and node not in sights.places
        if leaf or sights.graph.kinds[node] is Kind.READ:
            problems.error(
                "watch-level",
                f"'{formula.text.value}' is no level at the moment that a row shows",
                formula.text.span,
                hint="A check can ask for it; --dump writes what a memory holds.",
            )
            return None
    return found


def usual(sights: Sights, problems: Problems) -> list[Watched | None]:
    """What is shown if nobody says: which lamps are lit, displays, ports that go out; on a board
    that shows nothing, its nets."""
    netlist = sights.machine.netlist
    displays = [part.name for part in netlist.parts if part.device == "display"]
    lamps = [lamp.name for lamp in netlist.lamps if lamp.part not in displays]
    names = [port.name for port in netlist.ports if port.direction != "in"] + displays
    if not names and not lamps:
        grouped = {net for vector in netlist.vectors for net in vector.nets}
        names = [vector.name for vector in netlist.vectors]
        names += [
            net.name for net in netlist.nets if not (net.index in grouped or net.rail is not None)
        ]
    shown = [_shown(sights, _named(name), problems) for name in names]
    if lamps:
        nodes = tuple(sights.scope.machine.lamps[name] for name in lamps)
        shown.append(Watched(name="lit", nodes=nodes, words=tuple(lamps), none="-"))
    return shown


def bench_player(one: Setting, seed: int | None, *, every_round: bool) -> Player:
    """The script in Amaranth's simulator."""
    from breadproof.export.simulate import Bench
    from breadproof.export.stimulus.bench_player import BenchPlayer

    bench = Bench(one.machine.netlist, one.generated)
    start = one.start(seed)
    return BenchPlayer(one.sights, bench, one.program, start, one.breaks, every_round=every_round)


def fast_player(
    one: Setting,
    seed: int | None,
    cache: Path,
    say: Callable[[str], None],
    *,
    every_round: bool,
) -> tuple[Player, str]:
    """The script in the compiled board, and by what it was compiled.

    Raises:
        BadInput: there is no C++ compiler.
    """
    from breadproof.export.stimulus.compiled import compiled
    from breadproof.export.stimulus.fast_player import FastPlayer

    made = compiled(one.generated, one.sights.row, cache, say)
    start = one.start(seed)
    player = FastPlayer(
        made.library, one.sights, one.program, start, one.breaks, every_round=every_round
    )
    return player, made.compiler
