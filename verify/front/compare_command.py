"""The command `breadproof compare`: two revisions of a board."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.compare_verilog import ENDINGS, Form, compare_verilog
from breadproof.limits import crew_of, crew_options, time_limit
from breadproof.output_file import check_target, write
from breadproof.own_parts import own_parts
from breadproof.progress import Progress

if TYPE_CHECKING:
    from breadproof.verify.revisions.compare import Compared
    from breadproof.verify.revisions.start import Start

EPILOG = """\b
Examples:
  breadproof compare store-1.yaml store-2.yaml
      is it still the same machine? all of it on one screen
  breadproof compare store-1.yaml store-2.yaml --when "MODE == SHOW"
      they differ on purpose while setting
  breadproof compare binary.yaml gray.yaml --after reset --only L1 --only L2
      the contents mean something else, so begin after the reset
  breadproof compare fade-1.yaml fade-2.yaml --latency 1 --clock beat
      a register is new in a path: whenever beat is low, the new board's lamps and ports are
      as the old one's were just before beat last rose
  breadproof compare chaser.yaml chaser.v
      Verilog that 'breadproof export' wrote, of this board or an earlier one
  breadproof compare chaser.yaml my_chaser.v --ports my_chaser.yaml --after reset
      Verilog that somebody wrote: the file says which port is what of the board, such as
        clock: {port: clk, net: beat}
        inputs: {rst_n: clear_n, speed: "tempo[1:0]"}
        outputs: {step: "step[3:0]", lamps: [L2, L1], idle: "!run"}
        storage: {step: U1.R}
      (storage: what the registers hold when power comes on; not needed with --after reset)
  breadproof compare old.yaml new.yaml --markdown > revision.md
      for a build log, or a review
  breadproof compare old.yaml new.yaml --report revision.html
      the same as a page for the browser, with both runs as waves and both boards

Exit status: 0 the same behaviour and no verdict worse, 1 otherwise, 2 wrong input or call,
3 undecided, 4 our own error, 130 interrupted.
"""


@click.command("compare", epilog=EPILOG)
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("new", type=click.Path(path_type=Path))
@click.option(
    "--only",
    multiple=True,
    metavar="NAME",
    help="Compare this lamp, port, net or memory (U7.M) alone, as the old board names it; may be "
    "given several times.",
)
@click.option(
    "--outside",
    is_flag=True,
    help="Compare lamps, ports and memories alone, not the nets inside that have one name.",
)
@click.option(
    "--when",
    default="",
    metavar="FORMULA",
    help="Compare only in the steps in which this holds, on both boards.",
)
@click.option(
    "--after",
    type=click.Choice(["power-up", "reset"]),
    default="power-up",
    help="Begin when power comes on, with the same content on both boards where both have the "
    "storage (if left out), or after the declared reset, whatever was held before, but the same in "
    "parts that it keeps.",
)
@click.option(
    "--latency",
    "periods",
    type=click.IntRange(1, 8),
    metavar="N",
    help="The new board is N periods of a clock later on purpose. Compared are lamps and ports, "
    "at each quiet moment with the clock low, with what the old board showed just before the N-th "
    "last rise; what is shown before the clock has risen N times is left out.",
)
@click.option(
    "--clock",
    default="",
    metavar="NET",
    help="The clock of --latency, a net of the old board that chips are clocked from. May be left "
    "out if there is one.",
)
@click.option(
    "--ports",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="NEW is Verilog that somebody wrote (.v, .sv): this file says which of its ports is what "
    "of the board, and which one is the clock; 'breadproof schema ports' describes it.",
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.option("--markdown", "as_markdown", is_flag=True, help="Print Markdown.")
@click.option(
    "--report",
    "page_file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write a page for the browser, such as out.html: one file that needs no network, with the "
    "lines that changed, both runs as waves, what is proved of both, and both boards.",
)
@click.option(
    "--wiring",
    "wiring_alone",
    is_flag=True,
    help="Tell what changed on the board, and no more: exit status 0 if the wiring is the same.",
)
@click.option(
    "--no-proofs",
    is_flag=True,
    help="Leave out what the revision does to formulas and standing checks. What behaves the same "
    "is then undecided, since nobody looked for glitches.",
)
@time_limit("Time for the behaviour, and for each property; what takes longer is undecided. 60 if "
            "left out.")  # fmt: skip
@crew_options
@click.option(
    "--fresh",
    is_flag=True,
    help="Prove all anew. Otherwise what an earlier run found out is taken for what is still the "
    "same.",
)
@own_parts
@click.option("--plain", is_flag=True, help="No colour, and no characters beyond ASCII.")
def command(
    old: Path,
    new: Path,
    only: tuple[str, ...],
    outside: bool,
    when: str,
    after: str,
    periods: int | None,
    clock: str,
    ports: Path | None,
    as_json: bool,
    as_markdown: bool,
    page_file: Path | None,
    wiring_alone: bool,
    no_proofs: bool,
    seconds: float,
    jobs: int | None,
    megabytes: int | None,
    cluster: str | None,
    fresh: bool,
    folders: tuple[Path, ...],
    plain: bool,
) -> int:
    """Compare the board files OLD and NEW, two revisions of one board.

    Tells what changed on the board: parts, pins and nets, whatever they are called now. Then
    whether both do the same whenever their controls are moved alike: proved for runs of any
    length, or the shortest run that tells them apart, with the first pin that differs and the
    change that it comes from. Then what becomes of every formula and standing check.

    NEW may also be Verilog. What 'breadproof export' wrote is proved round by round, or period by
    period. What somebody wrote is compared at quiet moments: its clock is a net of the board, and
    its flip-flops take in what they see in the step in which that net rises; each output that the
    ports file names has the level of its net or lamp then. It is read as synthesis reads it, with
    one clock; latches, three-state wires and logic before clocks and clears are refused.
    """
    from breadproof.verify.prove.store import Store, users_folder
    from breadproof.verify.prove.verdict import EXIT_STATUS, INTERRUPTED
    from breadproof.verify.revisions.compare import Unknown, Wanted, compare
    from breadproof.verify.revisions.verdicts import Means

    verilog = new.suffix in ENDINGS
    _check(
        (as_json and as_markdown, "--json and --markdown are two forms; give one of them."),
        (
            bool(periods and (when or wiring_alone)),
            "--latency goes neither with --when nor with --wiring.",
        ),
        (bool(clock and not periods), "--clock is the clock of --latency N, which is missing."),
        (old.suffix in ENDINGS, "Verilog comes second: compare BOARD MODULE.v."),
        (bool(ports and not verilog), "--ports is for NEW being Verilog (.v, .sv)."),
        (
            bool(verilog and (wiring_alone or outside or periods)),
            "with Verilog go --ports, --only, --when, --after, --json, --markdown, --report, "
            "--no-proofs and limits alone.",
        ),
    )
    begin: Start = "reset" if after == "reset" else "power-up"
    wanted = Wanted(
        only=only,
        outside=outside,
        when=when,
        start=begin,
        proofs=not no_proofs,
        wiring=wiring_alone,
        periods=periods or 0,
        clock=clock,
    )
    if page_file is not None:
        for path in (old, new, *([] if ports is None else [ports])):
            check_target(page_file, path)
    with Progress() as progress, crew_of(jobs, megabytes, cluster) as crew:
        store = Store(users_folder(), fresh=fresh)
        means = Means(seconds=seconds, progress=progress, crew=crew, store=store)
        try:
            if verilog:
                from breadproof.verify.revisions.beside import Asked

                asked = Asked(only=only, when=when, start=begin, proofs=not no_proofs)
                form = Form(
                    as_json=as_json, as_markdown=as_markdown, plain=plain, page_file=page_file
                )
                told, status = compare_verilog(old, new, ports, asked, means, folders, form)
            else:
                found = compare(old, new, wanted, means, folders)
        except Unknown as unknown:
            raise click.BadParameter(str(unknown), param_hint=unknown.option) from None
    if verilog:
        click.echo(told, nl=False)
        if status == INTERRUPTED:
            click.echo("interrupted: what is proved was not finished", err=True)
        return status
    paths = (str(old), str(new))
    if page_file is not None:
        from breadproof.verify.pages.comparepage import compare_page

        write(page_file, compare_page(found, paths))
    click.echo(_text(found, paths, as_json, as_markdown, plain), nl=False)
    if found.proved is not None and found.proved.interrupted:
        click.echo("interrupted: what is proved was not finished", err=True)
        return INTERRUPTED
    return EXIT_STATUS[found.verdict]


def _text(
    found: Compared, paths: tuple[str, str], as_json: bool, as_markdown: bool, plain: bool
) -> str:
    from breadproof.verify.report.page import page_of_stdout
    from breadproof.verify.revisions.jsonout import json_text
    from breadproof.verify.revisions.text import markdown, text

    if as_json:
        return json_text(found)
    if as_markdown:
        return markdown(found, paths)
    return text(found, page_of_stdout(plain=plain), paths)


def _check(*wrong: tuple[bool, str]) -> None:
    """Refuse a call of whose rules one is broken."""
    for broken, text in wrong:
        if broken:
            raise click.UsageError(text)
