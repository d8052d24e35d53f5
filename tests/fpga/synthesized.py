"""A board's design before and after synthesis, without placing it."""

import json
import tempfile
from dataclasses import dataclass
from pathlib import Path

from breadproof.export.amaranth_file import generate
from breadproof.export.fpga.design import Design, design_of
from breadproof.export.fpga.platforms import platform_of
from breadproof.export.fpga.tools import run
from breadproof.export.fpga.top import Top
from breadproof.export.lowering.board import Lowered
from breadproof.specs.netlist.model import Netlist
from tests.fpga.building import mapped_of


@dataclass(frozen=True)
class Synthesis:
    """The board as lowered, the design (``design`` is its RTLIL), and the mapped netlist (JSON of
    yosys)."""

    lowered: Lowered
    whole: Design
    netlist: str

    @property
    def design(self) -> str:
        return self.whole.text


def synthesized(netlist: Netlist, target: Path) -> Synthesis:
    """What `build` hands to the proof."""
    generated = generate(netlist)
    top = Top(netlist, generated, mapped_of(netlist, target))
    platform = platform_of(top.mapped)
    plan = platform.build(top, name="fpga", do_build=False, debug_verilog=False, emit_src=False)
    command = json.loads(plan.files["build_fpga.json"])["commands"][0]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file in ("fpga.il", "fpga.ys"):
            (folder / file).write_text(plan.files[file], encoding="utf-8")
        ran = run(command, folder)
        assert ran.good, ran.said
        whole = design_of(plan.files["fpga.il"], generated, top.wrapper, platform)
        return Synthesis(generated.lowered, whole, (folder / "fpga.json").read_text("utf-8"))
