"""Small boards, and runs of them walked by hand, for the tests of reports."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import Trace
from breadproof.specs.machine.walk import Walker
from breadproof.verify.prove.verdict import Kind, Result
from breadproof.verify.report.culprits import Story, tell
from breadproof.verify.report.replay import replay

Controls = Mapping[str, tuple[int, ...]]

TWO_SOURCES = """\
board: two-sources
title: Pattern switches and a register on one bus
parts:
  U1: 74LS244
  U2: 74LS574
  U3: 74LS04
  MODE: {part: spdt, positions: [SET, SHOW]}
  SW1: {part: dip-switch, ways: 2}
  TAKE: {part: push-button}
  RN1: {part: resistor-network, ways: 4, value: 4.7k}
nets:
  VCC: [U1.20, U2.20, U3.14, RN1.1, MODE.3]
  GND: [U1.10, U2.10, U3.7, SW1.3, SW1.4, MODE.1, TAKE.1, U1.19, U1.6, U1.8, U1.11, U1.13,
    U1.15, U1.17, U2.4, U2.5, U2.6, U2.7, U2.8, U2.9, U3.3, U3.5, U3.9, U3.11, U3.13]
  switches[1:0]:
    - [SW1.1, SW1.2]
    - [RN1.2, RN1.3]
    - [U1.2, U1.4]
  mode: [MODE.2, U1.1, RN1.4]
  take_n: [TAKE.2, RN1.5, U2.1, U3.1]
  take: [U3.2, U2.11]
  bus[1:0]:
    - U1.[18, 16]
    - U2.[19, 18]
    - U2.[2, 3]
ports: {"bus[1:0]": out}
assume:
  calm:
    says: The switches stay as they are.
    formula: always (stable(SW1[1]) && stable(SW1[2]))
assert:
  not-three:
    says: The bus never carries 3 when TAKE goes down.
    formula: "never (rose(TAKE) && bus == 2'd3)"
cover:
  taken: {formula: "U2.R[0]"}
"""
"""MODE puts the switches on the bus (SET), TAKE the register, which also takes in the bus then."""

GATED = """\
board: gated-clock
parts:
  U1: 74LS157
  U2: 74LS374
  SEL: {part: spdt, positions: [SLOW, FAST]}
  R1: {part: resistor, value: 1k}
nets:
  VCC: [U1.16, U2.20, R1.1, U1.2, U1.3]
  GND: [U1.8, U2.10, U1.15, SEL.1, U2.1, U1.5, U1.6, U1.10, U1.11, U1.13, U1.14]
  sel: [SEL.2, R1.2, U1.1]
  clk: [U1.4, U2.11]
  d: [U2.3]
  q: [U2.2]
ports: {d: in, q: out}
"""
"""A selector whose two inputs are both high: its output may pulse when SEL moves."""

RING = """\
board: ring
parts:
  U1: 74LS00
  GO: {part: push-button}
  R1: {part: resistor, value: 1k}
nets:
  VCC: [U1.14, R1.1]
  GND: [U1.7, GO.1]
  go_n: [GO.2, R1.2, U1.4, U1.5]
  go: [U1.6, U1.1]
  ring: [U1.3, U1.2]
"""
"""A NAND gate on itself: while GO is pressed it has no level."""

STROBE = """\
board: strobe
parts:
  U1: 74LS74
  U2: 74LS163
  U3: 74LS10
  U4: 74LS00
  U7: 6116
  STORE: {part: push-button}
  CLOCK: {part: push-button}
  R1: {part: resistor, value: 1k}
  R2: {part: resistor, value: 1k}
nets:
  VCC: [U1.14, U2.16, U3.14, U4.14, U7.24, R1.1, R2.1, U1.1, U1.4, U1.10, U1.13, U2.1, U2.7,
    U2.9, U2.10]
  GND: [U1.7, U2.8, U3.7, U4.7, U7.12, STORE.1, CLOCK.1, U7.18, U7.20, U2.3, U2.4, U2.5, U2.6,
    U7.1, U7.2, U7.3, U7.4, U7.19, U7.22, U7.23]
  store_n: [STORE.2, R1.2, U4.1, U4.2]
  store: [U4.3, U1.2]
  clk_n: [CLOCK.2, R2.2, U4.4, U4.5]
  clk: [U4.6, U1.3, U1.11, U2.2]
  first: [U1.5, U1.12, U3.1, U3.2]
  second_n: [U1.8, U3.13]
  strobe_n: [U3.12, U7.21]
  a[3:0]:
    - U2.[11, 12, 13, 14]
    - U7.[5, 6, 7, 8]
  d[7:0]: [U7.17, U7.16, U7.15, U7.14, U7.13, U7.11, U7.10, U7.9]
ports: {"d[7:0]": both}
assert:
  still: {says: The address stands while U7 writes., formula: "always (writes(U7) -> stable(a))"}
  pressed: {says: Only STORE has anything written., formula: "always (writes(U7) -> STORE)"}
"""
"""A write strobe of two flip-flops; the address counter goes on with the strobe's own clock."""


def machine_of(folder: Path, text: str) -> Machine:
    path = folder / "board.yaml"
    path.write_text(text, "utf-8")
    return load_machine(path)


def walked(
    machine: Machine,
    steps: Sequence[Controls],
    *,
    start: Controls | None = None,
    storage: Mapping[str, int] | None = None,
    free: Mapping[str, int] | None = None,
    rounds: int | None = None,
) -> Trace:
    """A run; what is not given is 0. ``rounds`` ends the last step after so many."""
    levels = free or {}
    walker = Walker(machine, free=lambda reader: levels.get(reader, 0))
    walker.storage.update(storage or {})
    walker.controls.update(start or {})
    done = [walker.power_up()]
    for number, step in enumerate(steps, start=1):
        done.append(walker.step(step, rounds if number == len(steps) else None))
    return Trace(
        storage={s.label: (storage or {}).get(s.label, 0) for s in machine.stores},
        words={},
        loops={},
        steps=tuple(done),
    )


def broken(name: str, trace: Trace, kind: Kind = "assert", says: str = "") -> Result:
    """A result that fails with a run."""
    return Result(
        name=name,
        kind=kind,
        verdict="fails",
        says=says,
        method="unrolling",
        steps=len(trace.steps) - 1,
        seconds=0.25,
        trace=trace,
    )


def story(machine: Machine, name: str, trace: Trace, kind: Kind = "assert") -> Story:
    return tell(broken(name, trace, kind), replay(machine, trace))
