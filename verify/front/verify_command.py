"""The command `breadproof verify`: wiring, standing checks and formulas of a board."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.completing import formula_names
from breadproof.limits import crew_of, crew_options, time_limit
from breadproof.outputs import Outputs, output_files
from breadproof.own_parts import own_parts, own_parts_again
from breadproof.progress import Progress

if TYPE_CHECKING:
    from breadproof.verify.board import BoardReport
    from breadproof.verify.prove.crew import Crew

EPILOG = """\b
Example:
  breadproof verify light-store.yaml
      everything about the board; under the listing each run that goes wrong
  breadproof verify light-store.yaml --only one-press --trace-dir runs
      one formula alone, and its run as runs/one-press.vcd
  breadproof verify light-store.yaml --report light-store.html
      the same as a page for the browser, with waves and a picture of the board
  breadproof verify light-store.yaml --evidence proofs
      proofs/README.md tells how anyone can check them with another solver
  breadproof verify light-store.yaml --jobs 4 --time-limit 600
      four processes at a time; Ctrl-C ends the wait and keeps every finished verdict

Exit status: 0 pass, 1 fail, 2 wrong input or call, 3 undecided, 4 our own error,
130 interrupted.
"""


@click.command("verify", epilog=EPILOG)
@click.argument("board", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.option(
    "--only",
    multiple=True,
    shell_complete=formula_names,
    metavar="NAME",
    help="Only this formula or check, such as glitch:U7.21; may be given several times. Shows the "
    "run of a cover, too.",
)
@click.option(
    "--trace-dir",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Write each run as a value change dump (IEEE 1364), DIR/NAME.vcd, and as a drawing of its "
    "waves, DIR/NAME.svg.",
)
@output_files
@click.option(
    "--evidence",
    "evidence_dir",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Write what anyone can check with a solver of their own: for each proof its closing "
    "questions in SMT-LIB 2, for each run a value change dump, and a README.md that says how. DIR "
    "must be new or empty; all is proved anew.",
)
@click.option(
    "--rests-on",
    "grounds",
    is_flag=True,
    help="Say of each proof which chips, tied pins, contents and assumptions suffice for it; of "
    "each formula that fails, which pin, tied to the other supply or taken off its net, or which "
    "assumption would make it hold.",
)
@time_limit("Time for one property; what takes longer is undecided. 60 if left out.")
@crew_options
@click.option(
    "--fresh",
    is_flag=True,
    help="Prove all anew. Otherwise what an earlier run found out is taken for what is still the "
    "same; it is kept in breadproof under XDG_CACHE_HOME, or under ~/.cache.",
)
@own_parts
@click.option("--plain", is_flag=True, help="No colour, and no characters beyond ASCII.")
def command(
    board: Path,
    as_json: bool,
    only: tuple[str, ...],
    trace_dir: Path | None,
    evidence_dir: Path | None,
    grounds: bool,
    seconds: float,
    jobs: int | None,
    megabytes: int | None,
    cluster: str | None,
    fresh: bool,
    folders: tuple[Path, ...],
    plain: bool,
    outputs: Outputs,
) -> int:
    """Check the wiring of the board file BOARD and prove its formulas.

    What holds is proved for every content of the chips at power-up and every order in which the
    controls may be moved. What fails comes with the shortest run that shows it: what to press, a
    timing diagram, the pins to probe, and the chain of chips from the control to the culprit.
    """
    # Here and not above: `breadproof verify --help` must not wait for the solver.
    from breadproof.verify.prove.verdict import EXIT_STATUS, INTERRUPTED
    from breadproof.verify.report.files import check_folder, check_new_folder

    if trace_dir is not None:
        check_folder(trace_dir)
    if evidence_dir is not None:
        check_new_folder(evidence_dir)
    outputs.check(board)
    with Progress() as progress:
        with crew_of(jobs, megabytes, cluster) as crew:
            anew = fresh or evidence_dir is not None
            report = _verified(board, folders, only, seconds, progress, crew, anew, grounds)
        if evidence_dir is not None:
            report = _write_evidence(report, evidence_dir, seconds, progress)
        progress("writing")
        text = _text(report, board, folders, only, as_json, plain)
        outputs.write(report, str(board), only, own_parts_again(folders))
        if trace_dir is not None:
            _write_traces(report, trace_dir)
    click.echo(text, nl=False)
    if evidence_dir is not None:
        how = evidence_dir / "README.md"
        click.echo(f"evidence is in {evidence_dir}; {how} tells how to check it", err=True)
    if report.interrupted:
        click.echo(_interrupted(report), err=True)
        return INTERRUPTED
    return EXIT_STATUS[report.verdict]


def _verified(
    board: Path,
    folders: tuple[Path, ...],
    only: tuple[str, ...],
    seconds: float,
    progress: Progress,
    crew: Crew | None,
    fresh: bool,
    grounds: bool,
) -> BoardReport:
    from breadproof.verify.prove.store import Store, users_folder
    from breadproof.verify.verify_board import verify_board

    store = Store(users_folder(), fresh=fresh)
    try:
        return verify_board(
            board,
            folders=folders,
            only=only,
            seconds=seconds,
            progress=progress,
            crew=crew,
            store=store,
            grounds=grounds,
        )
    except KeyError as unknown:
        if not unknown.args or unknown.args[0] not in only:
            raise
        raise _no_such(unknown.args[0], board, folders) from None


def _interrupted(report: BoardReport) -> str:
    done = sum(result.verdict != "undecided" for result in report.results)
    return (
        f"interrupted: {done} of {len(report.results)} results were finished and stand above; "
        "the others are undecided"
    )


def _no_such(name: str, board: Path, folders: tuple[Path, ...]) -> click.BadParameter:
    from breadproof.specs.load import load_machine
    from breadproof.specs.reading.yamltree import near
    from breadproof.verify.prove.prover import result_names

    machine = load_machine(board, folders)
    names = result_names(machine)
    assumed = [formula.name for formula in machine.netlist.formulas if formula.kind == "assume"]
    hint = near(name, names) or "'breadproof verify' without --only lists them all."
    if name in assumed:
        hint = "It is an assumption; every formula rests on it."
    return click.BadParameter(
        f"the board has no formula or check '{name}'. {hint}", param_hint="--only"
    )


def _text(
    report: BoardReport,
    board: Path,
    folders: tuple[Path, ...],
    only: tuple[str, ...],
    as_json: bool,
    plain: bool,
) -> str:
    from breadproof.verify.report.jsonout import json_text
    from breadproof.verify.report.listing import listing
    from breadproof.verify.report.page import page_of_stdout

    if as_json:
        return json_text(report)
    options = own_parts_again(folders)
    page = page_of_stdout(plain=plain)
    return listing(report, page, path=str(board), only=only, options=options)


def _write_evidence(
    report: BoardReport, folder: Path, seconds: float, progress: Progress
) -> BoardReport:
    """Write it; the report with the names of the files."""
    from breadproof.verify.exchange.evidence import evidence
    from breadproof.verify.report.files import write_files

    found = evidence(report, seconds, progress)
    write_files(folder, found.files)
    return found.report


def _write_traces(report: BoardReport, folder: Path) -> None:
    """Two files a run, named after its result (``glitch:U9.21`` as ``glitch-U9.21.vcd``)."""
    from breadproof.export.vcd import vcd
    from breadproof.verify.pictures.runs import run_file
    from breadproof.verify.report.files import file_stem, write_files

    texts: dict[str, str] = {}
    for result in report.results:
        if result.trace is not None:
            stem, number = file_stem(result.name), 1
            while f"{stem}.vcd" in texts:  # ``a-lit`` and, of the board a, ``a/lit``
                number += 1
                stem = f"{file_stem(result.name)}-{number}"
            texts[f"{stem}.vcd"] = vcd(report.machine.netlist, result.trace)
            texts[f"{stem}.svg"] = run_file(report.machine, result, result.trace)
    write_files(folder, texts)
