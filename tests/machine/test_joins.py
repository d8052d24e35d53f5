"""Analogue switches and diodes on boards written by hand, with levels written by hand.

Sources: a switch is a contact that its control closes (function tables of the 4053 and 4066, data
book, from memory); a diode conducts from anode to cathode (any textbook); diode OR with a
pull-down, diode AND with a pull-up and diode matrices are common practice. "Levels" in design.md
section 4 says what fights and what floats.
"""

import pytest

from breadproof.specs.machine.watch import Watcher
from breadproof.specs.netlist.drive import MAX_PATHS
from breadproof.specs.reading.diagnostics import BadInput
from tests.support.levels import Witnessed, machine_of

BUSES = """
board: two-buses
parts: {U1: 74HC4053, U9: 74HC14}
nets:
  VCC: [U1.16, U9.14]
  GND: [U1.6, U1.7, U1.8, U9.7]
  sel: [U1.10, U1.11]
  left0: [U1.12]
  left1: [U1.2]
  right0: [U1.13]
  right1: [U1.1]
  out0: [U1.14, U9.1]
  out1: [U1.15, U9.3]
ports: {sel: in, left0: in, left1: in, right0: in, right1: in}
"""


@pytest.mark.parametrize(
    ("sel", "left", "right", "out"),
    [
        (0, (0, 0), (1, 1), "L L"),
        (0, (0, 1), (1, 0), "L H"),
        (0, (1, 0), (0, 1), "H L"),
        (1, (0, 0), (1, 1), "H H"),
        (1, (0, 1), (1, 0), "H L"),
        (1, (1, 0), (0, 1), "L H"),
    ],
)
def test_a_4053_selects_one_of_two_buses(
    sel: int, left: tuple[int, int], right: tuple[int, int], out: str
) -> None:
    board = Witnessed(BUSES)
    levels = {"sel": sel, "left0": left[0], "left1": left[1]}
    levels |= {"right0": right[0], "right1": right[1]}
    assert board.see(levels, "out0 out1") == out
    # What is not selected is not touched: every source keeps its own level.
    own = " ".join("LH"[level] for level in (*left, *right))
    assert board.see(levels, "left0 left1 right0 right1") == own


BOTH_WAYS = """
board: both-ways
parts: {U1: 74HC4066, R1: {part: resistor, value: 10k}}
nets:
  VCC: [U1.14]
  GND: [U1.7, R1.2]
  on: [U1.13]
  a: [U1.1]
  b: [U1.2]
  rest: [U1.5, U1.6, U1.12, R1.1]
ports: {on: in, a: both, b: both}
"""


@pytest.mark.parametrize(
    ("on", "a", "b", "levels"),
    [
        (0, None, None, "Z Z"),
        (0, 1, None, "H Z"),
        (0, None, 0, "Z L"),
        (0, 1, 0, "H L"),
        (1, None, None, "Z Z"),
        (1, 1, None, "H H"),
        (1, None, 0, "L L"),
        (1, None, 1, "H H"),
        (1, 1, 0, "! !"),  # a fight through the switch
        (1, 1, 1, "! !"),  # two drivers fight whatever their levels
    ],
)
def test_who_drives_gives_a_switch_its_direction(
    on: int, a: int | None, b: int | None, levels: str
) -> None:
    assert Witnessed(BOTH_WAYS).see({"on": on, "a": a, "b": b}, "a b") == levels


FAN = """
board: one-of-eight
parts: {U1: 74HC4051, U2: 74HC4051}
nets:
  VCC: [U1.16, U2.16]
  GND: [U1.7, U1.8, U2.7, U2.8, U1.6, U2.6, U1.9, U1.10, U2.9, U2.10]
  s: [U1.11]
  t: [U2.11]
  y0: [U1.13, U2.13]
  y1: [U1.14, U2.14]
  z: [U1.3]
  w: [U2.3]
ports: {s: in, t: in, z: in, w: both}
"""


@pytest.mark.parametrize(
    ("s", "t", "z", "w", "levels"),
    [
        (0, 0, 1, None, "H Z H"),  # through both selectors
        (1, 1, 0, None, "Z L L"),
        (0, 1, 1, None, "H Z Z"),  # each at another line
        (0, 1, 1, 0, "H L L"),
        (0, 0, 1, 0, "! Z !"),
    ],
)
def test_two_selectors_meet_on_the_same_lines(
    s: int, t: int, z: int, w: int | None, levels: str
) -> None:
    assert Witnessed(FAN).see({"s": s, "t": t, "z": z, "w": w}, "y0 y1 w") == levels


def test_two_selectors_of_sixteen_share_their_lines() -> None:
    """Channels of one selector never meet, so that the ways stay few."""
    lines = [*range(9, 1, -1), *range(23, 15, -1)]  # the pins of Y0 to Y15
    shared = "".join(f"  y{n}: [U1.{pin}, U2.{pin}]\n" for n, pin in enumerate(lines))
    ports = "".join(f", y{n}: both" for n in range(16))
    board = Witnessed(
        "board: crossbar\nparts: {U1: 74HC4067, U2: 74HC4067}\nnets:\n"
        "  VCC: [U1.24, U2.24]\n  GND: [U1.12, U2.12, U1.15, U2.15]\n"
        "  s0: [U1.10]\n  s1: [U1.11]\n  s2: [U1.14]\n  s3: [U1.13]\n"
        f"  t: [U2.10, U2.11, U2.14, U2.13]\n  z: [U1.1]\n  w: [U2.1]\n{shared}"
        f"ports: {{s0: in, s1: in, s2: in, s3: in, t: in, z: both, w: both{ports}}}\n"
    )
    idle: dict[str, int | None] = dict.fromkeys(("z", "w", *(f"y{n}" for n in range(16))))
    fifth = {"s0": 1, "s1": 0, "s2": 1, "s3": 0, "t": 1}
    assert board.see({**idle, **fifth, "y5": 1, "y15": 0}, "z w") == "H L"
    assert board.see({**idle, **fifth, "z": 0}, "y4 y5 y15 w") == "Z L Z Z"
    last = {"s0": 1, "s1": 1, "s2": 1, "s3": 1, "t": 1}
    assert board.see({**idle, **last, "z": 1}, "y5 y15 w") == "Z H H"


LOOP = """
board: switch-on-itself
parts:
  U1: 74HC4066
  U2: 74HC14
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 10k}
nets:
  VCC: [U1.14, U2.14]
  GND: [U1.7, U2.7, R1.2, R2.2]
  a: [U1.1]
  held: [U1.2, R1.1, U2.1]
  held_n: [U2.2, U1.13]
  rest: [U1.5, U1.6, U1.12, R2.1]
ports: {a: in}
"""


def test_a_switch_that_opens_itself_finds_no_level() -> None:
    """A high goes through while the net is low: it then opens the switch, and is gone."""
    board = Witnessed(LOOP.replace("U2.2, U1.13", "U2.2, U2.3").replace(
        "  rest: [", "  on: [U2.4, U1.13]\n  rest: ["))  # fmt: skip
    # With one inverter more a high keeps the switch closed, and a low lets it go: always low.
    assert board.see({"a": 0}, "held on") == "L L"
    machine = machine_of(LOOP)
    (loop,) = machine.loops
    assert loop.holds
    watcher = Watcher(machine, controls={"a": (1,)})
    with pytest.raises(Exception, match="found no level"):
        watcher.power_up()


SLOW = BUSES.replace("sel: [U1.10, U1.11]", "sel: [U1.10, U1.11, U9.5]")


@pytest.mark.parametrize(("left", "right"), [(1, 1), (0, 0), (0, 1), (1, 0)])
def test_what_a_switch_passes_is_unknown_while_its_select_changes(left: int, right: int) -> None:
    """It breaks before it makes: for a moment nobody drives, even if both sides are high."""
    machine = machine_of(SLOW)
    net = machine.netlist.net("out0")
    assert net is not None
    node = machine.nets[net.index].level
    fixed = {"left1": (0,), "right1": (0,), "left0": (left,), "right0": (right,)}
    watcher = Watcher(machine, free=lambda _: 1, controls={**fixed, "sel": (0,)}, swing_of=[node])
    watcher.power_up()
    watcher.step({"sel": (1,)})
    assert watcher.rounds[0].swings[node] == (1, 1)
    assert watcher.rounds[0].levels[node] == right
    watcher.step({"left0": (1 - left,)})  # behind an open switch nothing moves
    assert watcher.rounds[0].swings[node] == (right, 1 - right)
    watcher.step({"right0": (1 - right,)})
    assert watcher.rounds[0].swings[node] == (1, 1)


# diodes -----------------------------------------------------------------------------------------

OR = """
board: diode-or
parts: {D1: {part: diode}, D2: {part: diode}, R1: {part: resistor, value: 10k}, U1: 74HC14}
nets:
  VCC: [U1.14]
  GND: [U1.7, R1.2]
  a: [D1.A]
  b: [D2.A]
  y: [D1.K, D2.K, R1.1, U1.1]
ports: {a: both, b: both, y: both}
"""


@pytest.mark.parametrize(
    ("a", "b", "y", "levels"),
    [
        (0, 0, None, "L L L"),
        (0, 1, None, "L H H"),
        (1, 0, None, "H L H"),
        (1, 1, None, "H H H"),  # highs never fight
        (None, 1, None, "Z H H"),  # nothing goes back through D1
        (None, None, None, "L L L"),  # the pull-down comes back through both
        (1, 0, 0, "! L !"),  # a high against a low
        (1, 0, 1, "H L H"),
        (0, 0, 1, "L L H"),
    ],
)
def test_diode_or(a: int | None, b: int | None, y: int | None, levels: str) -> None:
    assert Witnessed(OR).see({"a": a, "b": b, "y": y}, "a b y") == levels


AND = """
board: diode-and
parts: {D1: {part: diode}, D2: {part: diode}, R1: {part: resistor, value: 10k}, U1: 74HC14}
nets:
  VCC: [U1.14, R1.2]
  GND: [U1.7]
  a: [D1.K]
  b: [D2.K]
  y: [D1.A, D2.A, R1.1, U1.1]
ports: {a: both, b: both, y: both}
"""


@pytest.mark.parametrize(
    ("a", "b", "y", "levels"),
    [
        (0, 0, None, "L L L"),  # lows never fight
        (0, 1, None, "L H L"),
        (1, 0, None, "H L L"),
        (1, 1, None, "H H H"),
        (None, 0, None, "Z L L"),
        (None, None, None, "H H H"),  # the pull-up goes on through both
        (0, 1, 1, "! H !"),
        (0, 1, 0, "L H L"),
    ],
)
def test_diode_and(a: int | None, b: int | None, y: int | None, levels: str) -> None:
    assert Witnessed(AND).see({"a": a, "b": b, "y": y}, "a b y") == levels


CHAIN = """
board: chain
parts:
  D1: {part: diode}
  D2: {part: diode}
  R1: {part: resistor, value: 1k}
  R2: {part: resistor, value: 10k}
nets:
  VCC: []
  GND: [R2.2]
  a: [D1.A]
  m: [D1.K, D2.A, R1.1]
  k: [D2.K, R2.1]
  p: [R1.2]
ports: {a: both, m: both, k: both, p: both}
"""


@pytest.mark.parametrize(
    ("levels", "seen"),
    [
        ({"a": 1}, "H H H"),
        ({"a": 0}, "L L L"),  # m is low through D2, from the pull-down at k
        ({"k": 0}, "L L L"),  # a low goes back through both diodes
        ({"a": 1, "k": 0}, "! ! !"),
        ({"k": 1}, "Z Z H"),  # nothing goes back, and the pull-down is at k
        ({"m": 0}, "L L L"),
        ({"m": 1}, "Z H H"),
        ({"p": 1}, "Z Z Z"),  # 1k up against 10k down: any level, and a sees none of it
        ({"p": 0}, "L L L"),
        ({"a": 1, "m": 0}, "! ! ?"),  # k gets a high only if m is one
        ({"a": 1, "m": 1}, "H H H"),
    ],
)
def test_two_diodes_in_a_row(levels: dict[str, int], seen: str) -> None:
    full: dict[str, int | None] = dict.fromkeys("amkp", None)
    full.update(levels)
    assert Witnessed(CHAIN).see(full, "a m k") == seen


# A ROM of four words of four bits: a selected word line is low, and a diode pulls its bit low.
WORDS = (0b1010, 0b0110, 0b0000, 0b1111)


def matrix(words: int, bits: int, holds: tuple[int, ...]) -> str:
    """A diode ROM: word lines are ports, bit lines have pull-ups and inverters."""
    parts, nets = (
        ["  U1: 74HC14", "  U2: 74HC14"],
        {"VCC": ["U1.14", "U2.14"], "GND": ["U1.7", "U2.7"]},
    )
    inputs = [f"U{u}.{n}" for u in (1, 2) for n in (1, 3, 5, 9, 11, 13)]
    for bit in range(bits):
        parts.append(f"  R{bit}: {{part: resistor, value: 10k}}")
        nets["VCC"].append(f"R{bit}.1")
        nets[f"b{bit}"] = [f"R{bit}.2", inputs[bit]]
    for word in range(words):
        nets[f"w{word}"] = []
        for bit in range(bits):
            if not holds[word] >> bit & 1:
                name = f"D{word}x{bit}"
                parts.append(f"  {name}: {{part: diode}}")
                nets[f"b{bit}"].append(f"{name}.A")
                nets[f"w{word}"].append(f"{name}.K")
    lines = ["board: matrix", "parts:", *parts, "nets:"]
    lines += [f"  {name}: [{', '.join(pins)}]" for name, pins in nets.items()]
    lines += ["ports:", *(f"  w{word}: in" for word in range(words))]
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize(
    ("selected", "levels"),
    [
        (0, "H L H L"),  # b3 b2 b1 b0
        (1, "L H H L"),
        (2, "L L L L"),
        (3, "H H H H"),
        (None, "H H H H"),
    ],
)
def test_a_diode_rom_shows_its_words(selected: int | None, levels: str) -> None:
    board = Witnessed(matrix(4, 4, WORDS))
    lines = {f"w{word}": int(word != selected) for word in range(4)}
    assert board.see(lines, "b3 b2 b1 b0") == levels
    # No word line is moved by another: highs do not go forth, lows do not come back.
    assert board.see(lines, "w0 w1 w2 w3") == " ".join("LH"[lines[f"w{n}"]] for n in range(4))


def test_two_words_at_once_show_what_both_have() -> None:
    board = Witnessed(matrix(4, 4, WORDS))
    assert board.see({"w0": 0, "w1": 0, "w2": 1, "w3": 1}, "b3 b2 b1 b0") == "L L H L"


def test_a_matrix_of_sixteen_by_eight_has_few_ways() -> None:
    """Sneak paths go forth through one diode and back through the next: none is a way."""
    holds = tuple((37 * word) & 0xFF for word in range(16))
    machine = machine_of(matrix(16, 8, holds))
    board = Witnessed(matrix(16, 8, holds))
    for word in (0, 5, 15):
        lines = {f"w{n}": int(n != word) for n in range(16)}
        wanted = " ".join("LH"[holds[word] >> bit & 1] for bit in range(8))
        assert board.see(lines, " ".join(f"b{bit}" for bit in range(8))) == wanted
    assert len(machine.graph) < 5000
    large = machine_of(matrix(64, 12, tuple(range(64))))
    assert len(large.graph) < 20000


def test_too_many_ways_are_still_told() -> None:
    """A bit line with more diodes than ways are followed, each to a line of its own."""
    words = MAX_PATHS + 1
    with pytest.raises(BadInput, match="contacts-tangled"):
        machine_of(matrix(words, 1, (0,) * words))


def test_a_bridge_of_diodes_rectifies() -> None:
    """Four diodes: whichever way the input stands, + is high and - is low (any textbook)."""
    bridge = (
        "board: bridge\nparts: {"
        + ", ".join(f"D{n}: {{part: diode}}" for n in range(1, 5))
        + "}\nnets:\n  a: [D1.A, D3.K]\n  b: [D2.A, D4.K]\n  plus: [D1.K, D2.K]\n"
        "  minus: [D3.A, D4.A]\nports: {a: both, b: both}\n"
    )
    board = Witnessed(bridge)
    assert board.see({"a": 1, "b": 0}, "plus minus") == "H L"
    assert board.see({"a": 0, "b": 1}, "plus minus") == "H L"
    assert board.see({"a": 1, "b": None}, "plus minus b") == "H Z Z"


ANTI = """
board: antiparallel
parts: {D1: {part: diode}, D2: {part: diode}}
nets:
  a: [D1.A, D2.K]
  b: [D1.K, D2.A]
ports: {a: both, b: both}
"""


@pytest.mark.parametrize(
    ("a", "b", "levels"),
    [(1, None, "H H"), (0, None, "L L"), (None, 1, "H H"), (1, 1, "H H"), (1, 0, "! !"),
     (None, None, "Z Z")],
)  # fmt: skip
def test_two_diodes_head_to_tail_pass_both_levels(
    a: int | None, b: int | None, levels: str
) -> None:
    assert Witnessed(ANTI).see({"a": a, "b": b}, "a b") == levels


HEAVY = """
board: heavy
parts:
  U1: 74HC4066
  U2: 74LS14
  U3: 74HC14
  R1: {part: resistor, value: 4.7k}
  R2: {part: resistor, value: 10k}
nets:
  VCC: [U1.14, U2.14, U3.14]
  GND: [U1.7, U2.7, U3.7, R1.2, R2.2]
  on: [U1.13]
  light: [U1.1, U3.1, R1.1]
  heavy: [U1.2, U2.1]
  rest: [U1.5, U1.6, U1.12, R2.1]
ports: {on: in}
"""


def test_a_pull_must_carry_what_a_switch_joins_to_it() -> None:
    """4.7k holds an HC input low, not an LS input: 0.4 mA (data book) make 1.9 V of it."""
    board = Witnessed(HEAVY)
    assert board.see({"on": 0}, "light heavy") == "L Z"
    assert board.see({"on": 1}, "light heavy") == "Z Z"
