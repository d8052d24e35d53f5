"""Contacts that bounce, as the Machine has them.

The same moves are made by the board with fingers and, contact by contact, by the board without
`bounces`: what the contacts do is worked out in `tests.support.fingers`, in words of common
practice. All nets must have the same levels, round by round. Bad input is told with its place.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.build import build_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import TraceStep
from breadproof.specs.machine.walk import Walker
from breadproof.specs.netlist.bouncing import finger_of
from breadproof.specs.netlist.model import Control
from breadproof.specs.reading.diagnostics import BadInput, Problems
from tests.random_boards.boards import stimuli
from tests.random_boards.running import machine_of
from tests.support.fingers import Contact
from tests.support.witnesses import AmaranthWitness, SecondWitness, Witness, compare

DESK = """
board: cue-panel
parts:
  U1: 74HC00
  U2: 74HC74
  GO: push-button
  MODE: {part: spdt, positions: [SET, SHOW]}
  FADE: {part: spdt, positions: [SLOW, FAST], makes-before-breaks: true}
  SW1: {part: dip-switch, ways: 2}
  ROT: {part: rotary-dip, positions: 10}
  RN1: {part: resistor-network, ways: 7, value: 1k}
  RN2: {part: resistor-network, ways: 4, value: 1k}
nets:
  VCC: [U1.14, U2.14, U2.1, U2.4, U2.10, U2.13, RN1.1, RN2.1]
  GND: [U1.7, U1.10, U1.13, U2.7, GO.1, MODE.2, FADE.2, SW1.3, SW1.4, ROT.C]
  go_n: [RN1.2, GO.2, U2.3]
  set_n: [RN1.3, MODE.1, U1.1]
  show_n: [RN1.4, MODE.3, U1.5]
  set: [U1.3, U1.4]
  show: [U1.6, U1.2, U2.11]
  slow_n: [RN1.5, FADE.1, U1.9]
  fast_n: [RN1.6, FADE.3, U1.12]
  w[2:1]: [[SW1.2, SW1.1], [RN1.8, RN1.7]]
  rot[3:0]: [[ROT.8, ROT.4, ROT.2, ROT.1], [RN2.5, RN2.4, RN2.3, RN2.2]]
  q_n: [U2.6, U2.2]
  s_n: [U2.8, U2.12]
bounces: [GO, MODE, FADE, SW1, ROT]
"""


class Hands:
    """Two boards moved alike: one with fingers, one whose controls are the contacts."""

    def __init__(self, machine: Machine, random: Random) -> None:
        self.random = random
        self.controls = machine.wired.controls
        told = dict(machine.first)
        controls = {one.name: self.position(one) for one in self.controls}
        plain = build_machine(replace(machine.wired, bounces=()), Problems())
        storage = {one.label: random.getrandbits(1) for one in plain.stores}
        hidden = {
            one.label: told.get(one.leaf, random.getrandbits(1))
            for one in machine.stores
            if finger_of(one.part)
        }
        self.whole = Walker(machine, storage={**storage, **hidden}, controls=dict(controls))
        self.plain = Walker(plain, storage=dict(storage), controls=dict(controls))
        self.stand = {
            one.name: [Contact.resting(bits) for bits in apart(one, controls[one.name])]
            for one in self.controls
        }
        self.bounces = 0

    def position(self, control: Control) -> tuple[int, ...]:
        while True:
            bits = tuple(self.random.getrandbits(1) for _ in control.bits)
            if not control.exclusive or sum(bits) < 2:
                return bits

    def move(self) -> tuple[TraceStep, TraceStep]:
        """A finger, or a bounce of one of its contacts."""
        control = self.random.choice(self.controls)
        here = self.stand[control.name]
        change: dict[str, tuple[int, ...]]
        if self.random.randrange(3):
            number = self.random.randrange(len(here))
            name = f"{control.name}/contact{number + 1 if len(here) > 1 else ''}.bounces"
            change = {name: (1 - self.whole.controls[name][0],)}
            before, here[number] = here[number], here[number].bounced()
            self.bounces += before != here[number]
        else:
            finger = self.position(control)
            change = {control.name: finger}
            for number, bits in enumerate(apart(control, finger)):
                if here[number].finger != bits:
                    here[number] = here[number].to(bits)
        contacts = tuple(bit for one in here for bit in one.contact)
        return self.whole.step(change), self.plain.step({control.name: contacts})


def apart(control: Control, bits: tuple[int, ...]) -> list[tuple[int, ...]]:
    """The bits of a control by contacts that bounce apart from each other."""
    return [bits] if control.exclusive else [(bit,) for bit in bits]


def levels(step: TraceStep, nets: tuple[str, ...], length: int) -> list[list[int]]:
    """The levels of nets in so many rounds; the last round goes on."""
    rounds = [[one.nets[name] for name in nets] for one in step.rounds]
    return rounds + [rounds[-1]] * (length - len(rounds))


@pytest.mark.parametrize("seed", range(2))
def test_contacts_do_what_the_words_say(seed: int) -> None:
    machine = machine_of(DESK)
    hands = Hands(machine, Random(seed))
    nets = tuple(net.name for net in machine.wired.nets)
    first = hands.whole.power_up(), hands.plain.power_up()
    for whole, plain in (first, *(hands.move() for _ in range(80))):
        length = max(len(whole.rounds), len(plain.rounds))
        assert levels(whole, nets, length) == levels(plain, nets, length)
    assert hands.bounces > 20


def test_witnesses_agree() -> None:
    """The second evaluator and the Amaranth modules, over 40 random steps."""
    machine = machine_of(DESK)
    drawn = stimuli(machine, Random(1), 40)
    witnesses: list[Witness] = [
        SecondWitness(machine.netlist, drawn.start),
        AmaranthWitness(machine.netlist, drawn.start),
    ]
    assert all(step.quiet for step in compare(machine, drawn, witnesses))


def test_what_may_change_together_may_bounce_together() -> None:
    machine = machine_of(f"{DESK}together: [[GO, MODE]]\n")
    group = ("GO", "MODE", "GO/contact.bounces", "MODE/contact.bounces")
    assert machine.netlist.together == (group,)


# bad input ----------------------------------------------------------------------------------------

WRONG = """\
board: cue-panel
parts:
  U1: 74HC14
  GO: push-button
  J1: {part: jumper}
  X1: {part: oscillator, frequency: 1 MHz}
  SW1: {part: dip-switch, ways: 2}
nets:
  VCC: [U1.14, X1.14, GO.1, J1.1]
  GND: [U1.7, X1.7]
  a: [U1.1, X1.8]
  b: [U1.3, GO.2, J1.2]
  c: [U1.5]
  bus: [U1.9]
ports: {c: in, bus: both}
"""


@pytest.mark.parametrize(
    ("text", "code", "message", "hint"),
    [
        (
            "[GP]",
            "control-missing",
            "'GP' is no button or switch",
            "There are GO, SW1[1], SW1, SW1[2].",
        ),
        (
            "[SW1x, GO]",
            "control-missing",
            "'SW1x' is no button or switch",
            "Did you mean SW1 or SW1[2] or SW1[1]?",
        ),
        (
            "[X1]",
            "control-missing",
            "'X1' is an oscillator, which has no contact",
            "There are GO, SW1[1], SW1, SW1[2].",
        ),
        (
            "[c]",
            "control-missing",
            "'c' is an input port: what bounces is on the board that drives it",
            "There are GO, SW1[1], SW1, SW1[2].",
        ),
        (
            "[bus]",
            "control-missing",
            "'bus' is a port: what bounces is on the board that drives it",
            "There are GO, SW1[1], SW1, SW1[2].",
        ),
        (
            "[J1]",
            "control-missing",
            "'J1' is a jumper, which is plugged while power is off",
            "There are GO, SW1[1], SW1, SW1[2].",
        ),
        (
            "[GO, GO]",
            "name-twice",
            "'GO' is said to bounce twice",
            "Name it once; a DIP switch stands for all its ways.",
        ),
        (
            '[SW1, "SW1[2]"]',
            "name-twice",
            "'SW1[2]' is said to bounce twice",
            "Name it once; a DIP switch stands for all its ways.",
        ),
        (
            "{GO: 1}",
            "board-shape",
            "'bounces' is a list of buttons and switches",
            "Write 'bounces: [STORE, MODE]'.",
        ),
    ],
)
def test_bad_input(tmp_path: Path, text: str, code: str, message: str, hint: str) -> None:
    path = tmp_path / "board.yaml"
    path.write_text(f"{WRONG}bounces: {text}\n", "utf-8")
    with pytest.raises(BadInput) as caught:
        load_machine(path)
    (found,) = caught.value.diagnostics
    assert (found.code, found.message, found.hint) == (code, message, hint)
    assert found.span.line == WRONG.count("\n") + 1
    assert found.span.column >= len("bounces: ") + 1


def test_joined_boards(tmp_path: Path) -> None:
    """Each board says what of it bounces; the file that joins them may add to that, once."""
    (tmp_path / "desk.yaml").write_text(WRONG + "bounces: [GO]\n", "utf-8")
    joint = tmp_path / "joint.yaml"
    joint.write_text("board: both\nboards: {desk: desk.yaml}\nbounces: [desk.SW1]\n", "utf-8")
    assert load_machine(joint).wired.bounces == ("desk/GO", "desk/SW1[1]", "desk/SW1[2]")
    joint.write_text("board: both\nboards: {desk: desk.yaml}\nbounces: [desk.GO]\n", "utf-8")
    with pytest.raises(BadInput) as caught:
        load_machine(joint)
    (found,) = caught.value.diagnostics
    assert found.code == "name-twice"
    assert found.hint == "Its own board says so already: take it out here."
