"""Capacitors that resistors charge, and the timers that live on them.

Sources: the application notes of the 555's data sheet (astable: the output is high while the
capacitor charges and low while it discharges; monostable: a low trigger starts a pulse that ends
when the capacitor is charged; bistable: trigger sets, reset clears), from memory; a resistor and a
capacitor at a reset pin (common practice). What each step shows is written down by hand.
"""

from random import Random

import pytest

from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.walk import Walker
from breadproof.specs.netlist.charging import charges
from tests.random_boards.boards import stimuli
from tests.random_boards.running import machine_of
from tests.support.witnesses import AmaranthWitness, SecondWitness, compare

ASTABLE = """
board: astable
parts:
  U1: "555"
  RA: {part: resistor, value: 1k}
  RB: {part: resistor, value: 10k}
  C1: {part: capacitor, value: 10u}
nets:
  VCC: [U1.8, U1.RESET_n, RA.1]
  GND: [U1.1, C1.2]
  dis: [U1.DISCH, RA.2, RB.1]
  cap: [RB.2, C1.1, U1.TRIG_n, U1.THRES]
  out: [U1.OUT]
ports: {out: out}
"""
MONOSTABLE = """
board: monostable
parts:
  U1: "555"
  GO: push-button
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 10k}
  C1: {part: capacitor, value: 10u}
nets:
  VCC: [U1.8, U1.RESET_n, R1.1, R2.1]
  GND: [U1.1, C1.2, GO.1]
  cap: [R1.2, C1.1, U1.DISCH, U1.THRES]
  go_n: [R2.2, GO.2, U1.TRIG_n]
  out: [U1.OUT]
ports: {out: out}
"""
BISTABLE = """
board: bistable
parts:
  U1: "555"
  SET: push-button
  CLEAR: push-button
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 1k}
nets:
  VCC: [U1.8, R1.1, R2.1]
  GND: [U1.1, U1.THRES, SET.1, CLEAR.1]
  set_n: [R1.2, SET.2, U1.TRIG_n]
  clear_n: [R2.2, CLEAR.2, U1.RESET_n]
  out: [U1.OUT]
ports: {out: out}
"""
RESET = """
board: reset
parts:
  U1: 74LS14
  CLEAR: push-button
  R1: {part: resistor, value: 1k}
  C1: {part: capacitor, value: 100u}
nets:
  VCC: [U1.14, R1.1]
  GND: [U1.7, C1.2, CLEAR.1]
  out: [R1.2, C1.1, CLEAR.2, U1.A1]
"""
ACTIVE_HIGH = """
board: active-high
parts:
  U1: 74HC14
  R1: {part: resistor, value: 10k}
  C1: {part: capacitor, value: 100u}
nets:
  VCC: [U1.14, C1.1]
  GND: [U1.7, R1.2]
  out: [R1.1, C1.2, U1.A1]
"""
BOARDS = {
    "astable": ASTABLE,
    "monostable": MONOSTABLE,
    "bistable": BISTABLE,
    "reset": RESET,
    "active high": ACTIVE_HIGH,
}


def walked(text: str, content: int, *moves: str) -> str:
    """The net ``out`` after power-up and after each move: a control that is flipped.

    ``content`` fills all storage whose level at power-on is not known.
    """
    machine = machine_of(text)
    told = dict(machine.first)
    walker = Walker(
        machine,
        free=lambda reader: 0,
        choice=lambda loop, cut: 0,
        storage={store.label: told.get(store.leaf, content) for store in machine.stores},
        controls={name: (0,) * len(leaves) for name, leaves in machine.controls.items()},
    )
    shown = [walker.power_up().nets["out"]]
    stand = dict.fromkeys(machine.controls, 0)
    for name in moves:
        stand[name] ^= 1
        shown.append(walker.step({name: (stand[name],)}).nets["out"])
    return "".join(map(str, shown))


@pytest.mark.parametrize("content", [0, 1])
def test_an_astable_timer_runs(content: int) -> None:
    """The empty capacitor triggers it; then it goes low and high, once each moment."""
    assert walked(ASTABLE, content, *["C1.later"] * 5) == "101010"


def test_a_monostable_timer_gives_one_pulse() -> None:
    """It begins at rest (storage 0), is triggered, outlives its trigger, and ends by itself."""
    moves = ["GO", "GO", "C1.later", "C1.later", "GO", "C1.later", "GO"]
    #         press release  ends     nothing     press  (held)      release: it ends when charged
    assert walked(MONOSTABLE, 0, *moves) == "01100110"


def test_a_monostable_timer_may_power_up_in_a_pulse() -> None:
    assert walked(MONOSTABLE, 1, "C1.later") == "10"


@pytest.mark.parametrize("content", [0, 1])
def test_a_bistable_timer_is_set_and_cleared(content: int) -> None:
    moves = ["SET", "SET", "CLEAR", "CLEAR", "SET", "SET"]
    assert walked(BISTABLE, content, *moves) == f"{content}110011"


def test_a_reset_is_low_at_first_and_rises_once() -> None:
    """Low after power-on, high some time later, and for good."""
    assert walked(RESET, 1, "C1.later", "C1.later", "C1.later") == "0111"


def test_a_button_takes_a_reset_back_at_once() -> None:
    """The button empties the capacitor; after it is let go the reset takes its time again."""
    moves = ["C1.later", "CLEAR", "C1.later", "CLEAR", "C1.later"]
    assert walked(RESET, 1, *moves) == "010001"


def test_an_active_high_reset_is_high_at_first() -> None:
    assert walked(ACTIVE_HIGH, 0, "C1.later", "C1.later") == "100"


@pytest.mark.parametrize("text", BOARDS.values(), ids=BOARDS)
@pytest.mark.parametrize("seed", range(3))
def test_witnesses_agree(text: str, seed: int) -> None:
    """The second evaluator and the Amaranth modules, over 40 random steps."""
    machine = machine_of(text)
    drawn = stimuli(machine, Random(seed), 40)
    seen = compare(
        machine,
        drawn,
        [
            SecondWitness(machine.netlist, drawn.start),
            AmaranthWitness(machine.netlist, drawn.start),
        ],
    )
    assert all(step.quiet for step in seen)


def slowed(machine: Machine) -> list[str]:
    return [machine.wired.nets[charge.net].name for charge in charges(machine.wired)]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("value: 100u", "value: 100p"),
        ("GND: [U1.7, C1.2, CLEAR.1]\n", "GND: [U1.7, CLEAR.1]\n  other: [C1.2]\n"),
        ("C1.1, CLEAR.2, U1.A1]", "C1.1, CLEAR.2, U1.A1, U1.Y2]"),
        ("out: [R1.2, C1.1, CLEAR.2, U1.A1]", "out: [CLEAR.2, U1.A1, C1.1]\n  n: [R1.2]"),
        ("C1.1, CLEAR.2, U1.A1]", "C1.1, CLEAR.2]"),
        ("CLEAR.2, U1.A1]\n", "CLEAR.2, U1.A1]\nports: {out: in}\n"),
    ],
    ids=["small", "to no supply", "driven hard", "no resistor", "nobody reads", "a port"],
)
def test_other_capacitors_slow_nothing(old: str, new: str) -> None:
    assert slowed(machine_of(RESET)) == ["out"]
    assert RESET.count(old) == 1
    assert slowed(machine_of(RESET.replace(old, new))) == []


def reset_with(more: str, parts: str = "", supply: str = "") -> Machine:
    """The reset board, with more on its net, more parts and more at the supply."""
    text = RESET.replace("CLEAR.2, U1.A1]", f"CLEAR.2, U1.A1{more}")
    text = text.replace("  R1: {", f"{parts}  R1: {{").replace("R1.1]", f"R1.1{supply}]")
    return machine_of(text)


def test_a_net_behind_an_open_contact_is_not_held_by_the_capacitor() -> None:
    """Nothing holds it while the button is up (design.md, section 4: with no driver, any level)."""
    machine = reset_with(", TAP.1]\n  far: [TAP.2, U1.A2]", "  TAP: push-button\n")
    net = machine.wired.net("far")
    assert net is not None
    leaf = machine.controls["TAP"][0]
    known = machine.nets[net.index].known
    assert known != Graph.TRUE
    assert leaf in machine.graph.cone([known])


@pytest.mark.parametrize(
    ("text", "sure"),
    [
        (RESET, True),
        (ACTIVE_HIGH, True),
        (ACTIVE_HIGH.replace("74HC14", "74LS14"), False),  # 10k is too weak: the input reads high
    ],
    ids=["pulled up", "pulled down", "too weak"],
)
def test_the_first_level_is_sure_only_where_the_net_has_one(text: str, sure: bool) -> None:
    assert charge_is_sure(machine_of(text)) == sure


def test_a_resistor_behind_a_button_takes_the_first_level() -> None:
    """Held down when power comes on, it pulls the other way at once: the net has no level."""
    parts = "  TAP: push-button\n  R2: {part: resistor, value: 1k}\n"
    assert not charge_is_sure(reset_with(", TAP.1]\n  far: [TAP.2, R2.1]", parts, ", R2.2"))


def charge_is_sure(machine: Machine) -> bool:
    labels = {store.leaf: store.label for store in machine.stores}
    return "C1.charge[0]" in {labels[leaf] for leaf, _ in machine.first}
