"""What an FPGA's cells are, held against yosys's own models of them, in Icarus Verilog."""

import re
import subprocess
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path
from random import Random
from typing import Any

import pytest

from breadproof.verify.equal import ecp5, ice40
from breadproof.verify.equal.patterns import Levels
from breadproof.verify.equal.plain import Plain
from breadproof.verify.equal.readback import Circuit, Unreadable, circuit_of

CLOCKS = 60
FAMILIES = {"ice40": ice40, "ecp5": ecp5}
ANY = re.MULTILINE | re.DOTALL


def bits(value: int, width: int) -> str:
    return format(value, f"0{width}b")


@dataclass
class Cell:
    """A cell with its parameters, and the widths of its inputs and of its output."""

    kind: str
    inputs: dict[str, int]
    output: tuple[str, int]
    clocks: tuple[str, ...] = ()
    parameters: dict[str, str] = field(default_factory=dict)
    texts: tuple[tuple[str, str], ...] = ()

    @property
    def family(self) -> str:
        return "ice40" if self.kind.startswith("SB_") else "ecp5"

    def given(self) -> dict[str, str]:
        """Parameters as yosys's JSON has them: numbers in digits, texts of digits with a blank."""
        texts = {key: f"{text} " if set(text) <= {*"01"} else text for key, text in self.texts}
        return self.parameters | texts


def registers_of_the_ecp5() -> list[Cell]:
    cells = []
    for mux, reset, inverted in (
        ("CE", "RESET", "LSR"),
        ("INV", "SET", "LSR"),
        ("1", "SET", "INV"),
    ):
        texts = (("CEMUX", mux), ("REGSET", reset), ("LSRMUX", inverted), ("GSR", "DISABLED"))
        pins = {"DI": 1, "CE": 1, "LSR": 1}
        cells.append(Cell("TRELLIS_FF", pins, ("Q", 1), ("CLK",), {}, texts))
    return cells


def drawn() -> list[Cell]:
    dice = Random(4)
    lut = {f"I{place}": 1 for place in range(4)}
    cells = [
        Cell("SB_LUT4", lut, ("O", 1), (), {"LUT_INIT": bits(dice.getrandbits(16), 16)})
        for _ in range(3)
    ]
    cells.append(Cell("SB_CARRY", {"I0": 1, "I1": 1, "CI": 1}, ("CO", 1)))
    for enable in ("", "E"):
        for reset in ("", "SR", "SS"):
            pins = {"D": 1} | ({"E": 1} if enable else {}) | ({reset[-1]: 1} if reset else {})
            cells.append(Cell(f"SB_DFF{enable}{reset}", pins, ("Q", 1), ("C",)))
    for mode in range(4):
        words = {f"INIT_{place:X}": bits(dice.getrandbits(256), 256) for place in range(16)}
        modes = {"READ_MODE": bits(mode, 32), "WRITE_MODE": bits(mode, 32)}
        pins = {"RCLKE": 1, "RE": 1, "RADDR": 11, "WCLKE": 1, "WE": 1, "WADDR": 11}
        pins |= {"MASK": 16, "WDATA": 16}
        clocks = ("RCLK", "WCLK")
        cells.append(Cell("SB_RAM40_4K", pins, ("RDATA", 16), clocks, words | modes))
    for place in range(2):
        inputs = dict.fromkeys("ABCD", 1)
        cells.append(Cell("LUT4", inputs, ("Z", 1), (), {"INIT": bits(dice.getrandbits(16), 16)}))
        carry = {"CIN": 1} | {f"{pin}{half}": 1 for pin in "ABCD" for half in "01"}
        tables = {f"INIT{half}": bits(dice.getrandbits(16), 16) for half in "01"}
        for out in ("S0", "S1", "COUT"):
            texts = (("INJECT1_0", ("NO", "YES")[place]), ("INJECT1_1", "NO"))
            cells.append(Cell("CCU2C", carry, (out, 1), (), tables, texts))
    cells.append(Cell("PFUMX", {"ALUT": 1, "BLUT": 1, "C0": 1}, ("Z", 1)))
    cells.append(Cell("L6MUX21", {"D0": 1, "D1": 1, "SD": 1}, ("Z", 1)))
    return cells + registers_of_the_ecp5()


def circuit_and_pins(cell: Cell) -> tuple[Circuit, dict[str, list[int]]]:
    """The cell as plain gates, and the bits at its pins."""
    count, pins = 2, dict[str, list[int]]()
    for pin, width in {**cell.inputs, cell.output[0]: cell.output[1]}.items():
        pins[pin] = [*range(count, count + width)]
        count += width
    clock = [count]
    at = pins | dict.fromkeys(cell.clocks, clock)
    found = {"type": cell.kind, "parameters": cell.given(), "connections": at}
    names = {"clock": {"bits": clock}}
    plain = Plain({"netnames": names, "cells": {"cell": found}, "ports": {}})
    assert FAMILIES[cell.family].plain_cell(plain, "cell", found)
    module: dict[str, Any] = plain.plain()
    module["ports"] = {pin: {"direction": "input", "bits": pins[pin]} for pin in cell.inputs} | {
        "clock": {"direction": "input", "bits": clock}
    }
    return circuit_of(module, "clock"), pins


def ours(cell: Cell, stimulus: list[dict[str, int]]) -> list[str]:
    """What the output shows in each clock; a bit that nothing is known of is x."""
    circuit, pins = circuit_and_pins(cell)
    state = {bit: one.initial for bit, one in circuit.registers.items()}
    words = {name: list(memory.words or ()) for name, memory in circuit.memories.items()}
    shown = []
    for inputs in stimulus:
        known = {bit: level or 0 for bit, level in state.items()}
        for pin, value in inputs.items():
            known |= {bit: value >> place & 1 for place, bit in enumerate(pins[pin])}

        def read(name: str, address: list[int]) -> list[int]:
            word = words[name][sum((line & 1) << k for k, line in enumerate(address))]
            return [word >> k & 1 for k in range(circuit.memories[name].width)]

        run = Levels(circuit, known, read)  # type: ignore[arg-type]
        show = [
            "x" if bit in state and state[bit] is None else str(run.at(bit) & 1)
            for bit in pins[cell.output[0]]
        ]
        shown.append("".join(reversed(show)))
        state = {bit: level & 1 for bit, level in run.after().items()}
        for name, memory in circuit.memories.items():
            for enables, address, data in memory.writes:
                place = sum((line & 1) << k for k, line in enumerate(run.row(address)))
                for lane, (enable, bit) in enumerate(zip(enables, data, strict=True)):
                    if run.at(enable) & 1:
                        words[name][place] &= ~(1 << lane)
                        words[name][place] |= (run.at(bit) & 1) << lane
    return shown


def modules(share: Path) -> str:
    """The modules of yosys's models of the ECP5 that are looked at, without their delays: Icarus
    does not read all of the file."""
    text = "".join((share / name).read_text("utf-8") for name in ("common_sim.vh", "ccu2c_sim.vh"))
    found = re.findall(
        r"^module (?:LUT[24]|PFUMX|L6MUX21|TRELLIS_FF|CCU2C)\b.*?^endmodule", text, ANY
    )
    assert len(found) == 6
    return "\n".join(re.sub(r"^\s*specify$.*?^\s*endspecify$", "", one, flags=ANY) for one in found)


def theirs(cell: Cell, stimulus: list[dict[str, int]], iverilog: str, folder: Path) -> list[str]:
    """What yosys's model of the cell shows in Icarus Verilog, before each clock's rising edge."""
    lines = ["module bench;", "  reg clock = 0;"]
    lines += [f"  reg [{width - 1}:0] {pin};" for pin, width in cell.inputs.items()]
    lines += [f"  wire [{cell.output[1] - 1}:0] shown;"]
    pins = [f".{pin}({pin})" for pin in cell.inputs] + [f".{pin}(clock)" for pin in cell.clocks]
    given = [f".{name}({len(value)}'b{value})" for name, value in cell.parameters.items()]
    given += [f'.{name}("{text}")' for name, text in cell.texts]
    parameters = f"#({', '.join(given)}) " if given else ""
    lines += [f"  {cell.kind} {parameters}dut ({', '.join(pins)}, .{cell.output[0]}(shown));"]
    lines += ["  initial begin"]
    for inputs in stimulus:
        lines += [f"    {pin} = {value};" for pin, value in inputs.items()]
        lines += ['    #1 $display("%b", shown); clock = 1; #1 clock = 0;']
    (folder / "bench.v").write_text("\n".join([*lines, "  end", "endmodule", ""]), "utf-8")
    spec = find_spec("pyosys")
    assert spec is not None
    assert spec.origin is not None
    share = Path(spec.origin).parent / "share"
    models = share / "ice40" / "cells_sim.v"
    if cell.family == "ecp5":
        models = folder / "models.v"
        models.write_text(modules(share / "ecp5"), "utf-8")
    flags = ["-g2012", "-DNO_ICE40_DEFAULT_ASSIGNMENTS", "-s", "bench", "-o", "bench.vvp"]
    subprocess.run([iverilog, *flags, "bench.v", str(models)], cwd=folder, check=True)
    ran = subprocess.run(
        ["vvp", "-n", "bench.vvp"], cwd=folder, check=True, capture_output=True, text=True
    )
    return ran.stdout.split()


@pytest.mark.parametrize("cell", drawn(), ids=lambda cell: cell.kind)
def test_a_cell_is_what_yosys_says(cell: Cell, iverilog: str, tmp_path: Path) -> None:
    dice = Random(9)
    stimulus = []
    for _ in range(CLOCKS):
        one = {pin: dice.getrandbits(width) for pin, width in cell.inputs.items()}
        for pin in ("RADDR", "WADDR"):
            if pin in one:  # few words, so that what was written is read again
                one[pin] &= 0b111_0000_0001
        stimulus.append(one)
    found = ours(cell, stimulus)
    assert len(set(found)) > 1
    expected = theirs(cell, stimulus, iverilog, tmp_path)
    # Icarus has a block's output unknown until its first read; bits that are never read are 0.
    known = [place for place, line in enumerate(expected) if "x" not in line]
    assert len(known) > CLOCKS // 2
    assert [found[place] for place in known] == [expected[place] for place in known]


@pytest.mark.parametrize("kind", ["SB_DFFN", "SB_DFFR", "SB_DFFES", "SB_RAM40_4KNR", "SB_MAC16"])
def test_what_is_not_known_is_not_taken(kind: str) -> None:
    found = {"type": kind, "parameters": {}, "connections": {}}
    plain = Plain({"netnames": {}, "cells": {"cell": found}, "ports": {}})
    assert not ice40.plain_cell(plain, "cell", found)


def test_a_block_of_two_widths_is_refused() -> None:
    at = {"WE": [2], "RCLK": [3], "WCLK": [3]}
    found = {"type": "SB_RAM40_4K", "parameters": {"READ_MODE": "1"}, "connections": at}
    plain = Plain({"netnames": {}, "cells": {"cell": found}, "ports": {}})
    with pytest.raises(Unreadable, match="different widths"):
        ice40.plain_cell(plain, "cell", found)
