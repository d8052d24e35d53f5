"""A board as a bitstream: target, proofs, building, equality, safety sheet."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from breadproof.output_file import check_target, write
from breadproof.progress import Progress

if TYPE_CHECKING:
    from breadproof.export.fpga.build import Built
    from breadproof.export.fpga.design import Design
    from breadproof.export.fpga.safety import Known
    from breadproof.export.header import Proofs
    from breadproof.specs.machine.machine import Machine
    from breadproof.specs.target.mapped import Mapped
    from breadproof.verify.equal.proof import Equality
    from breadproof.verify.equal.synthesis import Same

MODULES = (
    "Proved: in every round the board's modules, as they stand in the design, do what the board "
    "does, and the clocks of a tick do for its memories to be read. "
)
EQUAL = (
    MODULES + "Proved: at every clock the mapped netlist gives every pin what the design gives it "
    "(two solvers; what each cell of the FPGA is, is taken from its maker's library). **NOT "
    "PROVED**: that inputs are handed over as they should, and that placing and routing keep it so."
)
UNMAPPED = (
    MODULES + "**NOT PROVED**: that synthesis and placing, and the inputs around the modules, keep "
    "it so"
)
UNEQUAL = "**NOT PROVED** that the board's modules, or the mapped netlist, do what the board does."
"""What a sheet says of equality."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paths:
    """What the command was given: the board, the target, and where the bitstream goes."""

    board: Path
    target: Path
    output: Path

    @property
    def sheet(self) -> Path:
        """The safety sheet, beside the bitstream."""
        return self.output.with_name(f"{self.output.stem}.safety.md")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounds:
    """The proved rounds of a step (None: not proved) and why not."""

    rounds: int | None
    fails: bool = False
    because: str = ""


def paths_of(board: Path, target: Path | None, output: Path | None) -> Paths:
    """The paths of a call.

    Raises:
        click.BadParameter: the target or the output is missing.
        BadInput: the output cannot be written.
    """
    if target is None:
        raise click.BadParameter(
            "a bitstream needs a target file, which says what is at which pin; "
            "'breadproof schema target' describes it",
            param_hint="--target",
        )
    if output is None or str(output) == "-":
        raise click.BadParameter(
            "a bitstream and its safety sheet are two files; name the first", param_hint="-o"
        )
    paths = Paths(board=board, target=target, output=output)
    check_target(output, board)
    check_target(output, target)
    check_target(paths.sheet, board)
    check_target(paths.sheet, target)
    return paths


def mapped_board(machine: Machine, paths: Paths) -> Mapped:
    """The target on its device and board.

    Raises:
        BadInput: with every problem of the target.
    """
    from breadproof.export.fpga.resolve import mapped_onto
    from breadproof.specs.reading.diagnostics import Problems
    from breadproof.specs.target.read import read_target

    problems = Problems()
    target = read_target(paths.target, problems)
    mapped = None if target is None else mapped_onto(target, machine.netlist, problems)
    problems.stop_if_any()
    if mapped is None:
        raise AssertionError("unreachable: no target without a problem")
    return mapped


def rounds_of(machine: Machine, seconds: float) -> Rounds:
    """How many rounds a step takes at most, if that is proved."""
    from breadproof.verify.prove.quiet import find_rounds
    from breadproof.verify.prove.solver import Deadline

    answer = find_rounds(machine, Deadline(seconds))
    if answer.verdict == "holds":
        return Rounds(rounds=answer.rounds)
    return Rounds(rounds=None, fails=answer.verdict == "fails", because=answer.because)


def write_bitstream(
    machine: Machine,
    mapped: Mapped,
    paths: Paths,
    proofs: Proofs | None,
    rounds: Rounds,
    *,
    equal: bool,
    seconds: float,
) -> int:
    """Build and write a bitstream and its sheet; the exit status.

    ``equal``: while it is placed it is to be proved that the board in the design does what the
    board does, and the mapped netlist what the design does, in ``seconds`` each.

    Raises:
        BadInput: a clock is too fast, the design does not fit, or a file cannot be written.
    """
    from breadproof.export.amaranth_file import generate
    from breadproof.export.fpga.build import build
    from breadproof.export.fpga.rates import check_rates
    from breadproof.export.fpga.safety import Known, safety_sheet
    from breadproof.export.fpga.wrapper import round_clocks
    from breadproof.reading_back import told
    from breadproof.specs.reading.diagnostics import Problems
    from breadproof.verify.equal.inside import equal_inside
    from breadproof.verify.equal.synthesis import equal_netlist

    netlist = machine.netlist
    inside: list[Equality] = []
    same: list[Same] = []
    with Progress() as progress:

        def synthesized(design: Design, made: str) -> None:
            if equal:
                lowered = generated.lowered
                inside.append(equal_inside(machine, lowered, design, seconds, progress))
            if inside and inside[0].verdict == "equal":
                same.append(equal_netlist(design.text, made, seconds, progress))

        progress("writing the board's modules")
        generated = generate(netlist, proofs)
        clocks = round_clocks(netlist, generated.lowered)
        problems = Problems()
        rates = check_rates(mapped, clocks, rounds.rounds, problems)
        problems.stop_if_any()
        built = build(netlist, generated, mapped, progress, synthesized)
    fixed = [one.control.name for one in mapped.controls if one.source == "fixed"]
    name = f"design, with {', '.join(fixed)} fixed," if fixed else "design"
    status = told(paths.board, inside[0], name, seconds) if inside else 0
    if status:
        return status
    if same and same[0].verdict == "differs":
        click.echo(refusal(paths.board, same[0]), err=True)
        return 1
    known = Known(
        proofs=proofs,
        round_clocks=clocks,
        rounds=rounds.rounds,
        equal=sentence(same[0]) if same else UNEQUAL,
    )
    # The sheet first: it may lie there without a bitstream, but not the other way round.
    write(paths.sheet, safety_sheet(netlist, mapped, known))
    write(paths.output, built.bitstream)
    for line in summary(mapped, built, paths, known, rates, same[0] if same else None):
        click.echo(line)
    return 0


def sentence(same: Same) -> str:
    """What the sheet says of equality."""
    return EQUAL if same.verdict == "equal" else f"{UNMAPPED}: {same.because}."


def refusal(board: Path, same: Same) -> str:
    """Why nothing was written."""
    return (
        f"{board}: not exported: synthesis has not kept what the design does: {same.because}.\n"
        "  The fault is in synthesis or in breadproof, not in the board. With --no-proof it is "
        "written all the same, and the safety sheet says so."
    )


def summary(
    mapped: Mapped,
    built: Built,
    paths: Paths,
    known: Known,
    rates: tuple[str, ...],
    same: Same | None,
) -> list[str]:
    """What was built, in lines."""
    report = built.report
    uses = ", ".join(f"{use.used} of {use.available:,} {use.what}" for use in report.uses)
    step = (
        f"{known.rounds} at most in a step, proved"
        if known.rounds is not None
        else "not proved how many a step takes"
    )
    rows = [
        ("fits", uses),
        ("clock", f"needs {report.needed / 1e6:g} MHz, runs at {report.achieved / 1e6:.1f} MHz"),
        ("rounds", f"{step}; one takes {known.round_clocks} clocks"),
        *(("board clock", rate) for rate in rates),
        ("equal", _equal(same)),
        ("power-up", "registers, latches and read-write memories hold 0"),
        ("unseen", ", ".join(mapped.unseen)),
    ]
    return [
        f"{paths.output}: {mapped.target.name}, {mapped.device.name} in {mapped.device.package}",
        *(f"  {name:<11} {text}" for name, text in rows if text),
        f"{paths.sheet}: read it before anything is wired",
    ]


def _equal(same: Same | None) -> str:
    """What is known of equality, in a line."""
    if same is None:
        return "not proved: nothing was compared with the board"
    if same.verdict == "equal":
        return f"proved (mapped netlist): {same.compared} levels, at every clock"
    return f"proved of the board's modules; not proved of the mapped netlist: {same.because}"
