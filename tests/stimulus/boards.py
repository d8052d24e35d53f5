"""A small board with one of everything that a script can move, and how it is played."""

from dataclasses import dataclass
from pathlib import Path

from breadproof.export.stimulus.player import Pause, Player
from breadproof.export.stimulus.setting import Setting, setting
from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.script import Script, read_script

PAD = """
board: step-pad
title: A counter, a memory with a bus of its own, a latch of gates, and lamps
parts:
  U1: 74LS00
  U2: 74LS163
  U3: 74LS244
  U4: 6116
  MODE: {part: spdt, positions: [HOLD, COUNT]}
  SW: {part: dip-switch, ways: 4}
  TAKE: {part: push-button}
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 10k}
  R3: {part: resistor-network, ways: 4, value: 10k}
  R4: {part: resistor, value: 10k}
  D1: {part: led}
  R5: {part: resistor, value: 330}
  CK: {part: oscillator, frequency: 1 kHz}
nets:
  GND: [U1.7, U2.8, U3.10, U4.12, U4.CS_n, MODE.2, TAKE.1, CK.7, R5.1, SW.8, SW.7, SW.6, SW.5,
        U4.1, U4.2, U4.3, U4.4, U4.22, U4.23, U4.19]
  VCC: [U1.14, R1.1, R2.1, R3.1, R4.1, U2.16, U2.CLR_n, U2.LD_n, U3.20, U4.24, CK.14]
  hold_n: [MODE.1, R1.2, U1.1]
  count_n: [MODE.3, R2.2, U1.5]
  hold: [U1.3, U1.4]
  count: [U1.6, U1.2, U2.ENP, U2.ENT, D1.A]
  lamp: [D1.K, R5.2]
  take_n: [TAKE.2, R4.2, U4.WE_n, U1.9, U1.10, U3.1, U3.19]
  take: [U1.8, U4.OE_n]
  clk: [CK.8, U2.2]
  at[3:0]: [[U2.Q3, U2.Q2, U2.Q1, U2.Q0], [U4.A3, U4.A2, U4.A1, U4.A0]]
  sw[3:0]: [[SW.4, SW.3, SW.2, SW.1], [R3.5, R3.4, R3.3, R3.2], [U3.8, U3.6, U3.4, U3.2]]
  bus[3:0]: [[U3.12, U3.14, U3.16, U3.18], [U4.IO3, U4.IO2, U4.IO1, U4.IO0]]
ports:
  bus[3:0]: out
"""

SCRIPT = """
stimulus:
  - drive: {SW: 4'b0101}
  - press: TAKE
  - check: {bus: 4'b1010, "U4.M[0] & 15": 10, D1: 0}
  - drive: {MODE: COUNT}
  - clock: {CK: 2}
  - check: {says: It counts, formula: "at == 2 && D1 && count && !prev(clk, 1) == rose(clk)"}
  - drive: {SW: 4'b0000}
  - press: TAKE
  - check: "bus == 15 && U4.M[at][3:0] == 15 && U4.M[0][3:0] == 10"
  - repeat:
      times: 3
      stimulus:
        - clock: {name: CK, until: "at == 0", most: 20}
        - check: {bus: 10}
        - clock: {CK: 1}
  - check: {MODE: COUNT, SW: 0, at: 1}
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """A board with a script, and both as read."""

    machine: Machine
    script: Script
    setting: Setting


def loaded(folder: Path, board: str | Path, script: str, *, every_step: bool = True) -> Loaded:
    """Read and look up; raises BadInput with all that is wrong."""
    if isinstance(board, str):
        path = folder / "board.yaml"
        path.write_text(board, encoding="utf-8")
    else:
        path = board
    file = folder / "script.yaml"
    file.write_text(script, encoding="utf-8")
    machine = load_machine(path)
    problems = Problems()
    read = read_script(file, problems)
    found = setting(machine, read, problems, every_step=every_step)
    return Loaded(machine=machine, script=read, setting=found)


def played(player: Player) -> Pause:
    """All of it, in one go."""
    return player.play(10**9)
