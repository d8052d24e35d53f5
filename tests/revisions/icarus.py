"""What Icarus Verilog shows of a module while its inputs are moved: a second witness."""

from __future__ import annotations

import subprocess
from collections.abc import Mapping, Sequence
from pathlib import Path

Levels = Mapping[str, tuple[int, ...]]
"""Bits by port, most significant first."""


def shown(
    iverilog: str,
    folder: Path,
    verilog: str,
    top: str,
    steps: Sequence[Levels],
    outputs: Mapping[str, int],
    content: Mapping[str, int],
) -> list[dict[str, str]]:
    """The outputs (name -> width) after each step as binary digits, most significant first.

    ``content`` is put into the registers of these names once the first inputs stand.
    """
    inputs = {name: len(bits) for name, bits in steps[0].items()}
    lines = ["`timescale 1ns/1ns", "module bench;"]
    lines += [f"  reg [{width - 1}:0] {name};" for name, width in inputs.items()]
    lines += [f"  wire [{width - 1}:0] {name};" for name, width in outputs.items()]
    ends = ", ".join(f".{name}({name})" for name in (*inputs, *outputs))
    lines += [f"  {top} dut({ends});", "  initial begin"]
    for number, step in enumerate(steps):
        for name, bits in step.items():
            lines.append(f"    {name} = {len(bits)}'b{''.join(map(str, bits))};")
        lines.append("    #1;")
        if not number:
            lines += [f"    dut.{name} = {value};" for name, value in content.items()]
            lines.append("    #1;")
        lines += [f'    $display("{number} {name} %b", {name});' for name in outputs]
    lines += ["  end", "endmodule"]
    files = [folder / "bench.v", folder / "module.v"]
    files[0].write_text("\n".join(lines) + "\n", "utf-8")
    files[1].write_text(verilog, "utf-8")
    made = folder / "bench"
    subprocess.run([iverilog, "-g2005", "-o", made, *files], check=True, capture_output=True)
    done = subprocess.run([made], check=True, capture_output=True, text=True)
    found: list[dict[str, str]] = [{} for _ in steps]
    for line in done.stdout.splitlines():
        place, name, digits = line.split()
        found[int(place)][name] = digits
    return found
