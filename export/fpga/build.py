"""From a board and its target to a bitstream: synthesis, placing and routing, packing."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from breadproof.export.amaranth_file import Generated
from breadproof.export.fpga.design import Design, design_of
from breadproof.export.fpga.platforms import platform_of
from breadproof.export.fpga.report import Report, read_report
from breadproof.export.fpga.tools import Ran, run
from breadproof.export.fpga.top import Top
from breadproof.export.fpga.troubles import Unbuildable, trouble
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.target.mapped import Mapped

NAME = "fpga"
"""What the files of a build are called, and the top module."""
SEED = 1
"""Placing begins with it, so that the same board gives the same bitstream."""
_SAYS = {
    "yosys": "synthesis",
    "nextpnr-ice40": "placing and routing",
    "nextpnr-ecp5": "placing and routing",
    "icepack": "packing the bitstream",
    "ecppack": "packing the bitstream",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """A bitstream, what is known of it, the design that it is of, and the mapped netlist (JSON of
    yosys) that is in it."""

    bitstream: bytes
    report: Report
    design: Design
    netlist: str


def build(
    netlist: Netlist,
    generated: Generated,
    mapped: Mapped,
    progress: Callable[[str], None] = lambda says: None,
    synthesized: Callable[[Design, str], None] = lambda design, netlist: None,
) -> Built:
    """Build a board's design in a folder of its own, which is gone afterwards.

    ``synthesized`` is called with the design and the mapped netlist, while that is placed; if it
    raises, nothing is built.

    Raises:
        Unbuildable: it does not fit, is too slow, or names a pin that the package does not have.
        RuntimeError: a tool failed for no reason of the user's.
    """
    progress("writing the design")
    platform, top = platform_of(mapped), Top(netlist, generated, mapped)
    plan = platform.build(
        top,
        name=NAME,
        do_build=False,
        debug_verilog=False,
        emit_src=False,
    )
    commands = json.loads(plan.files[f"build_{NAME}.json"])["commands"]
    with tempfile.TemporaryDirectory(prefix="breadproof-") as name:
        folder = Path(name)
        for file, content in plan.files.items():
            (folder / file).write_bytes(
                content if isinstance(content, bytes) else content.encode("utf-8")
            )
        _run(commands[:1], folder, mapped, progress)
        design = design_of(plan.files[f"{NAME}.il"], generated, top.wrapper, platform)
        netlist_made = (folder / f"{NAME}.json").read_text("utf-8")
        with ThreadPoolExecutor(1) as pool:
            placed = pool.submit(_run, commands[1:], folder, mapped, progress)
            synthesized(design, netlist_made)
            placed.result()
        report = read_report((folder / "report.json").read_text("utf-8"), mapped.frequency)
        check_clock(report, mapped)
        packed = folder / (f"{NAME}.bin" if (folder / f"{NAME}.bin").exists() else f"{NAME}.bit")
        return Built(
            bitstream=packed.read_bytes(),
            report=report,
            design=design,
            netlist=netlist_made,
        )


def _run(
    commands: Sequence[list[str]], folder: Path, mapped: Mapped, progress: Callable[[str], None]
) -> None:
    for command in commands:
        tool = command[0]
        progress(_SAYS[tool])
        if tool.startswith("nextpnr"):
            command += ["--seed", str(SEED), "--report", "report.json"]
            command += ["--timing-allow-fail"]
        ran = run(command, folder)
        if not ran.good:
            raise _failed(tool, ran, folder, mapped)


def check_clock(report: Report, mapped: Mapped) -> None:
    """Hold what placing and routing achieved against the clock of the target.

    Raises:
        Unbuildable: it is too slow.
    """
    if report.achieved < mapped.frequency:
        raise Unbuildable(
            f"the design runs at {report.achieved / 1e6:.1f} MHz at most, and its clock has "
            f"{mapped.frequency / 1e6:g} MHz",
            hint="Take a slower clock.",
            span=mapped.target.frequency_span,
        )


def _failed(tool: str, ran: Ran, folder: Path, mapped: Mapped) -> Exception:
    """What a tool's failure is: the user's, if it can be told so."""
    log = folder / f"{NAME}.tim"
    said = ran.said + (log.read_text("utf-8", "replace") if log.exists() else "")
    found = trouble(said, mapped) if tool.startswith("nextpnr") else None
    if found is not None:
        return found
    errors = [line for line in said.splitlines() if "ERROR" in line] or said.splitlines()[-5:]
    return RuntimeError(f"{tool}: {' '.join(errors) or 'it failed and said nothing'}")
