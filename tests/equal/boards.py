"""Boards that the tests of the proof share: small, with ports out, so that other tools see all."""

MINDER = """
board: minder
title: A gated counter, a latch of two gates, a small memory and an adder
parts:
  U1: 74LS08
  U2: 74LS74
  U3: 74LS163
  U4: 74LS00
  U5: 74LS189
  U6: 74LS283
  S: {part: push-button}
  R: {part: push-button}
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 10k}
  CK: {part: oscillator, frequency: 1 Hz}
nets:
  GND: [U1.7, U2.7, U3.8, U4.7, U5.8, U6.8, U6.C0, CK.7, S.1, R.1, U5.A3, U5.A2, U5.CS_n]
  VCC: [U1.14, U2.14, U2.CLR1_n, U2.PRE1_n, U3.16, U3.CLR_n, U3.LD_n, U3.ENP, U3.ENT, U4.14, U5.16,
        U6.16, CK.14, R1.1, R2.1]
  s_n: [S.2, R1.2, U4.1]
  r_n: [R.2, R2.2, U4.5]
  q: [U4.3, U4.4, U5.WE_n]
  q_n: [U4.6, U4.2]
  clk: [CK.8, U1.1, U2.CLK1]
  wish: [U2.D1]
  enable: [U2.Q1, U1.2]
  gated: [U1.3, U3.CLK]
  n[3:0]: [[U3.Q3, U3.Q2, U3.Q1, U3.Q0], [U5.D3, U5.D2, U5.D1, U5.D0], [U6.A4, U6.A3, U6.A2, U6.A1]]
  a[1:0]: [[U5.A1, U5.A0]]
  word[3:0]: [[U5.O3_n, U5.O2_n, U5.O1_n, U5.O0_n], [U6.B4, U6.B3, U6.B2, U6.B1]]
  sum[3:0]: [[U6.S4, U6.S3, U6.S2, U6.S1]]
  carry: [U6.C4]
ports:
  wish: in
  a[1:0]: in
  q: out
  enable: out
  n[3:0]: out
  sum[3:0]: out
  carry: out
"""

BAR = """
board: light-bar
title: A bar of lamps of which some hang on switches, and a lamp of its own
parts:
  U1: 74HC08
  SW: {part: dip-switch, ways: 3}
  R1: {part: resistor-network, ways: 4, value: 10k}
  LB: {part: led-bar, ways: 3}
  R2: {part: resistor-network, ways: 4, value: 330}
  ON: {part: led}
  R3: {part: resistor, value: 330}
nets:
  VCC: [U1.14, SW.4, SW.5, SW.6, ON.A]
  GND: [U1.7, R1.1, R2.1, R3.1, U1.9, U1.10, U1.12, U1.13]
  a: [SW.1, R1.2, U1.1]
  b: [SW.2, R1.3, U1.2, U1.4]
  c: [SW.3, R1.4, U1.5]
  first: [U1.3, LB.1]
  second: [U1.6, LB.2]
  third: [LB.3, U1.8]
  k[2:0]: [[LB.4, LB.5, LB.6], [R2.4, R2.3, R2.2]]
  on: [ON.K, R3.2]
"""
