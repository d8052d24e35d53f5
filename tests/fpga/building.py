"""Building a bitstream from files, without the command."""

from pathlib import Path

from breadproof.export.amaranth_file import generate
from breadproof.export.fpga.build import Built, build
from breadproof.export.fpga.resolve import mapped_onto
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.diagnostics import BadInput, Problems
from breadproof.specs.target.mapped import Mapped
from breadproof.specs.target.read import read_target


def mapped_of(netlist: Netlist, path: Path) -> Mapped:
    """A target on its board.

    Raises:
        BadInput: with all that is wrong.
    """
    problems = Problems()
    target = read_target(path, problems)
    mapped = None if target is None else mapped_onto(target, netlist, problems)
    problems.stop_if_any()
    assert mapped is not None
    return mapped


def complaints(netlist: Netlist, path: Path) -> list[str]:
    """What is wrong with a target: ``line:column code``, in order."""
    try:
        mapped_of(netlist, path)
    except BadInput as bad:
        return [f"{one.span.line}:{one.span.column} {one.code}" for one in bad.diagnostics]
    return []


def built_of(netlist: Netlist, path: Path) -> tuple[Mapped, Built]:
    """The bitstream for a target."""
    mapped = mapped_of(netlist, path)
    return mapped, build(netlist, generate(netlist), mapped)
