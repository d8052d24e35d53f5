"""Boards with one clock: some are synchronous, and each of the others breaks one condition."""

GATED_COUNTER = """
board: gated-counter
title: A counter behind a clock gate, its count read into a register
parts:
  U1: 74LS163
  U2: 74LS08
  U3: 74LS174
  U4: 74LS157
  CK: {part: oscillator, frequency: 1 Hz}
  GO: {part: dip-switch, ways: 1}
  HOLD: {part: push-button}
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 10k}
nets:
  GND: [U1.8, U2.7, U3.8, U4.8, U4.15, CK.7, GO.2, HOLD.1]
  VCC: [U1.16, U1.LD_n, U1.ENP, U1.ENT, U1.CLR_n, U2.14, U3.16, U3.CLR_n, U4.16, CK.14, R1.1, R2.1]
  clk: [CK.8, U2.1, U3.CLK]
  go: [GO.1, R1.2, U2.2]
  gated: [U2.3, U1.CLK]
  hold: [HOLD.2, R2.2, U4.S]
  n[3:0]:
    - U1.[Q3, Q2, Q1, Q0]
    - U4.[B4, B3, B2, B1]
  next[3:0]:
    - U4.[Y4, Y3, Y2, Y1]
    - U3.[D3, D2, D1, D0]
  seen[3:0]:
    - U3.[Q3, Q2, Q1, Q0]
    - U4.[A4, A3, A2, A1]
"""
"""While HOLD is pressed (S low) the register keeps what it has seen; closing GO stops the counter.
"""

ROM_STEPS = """
board: rom-steps
title: A ROM that says what comes next
parts:
  U1: {part: 74HC174}
  U2: {part: 27C16, contents: [1, 3, 7, 2, 0, 9, 4, 5, 15, 12, 11, 10, 8, 6, 13, 14]}
  CK: {part: oscillator, frequency: 1 Hz}
  UP: {part: dip-switch, ways: 1}
  R1: {part: resistor, value: 10k}
nets:
  GND: [U1.8, U1.D4, U1.D5, U2.12, U2.OE_n, U2.CE_n,
        U2.A10, U2.A9, U2.A8, U2.A7, U2.A6, U2.A5, CK.7, UP.2]
  VCC: [U1.16, U1.CLR_n, U2.24, CK.14, R1.1]
  clk: [CK.8, U1.CLK]
  up: [UP.1, R1.2, U2.A4]
  at[3:0]:
    - U1.[Q3, Q2, Q1, Q0]
    - U2.[A3, A2, A1, A0]
  next[3:0]:
    - U2.[IO3, IO2, IO1, IO0]
    - U1.[D3, D2, D1, D0]
"""

LATE_ENABLE = """
board: late-enable
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
"""As the enable rises, behind the edge, the gate lets a second one through."""

BUTTON_CLEARS = """
board: button-clears
title: A register that a button clears without the clock
parts:
  U1: 74LS174
  CK: {part: oscillator, frequency: 1 Hz}
  CLEAR: {part: push-button}
  R1: {part: resistor, value: 10k}
nets:
  GND: [U1.8, CK.7, CLEAR.1]
  VCC: [U1.16, CK.14, R1.1, U1.D0]
  clk: [CK.8, U1.CLK]
  clear_n: [U1.CLR_n, CLEAR.2, R1.2]
  q: [U1.Q0]
"""

OTHER_EDGE = """
board: other-edge
title: A register that captures as the clock falls
parts:
  U1: 74LS174
  U2: 74LS04
  CK: {part: oscillator, frequency: 1 Hz}
nets:
  GND: [U1.8, U2.7, CK.7]
  VCC: [U1.16, U1.CLR_n, U2.14, CK.14]
  clk: [CK.8, U2.1]
  clk_n: [U2.2, U1.CLK]
  d: [U1.D0]
  q: [U1.Q0]
ports:
  d: in
"""

OPEN_LATCH = """
board: open-latch
title: A latch that is open while a switch says so
parts:
  U1: 74LS373
  U2: 74LS174
  CK: {part: oscillator, frequency: 1 Hz}
nets:
  GND: [U1.10, U1.OE_n, U2.8, CK.7]
  VCC: [U1.20, U2.16, U2.CLR_n, CK.14]
  open: [U1.LE]
  d: [U1.D0]
  held: [U1.Q0, U2.D0]
  clk: [CK.8, U2.CLK]
ports:
  open: in
  d: in
"""

RAM = """
board: ram
title: A memory at a counter
parts:
  U1: 6116
  U2: 74LS163
  CK: {part: oscillator, frequency: 1 Hz}
nets:
  GND: [U1.12, U1.CS_n, U1.A10, U1.A9, U1.A8, U1.A7, U1.A6, U1.A5, U1.A4, U2.8, CK.7]
  VCC: [U1.24, U2.16, U2.CLR_n, U2.LD_n, U2.ENP, U2.ENT, CK.14]
  we_n: [U1.WE_n]
  oe_n: [U1.OE_n]
  clk: [CK.8, U2.CLK]
  a[3:0]:
    - U1.[A3, A2, A1, A0]
    - U2.[Q3, Q2, Q1, Q0]
  d[7:0]: [[U1.IO7, U1.IO6, U1.IO5, U1.IO4, U1.IO3, U1.IO2, U1.IO1, U1.IO0]]
ports:
  we_n: in
  oe_n: in
  d[7:0]: both
"""

RIPPLES = """
board: ripples
title: Two flip-flops, the second clocked by the first
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

GATE_LATCH = """
board: gate-latch
title: A latch of two gates before a register
parts:
  U1: 74LS00
  U2: 74LS174
  SET: {part: push-button}
  RST: {part: push-button}
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 10k}
  CK: {part: oscillator, frequency: 1 Hz}
nets:
  GND: [U1.7, U2.8, SET.1, RST.1, CK.7]
  VCC: [U1.14, U2.16, U2.CLR_n, R1.1, R2.1, CK.14]
  s_n: [SET.2, R1.2, U1.1]
  r_n: [RST.2, R2.2, U1.5]
  q: [U1.3, U1.4, U2.D0]
  q_n: [U1.6, U1.2]
  clk: [CK.8, U2.CLK]
"""

REFUSED = {
    LATE_ENABLE: "U3.R[0] is not the same after a period of the clock",
    BUTTON_CLEARS: "U1.R[0] changes while the clock stays low, when a control does",
    OTHER_EDGE: "U1.R[0] is not the same after a period of the clock",
    OPEN_LATCH: "U1.L[0] changes while the clock stays low, when a control does",
    RAM: "U1.M is a memory that is written by level, not at the clock's edge",
    RIPPLES: "U1.R2[0] is not the same after a period of the clock",
}
"""What is said of each, by the data books' function tables and design.md, section 4."""
