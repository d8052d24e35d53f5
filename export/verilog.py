"""The board as Verilog (IEEE 1364) or RTLIL text, through Amaranth and the packaged yosys."""

from __future__ import annotations

import os
import re
from typing import Any

from breadproof.export.amaranth_file import Generated, generate
from breadproof.export.header import Proofs, header
from breadproof.specs.netlist.model import Netlist

CLOCK = "tick"
"""The clock domain: its ports are ``tick_clk`` and ``tick_rst``, so that a board's net may be
called ``clk``."""


WAIVED = ("DECLFILENAME", "UNUSEDSIGNAL", "CASEINCOMPLETE")
"""What a strict Verilog linter says that is meant: several modules stand in one file; every pin and
net keeps its name even where nobody reads it; a register keeps its content where no case holds,
which is said before the cases."""


def verilog(netlist: Netlist, proofs: Proofs | None = None) -> str:
    """Verilog of the board; the same board gives the same text.

    Raises:
        BadInput: for an operator in a part file that is not exported, or tangled contacts.
    """
    generated = generate(netlist, proofs)
    # Amaranth takes the first yosys on the path, and an old one breaks it.
    os.environ["AMARANTH_USE_YOSYS"] = "builtin"
    from amaranth.back import verilog as back

    text = _converted(back, netlist, generated, strip_internal_attrs=True)
    waivers = "\n".join(f"// verilator lint_off {rule}" for rule in WAIVED)
    return _commented(f"{waivers}\n{text}", netlist, generated, proofs, "//")


def rtlil(netlist: Netlist, proofs: Proofs | None = None) -> str:
    """RTLIL (the interchange text of yosys) of the board; the same board gives the same text.

    Raises:
        BadInput: for an operator in a part file that is not exported, or tangled contacts.
    """
    generated = generate(netlist, proofs)
    from amaranth.back import rtlil as back

    text = _converted(back, netlist, generated)
    return _commented(text, netlist, generated, proofs, "#")


def module_name(netlist: Netlist) -> str:
    """``light-store`` becomes ``light_store``."""
    plain = re.sub(r"[^A-Za-z0-9_]", "_", netlist.board)
    return plain if plain[:1].isalpha() else f"board_{plain}"


def _converted(back: Any, netlist: Netlist, generated: Generated, **options: Any) -> str:
    from amaranth.hdl import DomainRenamer

    from breadproof.export.simulate import built

    top = built(generated)
    # Amaranth sees for itself which of them go in and which out.
    ports = {
        "__".join(map(str, path)): (value, None)
        for path, _member, value in top.signature.flatten(top)
    }
    renamed = DomainRenamer(CLOCK)(top)
    name = module_name(netlist)
    return str(back.convert(renamed, name=name, ports=ports, emit_src=False, **options))


def _commented(
    text: str, netlist: Netlist, generated: Generated, proofs: Proofs | None, mark: str
) -> str:
    lines = [f"{mark} {line}".rstrip() for line in header(netlist, generated.lowered, proofs)]
    return "\n".join([*lines, "", text.strip(), ""])
