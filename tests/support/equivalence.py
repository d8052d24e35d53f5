"""Yosys's own equivalence commands, as the second opinion on two texts of hardware."""

import re
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

_RUN = """\
import sys
from pyosys import libyosys
design = libyosys.Design()
for command in sys.argv[1:]:
    libyosys.run_pass(command, design)
"""


def _holds(texts: tuple[str, str], top: str, last: str, commands: list[str]) -> bool:
    """Whether yosys gets through commands on the designs ``gold`` and ``gate``, which are read,
    put under one roof, freed of memories, and taken through the pass ``last``."""
    script = []
    with TemporaryDirectory() as folder:
        for name, text in zip(("gold", "gate"), texts, strict=True):
            (Path(folder) / f"{name}.v").write_text(text, encoding="utf-8")
            script += [
                f"read_verilog {name}.v",
                f"hierarchy -check -top {top}",
                *("proc", "flatten", "memory_collect", "memory_map", last),
                f"design -stash {name}",
            ]
        script += [f"design -copy-from {name} -as {name} {top}" for name in ("gold", "gate")]
        ran = subprocess.run(
            [sys.executable, "-c", _RUN, *script, *commands],
            cwd=folder, capture_output=True, text=True, check=False, timeout=600,
        )  # fmt: skip
    return ran.returncode == 0


_INDUCTION = [
    "equiv_make gold gate equiv",
    "hierarchy -top equiv",
    "equiv_simple",
    "equiv_induct",
    "equiv_status -assert",
]
"""Wires and registers are paired by name, and each pair is proved equal by induction."""


def all_wires_equal(one: str, other: str, top: str) -> bool:
    """Whether yosys proves every wire of two designs equal, those that nobody reads included."""
    return _holds((one, other), top, "opt_expr -keepdc", _INDUCTION)


def seen_wires_equal(one: str, other: str, top: str) -> bool:
    """Whether yosys proves all outputs equal, and the wires and registers that they depend on."""
    return _holds((one, other), top, "opt_clean -purge", _INDUCTION)


def outputs_equal_so_far(one: str, other: str, top: str, ticks: int, rounds: int) -> bool:
    """Whether yosys finds no inputs that tell the outputs of two designs apart on the last ticks of
    the first ``rounds`` rounds from power-up, all storage being 0 then, and the inputs being held
    for the ``ticks`` of a round (a miter, unrolled for its `sat`)."""
    held = _held(one, top, ticks)
    search = "sat -verify -prove trigger 0 -set-init-zero -seq 1 -tempinduct -tempinduct-baseonly"
    commands = [
        "miter -equiv -flatten gold gate miter",
        "hierarchy -top miter",
        f"{search} -maxsteps {ticks * rounds} miter",
    ]
    return _holds((one + held, other + held), f"{top}_held", "opt_clean -purge", commands)


def outputs_always_equal(one: str, other: str, top: str, *, from_zero: bool = False) -> bool:
    """Whether yosys proves the outputs of two designs equal (a miter, and its `sat`): of designs
    without storage, or, by induction over ticks, of such whose storage is 0 at first."""
    commands = ["miter -equiv -flatten gold gate miter", "hierarchy -top miter"]
    search = "sat -verify -prove trigger 0"
    if from_zero:
        search += " -set-init-zero -seq 1 -tempinduct -maxsteps 20"
    return _holds((one, other), top, "opt_clean -purge", [*commands, f"{search} miter"])


_PORT = re.compile(r"^  (input|output) (\[\d+:0\] )?([A-Za-z_]\w*);$", re.MULTILINE)


def _held(text: str, top: str, ticks: int) -> str:
    """A module around the top one that takes its inputs in the first tick of each round, and shows
    the outputs in the last."""
    found = re.search(rf"^module {top}\(.*?^endmodule", text, re.MULTILINE | re.DOTALL)
    assert found is not None
    ports = _PORT.findall(found[0])
    inputs = [(width, name) for way, width, name in ports if way == "input" and name[:5] != "tick_"]
    outputs = [(width, name) for way, width, name in ports if way == "output"]
    pins = ", ".join(f".{name}({name}_now)" for _, name in [*inputs, *outputs])
    names = ", ".join(name for _, name in [*inputs, *outputs])
    lines = [f"module {top}_held(tick_clk, {names});", "  input tick_clk;"]
    lines += [f"  reg [7:0] phase = 0; wire last = phase == {ticks - 1};"]
    for width, name in inputs:
        lines += [f"  input {width}{name}; reg {width}{name}_kept = 0;"]
        lines += [f"  wire {width}{name}_now = phase == 0 ? {name} : {name}_kept;"]
    for width, name in outputs:
        lines += [f"  output {width}{name}; wire {width}{name}_now;"]
        lines += [f"  assign {name} = last ? {name}_now : 0;"]
    kept = " ".join(f"{name}_kept <= {name}_now;" for _, name in inputs)
    lines += [f"  always @(posedge tick_clk) begin phase <= last ? 0 : phase + 1; {kept} end"]
    lines += [f"  {top} inside(.tick_clk(tick_clk), .tick_rst(1'b0), {pins});", "endmodule", ""]
    return "\n" + "\n".join(lines)
