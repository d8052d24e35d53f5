"""The command `breadproof simulate`: a script of things to do at a board, played."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.output_file import check_target, write, writing
from breadproof.own_parts import own_parts
from breadproof.progress import Progress

if TYPE_CHECKING:
    from breadproof.export.stimulus.player import Player, Record
    from breadproof.export.stimulus.setting import Setting
    from breadproof.verify.report.played import Film
    from breadproof.verify.report.simulated import Told

ROWS = 40
PAGE_ROWS = 400
"""At most so many rows are in the table of a page, the first and the last."""
EPILOG = """\b
A script is a YAML file with one key, 'stimulus', and a list under it:
  stimulus:
    - drive: {MODE: SHOW, PATTERN: 8'hA5}   # ports, switches, buttons held down
    - press: STORE                          # pressed and let go; [A, B] one after the other
    - clock: {clk: 12}                      # 12 whole periods
    - clock: {name: clk, until: "done", most: 500}
    - check: {bus: 8'hA5, L1: 1}            # levels, or any formula about this moment:
    - check: {says: The lamps are dark, formula: "lamp == 0 && prev(lamp) != 0"}
    - repeat: {times: 3, stimulus: [{press: STORE}, {clock: {clk: 4}}]}

\b
One thing changes at a time, and the board settles in between: a 'drive' of several
controls takes a step for each, unless the board file's 'together' lets them change at
once. A change-over switch passes between its positions. Power comes on with buttons let
go, switches open or in their first position, and ports at 0.

\b
Examples:
  breadproof simulate light-store.yaml --script store.yaml --watch addr,bus,lamp
  breadproof simulate light-store.yaml --script store.yaml --vcd store.vcd --seed 7
  breadproof simulate fade-engine.yaml --script fade.yaml --fast --dump U27=levels.hex
  breadproof simulate light-store.yaml --script store.yaml --until "writes(U1)"
  breadproof simulate light-store.yaml --script store.yaml --report store.html
  breadproof simulate light-store.yaml --script store.yaml --bench store_bench.v
      nothing is simulated; the script is written as a test bench for the exported Verilog

\b
Exit status: 0 the script came to its end or a breakpoint, 1 a check fails, 2 wrong input
or call, 4 our own error, 130 interrupted.
"""


class _Interrupted(Exception):
    """Ctrl-C was pressed, and all that is to be told is known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a call asks for beside the script."""

    rows: int | None
    seed: int | None
    fast: bool
    wave: Path | None
    film: Film | None = None


@click.command("simulate", epilog=EPILOG)
@click.argument("board", type=click.Path(path_type=Path), metavar="BOARD")
@click.option(
    "--script", type=click.Path(path_type=Path), required=True, metavar="FILE",
    help="What is done at the board, and what is to be seen.",
)  # fmt: skip
@click.option(
    "--watch", multiple=True, metavar="NAMES",
    help="What the table shows: nets, vectors, lamps, storage, switches, with commas between; "
    "may be given several times. Without it, what the board shows: outgoing ports, displays and "
    "which lamps are lit.",
)  # fmt: skip
@click.option("--every-step", is_flag=True, help="A row for each step, not for each entry.")
@click.option(
    "--rows", type=click.IntRange(min=0), metavar="N",
    help=f"At most so many rows, the first and the last; 0 for all. {ROWS} if left out, all in "
    "--json.",
)  # fmt: skip
@click.option(
    "--until", multiple=True, metavar="FORMULA",
    help="Stop at the first quiet moment at which this holds; with ever(...) also if it held in "
    "passing, and the round is told. May be given several times.",
)  # fmt: skip
@click.option(
    "--seed", type=click.IntRange(0, 2**63 - 1), metavar="N",
    help="What registers, latches and memories hold at power-on, and what is read where nothing "
    "drives, by chance: the same seed gives the same run. Without it all that is 0, but for "
    "contents that the board file gives.",
)  # fmt: skip
@click.option(
    "--vcd", "wave", type=click.Path(path_type=Path), metavar="FILE",
    help="Write all rounds as a value change dump (IEEE 1364).",
)  # fmt: skip
@click.option(
    "--dump", multiple=True, metavar="PART=FILE",
    help="Write what a memory holds at the end: U7=pattern.hex as Intel HEX, any other ending as "
    "raw bytes. U7.M names one of several.",
)  # fmt: skip
@click.option(
    "--fast", is_flag=True,
    help="Compile the board first, for long runs: through yosys to C++ (cxxrtl), by the C++ "
    "compiler that is installed. The result is the same.",
)  # fmt: skip
@click.option(
    "--bench", type=click.Path(path_type=Path), metavar="FILE",
    help="Write the script as a test bench instead: FILE.v for what '--to verilog' exports, "
    "FILE.py for what '--to amaranth' exports.",
)  # fmt: skip
@click.option(
    "--report", "page_file", type=click.Path(path_type=Path), metavar="FILE",
    help="Write a page for the browser, such as out.html: one file that needs no network, with the "
    "checks, the run as waves, the steps, what memories hold at the end, and the board.",
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@own_parts
@click.option("--plain", is_flag=True, help="No colour, and no characters beyond ASCII.")
def command(
    board: Path,
    script: Path,
    watch: tuple[str, ...],
    every_step: bool,
    rows: int | None,
    until: tuple[str, ...],
    seed: int | None,
    wave: Path | None,
    dump: tuple[str, ...],
    fast: bool,
    bench: Path | None,
    page_file: Path | None,
    as_json: bool,
    folders: tuple[Path, ...],
    plain: bool,
) -> int:
    """Play the script FILE at the board BOARD, and check what it says.

    Amaranth's simulator runs the modules that 'breadproof export' writes, or with --fast the same
    modules compiled. Levels between the quiet moments are simulated too: a clock edge and all that
    it causes is one step of several rounds.
    """
    if bench is not None and (seed is not None or until):
        option = "--seed" if seed is not None else "--until"
        what = "a test bench begins as the export does, and runs to the script's end; leave it out"
        raise click.BadParameter(what, param_hint=option)
    if bench is not None and page_file is not None:
        raise click.UsageError("--bench plays nothing that --report could show; give one of them.")
    targets = [wave, bench, page_file]
    dumps = [_dump(text) for text in dump]
    for target in (*targets, *(path for _, path in dumps)):
        if target is not None:
            check_target(target, board)
    if page_file is not None:
        check_target(page_file, script)
    setting = _setting(board, script, folders, watch, until, every_step=every_step)
    if bench is not None:
        write(bench, _bench(setting, script, bench))
        return 0
    memories = [(_memory(setting, name), path) for name, path in dumps]
    shown: int | None = ROWS if rows is None and not as_json else rows or None
    film = None
    kept = shown
    if page_file is not None:
        from breadproof.verify.report.played import Film

        film = Film()
        kept = None if shown is None else max(shown, PAGE_ROWS)
    asked = Asked(rows=kept, seed=seed, fast=fast, wave=wave, film=film)
    with Progress() as progress:
        told, player = _played(setting, script, asked, progress)
    from breadproof.verify.report.simulated import json_text, listing

    printed = replace(told, result=told.result.thinned(shown))
    if as_json:
        text = json_text(printed)
    else:
        from breadproof.verify.report.page import page_of_stdout

        text = listing(printed, page_of_stdout(plain=plain))
    if not told.result.interrupted:
        _dump_all(setting, player, memories)
        if page_file is not None and film is not None:
            from breadproof.verify.pages.simulatepage import simulate_page

            write(page_file, simulate_page(told, film, player, str(board)))
    player.close()
    click.echo(text, nl=False)
    if told.result.interrupted:
        return 130
    return 0 if told.result.passed else 1


def _setting(
    board: Path,
    script: Path,
    folders: tuple[Path, ...],
    watch: tuple[str, ...],
    until: tuple[str, ...],
    *,
    every_step: bool,
) -> Setting:
    from breadproof.export.stimulus.setting import setting
    from breadproof.specs.load import load_machine
    from breadproof.specs.reading.diagnostics import Problems
    from breadproof.specs.reading.script import read_script

    machine = load_machine(board, folders, bouncing=False)
    problems = Problems()
    read = read_script(script, problems)
    names = [name.strip() for text in watch for name in _split(text) if name.strip()]
    return setting(machine, read, problems, watch=names, until=until, every_step=every_step)


def _split(text: str) -> list[str]:
    """At the commas that stand in no brackets."""
    found, depth = [""], 0
    for character in text:
        depth += (character in "([{") - (character in ")]}")
        if character == "," and not depth:
            found.append("")
        else:
            found[-1] += character
    return found


def _dump(text: str) -> tuple[str, Path]:
    name, equals, path = text.partition("=")
    if not (name and equals and path):
        raise click.BadParameter(f"'{text}' is not PART=FILE, such as U7=pattern.hex",
                                 param_hint="--dump")  # fmt: skip
    return name, Path(path)


def _memory(setting: Setting, name: str) -> int:
    """The number of the memory that is meant."""
    labels = [memory.label for memory in setting.machine.memories]
    called = setting.sights.names.called(name)
    found = [k for k, label in enumerate(labels) if called in (label, label.rpartition(".")[0])]
    if len(found) == 1:
        return found[0]
    from breadproof.specs.netlist.model import written
    from breadproof.specs.reading.yamltree import near

    labels = [written(label) for label in labels]
    has = f"It has {', '.join(labels)}." if labels else "It has none."
    what = f"the board has no memory '{name}'" if not found else f"'{name}' has several memories"
    raise click.BadParameter(f"{what}. {near(name, labels) or has}", param_hint="--dump")


def _played(
    setting: Setting, script: Path, asked: Asked, say: Callable[[str], None]
) -> tuple[Told, Player]:
    from breadproof.export.stimulus.outputs import Waves
    from breadproof.export.stimulus.run import simulate
    from breadproof.verify.report.simulated import Told

    player, engine = _player(setting, asked, say)
    with suppress(_Interrupted), ExitStack() as files:
        waves = None
        sinks: list[Callable[[Record], None]] = [] if asked.film is None else [asked.film.add]
        if asked.wave is not None:
            waves = Waves(setting.sights, files.enter_context(writing(asked.wave)))
            sinks.append(waves.add)

        def each_round(record: Record) -> None:
            for sink in sinks:
                sink(record)

        result = simulate(
            player,
            setting.program,
            setting.sights,
            rows=asked.rows,
            say=say,
            each_round=each_round if sinks else None,
        )
        if result.interrupted:
            raise _Interrupted  # so that no half dump is left
        if waves is not None:
            waves.close()
    told = Told(setting=setting, result=result, script=str(script), engine=engine, seed=asked.seed)
    return told, player


def _player(setting: Setting, asked: Asked, say: Callable[[str], None]) -> tuple[Player, str]:
    from breadproof.export.stimulus.setting import bench_player, fast_player

    every_round = asked.wave is not None or asked.film is not None
    if not asked.fast:
        say("building the board in Amaranth's simulator")
        player = bench_player(setting, asked.seed, every_round=every_round)
        return player, "Amaranth's simulator"
    from breadproof.verify.prove.store import users_folder

    player, tool = fast_player(setting, asked.seed, users_folder(), say, every_round=every_round)
    return player, f"compiled (cxxrtl of yosys, {tool})"


def _dump_all(setting: Setting, player: Player, memories: list[tuple[int, Path]]) -> None:
    from breadproof.export.stimulus.outputs import memory_bytes

    for number, path in memories:
        write(path, memory_bytes(player, setting.sights, number, path))


def _bench(setting: Setting, script: Path, target: Path) -> str:
    """The script as a test bench, by the ending of the file's name."""
    if target.suffix == ".v":
        from breadproof.export.stimulus.verilog_bench import verilog_bench

        return verilog_bench(setting, script.name)
    if target.suffix == ".py":
        from breadproof.export.stimulus.amaranth_bench import amaranth_bench

        return amaranth_bench(setting, script.name)
    raise click.BadParameter(
        f"'{target}' ends in neither .v (Verilog) nor .py (Amaranth)", param_hint="--bench"
    )
