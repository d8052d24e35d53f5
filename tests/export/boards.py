"""Small boards that the tests of `export` share, each with one trap of design.md, section 4."""

from pathlib import Path

from breadproof.specs.load import load_machine, load_netlist
from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import Netlist

LATCH = """
board: latch
title: Latch of two gates, set and cleared by buttons
parts:
  U1: 74LS00
  SET: {part: push-button}
  RST: {part: push-button}
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 10k}
nets:
  GND: [U1.7, SET.1, RST.1]
  VCC: [U1.14, R1.1, R2.1]
  s_n: [SET.2, R1.2, U1.1]
  r_n: [RST.2, R2.2, U1.5]
  q: [U1.3, U1.4]
  q_n: [U1.6, U1.2]
"""

RIPPLE = """
board: ripple
title: Ripple counter of two flip-flops
parts:
  U1: 74LS74
  CK: {part: oscillator, frequency: 1 Hz}
nets:
  GND: [U1.7, CK.7]
  VCC: [U1.14, U1.1, U1.4, U1.10, U1.13, CK.14]
  clk: [CK.8, U1.3]
  q0: [U1.5]
  q0_n: [U1.6, U1.2, U1.11]
  q1: [U1.9]
  q1_n: [U1.8, U1.12]
"""

TRANSCEIVERS = """
board: transceivers
title: Two bus transceivers face to face
parts:
  U1: 74HC245
  U2: 74HC245
nets:
  GND: [U1.10, U2.10, U2.DIR]
  VCC: [U1.20, U2.20, U1.DIR]
  off1: [U1.G_n]
  off2: [U2.G_n]
  a: [U1.A1, U2.A1]
  b: [U1.B1, U2.B1]
ports:
  off1: in
  off2: in
  a: both
together: all
"""

WIRED_AND = """
board: wired-and
title: Open-collector outputs on one net with a pull-up
catalogue: parts
parts:
  U1: 74LS9903
  R1: {part: resistor, value: 4k7}
nets:
  GND: [U1.7]
  VCC: [U1.14, R1.1, U1.B1, U1.B2]
  x: [U1.A1]
  y: [U1.A2]
  both: [U1.Y1, U1.Y2, R1.2]
  lone: [U1.Y3, U1.A4]
ports:
  x: in
  y: in
"""

OPEN_COLLECTOR_PART = """
part: "9903"
title: Quad 2-input NAND gate, open collector
does: gate
package: DIP-14
families: [LS]
source: pin-out and function table of the data book, from memory
pins:
  1: A1 in
  2: B1 in
  3: Y1 open-collector
  4: A2 in
  5: B2 in
  6: Y2 open-collector
  7: GND ground
  8: Y3 open-collector
  9: A3 in
  10: B3 in
  11: Y4 open-collector
  12: A4 in
  13: B4 in
  14: VCC supply
logic:
  Y1: "!(A1 & B1)"
  Y2: "!(A2 & B2)"
  Y3: "!(A3 & B3)"
  Y4: "!(A4 & B4)"
rows:
  - from: function table of the data book, from memory
    columns: A# B# | Y#
    for: 1 2 3 4
    table:
      - H H | L
      - L X | Z
      - X L | Z
"""

MEMORY = """
board: memory
title: A memory on a port
parts:
  U1: 6116
nets:
  GND: [U1.12, U1.CS_n, U1.A10, U1.A9, U1.A8, U1.A7, U1.A6, U1.A5, U1.A4, U1.A3, U1.A2]
  VCC: [U1.24]
  we_n: [U1.WE_n]
  oe_n: [U1.OE_n]
  a[1:0]: [[U1.A1, U1.A0]]
  d[7:0]: [[U1.IO7, U1.IO6, U1.IO5, U1.IO4, U1.IO3, U1.IO2, U1.IO1, U1.IO0]]
ports:
  we_n: in
  oe_n: in
  a[1:0]: in
  d[7:0]: both
"""

CHANGEOVER = """
board: changeover
title: A change-over switch, once bare and once with a pull-up
parts:
  U1: 74HC04
  S1: {part: spdt, positions: [LOW, HIGH]}
  S2: {part: spdt, positions: [LOW, HIGH]}
  R1: {part: resistor, value: 10k}
nets:
  GND: [U1.7, S1.1, S2.1]
  VCC: [U1.14, S1.3, R1.1]
  bare: [S1.2, U1.1]
  pulled: [S2.2, U1.3, R1.2]
  not_bare: [U1.2]
  not_pulled: [U1.4]
"""

GATED = """
board: gated
title: A clock gate whose enable comes from behind the edge
parts:
  U1: 74LS08
  U2: 74LS74
  U3: 74LS163
  CK: {part: oscillator, frequency: 1 Hz}
nets:
  GND: [U1.7, U2.7, U3.8, CK.7]
  VCC: [U1.14, U2.14, U2.CLR1_n, U2.PRE1_n, U3.16, U3.CLR_n, U3.LD_n, U3.ENP, U3.ENT, CK.14]
  clk: [CK.8, U1.1, U2.CLK1]
  wish: [U2.D1]
  enable: [U2.Q1, U1.2]
  gated: [U1.3, U3.CLK]
  n[3:0]: [[U3.Q3, U3.Q2, U3.Q1, U3.Q0]]
ports:
  wish: in
"""

ALL = (LATCH, RIPPLE, TRANSCEIVERS, WIRED_AND, MEMORY, CHANGEOVER, GATED)


def written(folder: Path, text: str) -> Path:
    """The board as a file, its own part beside it."""
    own = folder / "parts"
    own.mkdir(exist_ok=True)
    (own / "9903.yaml").write_text(OPEN_COLLECTOR_PART, encoding="utf-8")
    path = folder / "board.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def netlist_of(folder: Path, text: str) -> Netlist:
    return load_netlist(written(folder, text))


def machine_of(folder: Path, text: str) -> Machine:
    return load_machine(written(folder, text))
