"""Small boards for FPGAs, and a target for one of them."""

from pathlib import Path

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine

PAD = """
board: pad
title: A memory on a bus that another board drives too, a button that stores, a lamp that tells
parts:
  U1: 6116
  U2: 74LS04
  STORE: push-button
  MODE: {part: spdt, positions: [LOW, HIGH]}
  L1: led
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 330}
  R3: {part: resistor, value: 10k}
nets:
  GND: [U1.12, U1.CS_n, U1.A10, U1.A9, U1.A8, U1.A7, U1.A6, U1.A5, U1.A4, U1.A3, U1.A2, U2.7,
    STORE.2, U2.5, U2.9, U2.11, U2.13, MODE.1]
  VCC: [U1.24, U2.14, R1.1, R2.1, R3.1, MODE.3]
  we_n: [U1.WE_n, R1.2, STORE.1, U2.1]
  lit_n: [U2.2, U2.3]
  lamp_k: [U2.4, L1.K]
  lamp_a: [R2.2, L1.A]
  oe_n: [U1.OE_n]
  a1: [MODE.2, R3.2, U1.A1]
  a0: [U1.A0]
  d[7:0]: [[U1.IO7, U1.IO6, U1.IO5, U1.IO4, U1.IO3, U1.IO2, U1.IO1, U1.IO0]]
ports:
  oe_n: in
  a0: in
  d[7:0]: both
assume:
  one-drives:
    says: The other board drives only while the memory is off.
    formula: "never (outside(d) && !oe_n)"
"""

LOOK_UP = """
board: look-up
title: Two tables in a row, and a register that takes what they say two rounds after a clock
parts:
  U1: {part: 28C16, contents: [3, 2, 1, 0]}
  U2: {part: 28C16, contents: [0x15, 0x2A, 0x3C, 0x43]}
  U3: 74LS374
  U4: 74LS74
nets:
  GND: [U1.12, U1.CE_n, U1.OE_n, U2.12, U2.CE_n, U2.OE_n, U3.10, U3.1, U4.7,
    U1.A10, U1.A9, U1.A8, U1.A7, U1.A6, U1.A5, U1.A4, U1.A3, U1.A2,
    U2.A10, U2.A9, U2.A8, U2.A7, U2.A6, U2.A5, U2.A4, U2.A3, U2.A2]
  VCC: [U1.24, U1.WE_n, U2.24, U2.WE_n, U3.20, U4.14, U4.1, U4.4, U4.10, U4.13]
  clk: [U4.CLK1]
  q0: [U4.Q1, U1.A0]
  q0_n: [U4.Q1_n, U4.D1, U4.CLK2]
  q1: [U4.Q2, U3.CLK]
  q1_n: [U4.Q2_n, U4.D2]
  a: [U1.A1]
  b[1:0]: [[U1.IO1, U1.IO0], [U2.A1, U2.A0]]
  d[7:0]: [[U2.IO7, U2.IO6, U2.IO5, U2.IO4, U2.IO3, U2.IO2, U2.IO1, U2.IO0],
    [U3.D7, U3.D6, U3.D5, U3.D4, U3.D3, U3.D2, U3.D1, U3.D0]]
  q[7:0]: [[U3.Q7, U3.Q6, U3.Q5, U3.Q4, U3.Q3, U3.Q2, U3.Q1, U3.Q0]]
ports:
  a: in
  clk: in
  q[7:0]: out
"""

PAD_TARGET = """\
target: pad-hx1k
device: hx1k
package: tq144
clock: {pin: 21, frequency: 12 MHz}
controls:
  STORE: {pin: 1, debounce: 1 us}
  MODE: {pin: 2, position: HIGH, debounce: 1 us}
lamps:
  L1: {pin: 99, active: low}
ports:
  oe_n: {pin: 3, pull: up}
  a0: 4
  d[7:0]: {pins: [112, 113, 114, 115, 116, 117, 118, 119], outside: {pin: 7, active: low}}
"""

LOOK_UP_TARGET = """\
target: look-up-hx1k
device: hx1k
package: tq144
clock: {pin: 21, frequency: 12 MHz}
ports:
  a: 1
  clk: 2
  q[7:0]: [112, 113, 114, 115, 116, 117, 118, 119]
"""


PAD_ECP5 = (
    PAD_TARGET.replace("hx1k\n", "ecp5-25k\n")
    .replace("tq144", "bg256")
    .replace("pin: 21", "pin: A7")
    .replace("{pin: 1,", "{pin: A2,")
    .replace("{pin: 2,", "{pin: A3,")
    .replace("pin: 3, pull: up", "pin: A4, pull: down")
    .replace("a0: 4", "a0: A5")
    .replace("pin: 99", "pin: B3")
    .replace("pin: 7,", "pin: B4,")
    .replace("112, 113, 114, 115, 116, 117, 118, 119", "C1, C2, D1, E1, E2, F1, F2, G1")
)


def written(folder: Path, text: str, name: str) -> Path:
    """A file of that text."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def machine_of(folder: Path, text: str) -> Machine:
    """The machine of a board's text."""
    return load_machine(written(folder, text, "board.yaml"))
