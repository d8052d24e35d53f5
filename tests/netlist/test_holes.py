"""Breadboards: which holes are joined, where legs come to stand, and what is no place at all.

Sources: common practice of solderless breadboards (five joined holes a half column, a trench three
tenths of an inch wide, rails); JEDEC MS-001 and MS-011 for the distance of the rows of a DIP, from
memory. Expected nets are written down by hand.
"""

from pathlib import Path

import pytest

from breadproof.specs.breadboard.footprints import dual_in_line
from breadproof.specs.breadboard.geometry import Breadboard, Hole, NoHole, Rail, across, find
from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.diagnostics import BadInput

LARGE = Breadboard(name="b1", columns=63, split=False)
SPLIT = Breadboard(name="b2", columns=30, split=True)

HEAD = """\
board: holes
breadboards: {b1: {tie-points: 830}, b2: {tie-points: 400, rails: split}}
"""


def netlist(tmp_path: Path, text: str) -> Netlist:
    path = tmp_path / "board.yaml"
    path.write_text(HEAD + text, "utf-8")
    return load_netlist(path)


def nets(board: Netlist) -> set[frozenset[str]]:
    return {frozenset(pin.label for pin in net.pins) for net in board.nets if net.pins}


def said(tmp_path: Path, text: str) -> str:
    with pytest.raises(BadInput) as caught:
        netlist(tmp_path, text)
    return str(caught.value).replace(f"{tmp_path}/", "")


@pytest.mark.parametrize(
    ("place", "joined"),
    [
        ("a1", ["e1", "d1", "c1", "b1", "a1"]),
        ("e63", ["e63", "d63", "c63", "b63", "a63"]),
        ("f7", ["f7", "g7", "h7", "i7", "j7"]),
    ],
)
def test_five_holes_are_joined_and_the_trench_parts_them(place: str, joined: list[str]) -> None:
    hole = find(LARGE, place)
    assert isinstance(hole, Hole)
    assert [other.label for other in hole.tie.holes] == [f"b1.{name}" for name in joined]


def test_rails_are_joined_along_their_length_or_half() -> None:
    assert find(LARGE, "upper+") == find(LARGE, "upper+60") == Rail("b1", "upper", "+")
    assert find(SPLIT, "lower-3") == find(SPLIT, "lower-15") == Rail("b2", "lower", "-", 1)
    assert find(SPLIT, "lower-16") == find(SPLIT, "lower-30") == Rail("b2", "lower", "-", 2)


@pytest.mark.parametrize(
    ("board", "place", "why"),
    [
        (LARGE, "k3", "'k3' is no hole"),
        (LARGE, "a0", "'b1' has no column 0"),
        (LARGE, "a64", "'b1' has no column 64"),
        (SPLIT, "j31", "'b2' has no column 31"),
        (SPLIT, "upper+", "the rails of 'b2' are split"),
        (LARGE, "upper+99", "'b1' has no column 99"),
        (LARGE, "middle+", "'middle+' is no hole"),
    ],
)
def test_places_that_are_not_there(board: Breadboard, place: str, why: str) -> None:
    with pytest.raises(NoHole) as caught:
        find(board, place)
    assert str(caught.value) == why
    assert caught.value.hint


def test_rows_are_a_tenth_apart_and_the_trench_three() -> None:
    assert across("e", 3) == "f"
    assert across("d", 6) == "h"
    assert across("f", -6) == "b"
    assert across("e", 2) is None
    assert across("a", -1) is None


def test_a_dual_in_line_package_counts_around() -> None:
    """Seen from above, notch to the left: 1 to 4 below from left to right, 5 to 8 back above."""
    assert dual_in_line(8, 3) == {
        "1": (0, 0), "2": (1, 0), "3": (2, 0), "4": (3, 0),
        "5": (3, 3), "6": (2, 3), "7": (1, 3), "8": (0, 3),
    }  # fmt: skip


GATES = """\
parts:
  U1: {part: 74LS00, at: b1.e5}
  U2: {part: 74LS00, at: b1.f30, rotated: true}
  U3: {part: "6116", at: b1.d40}
wires:
  - b1.a5 to b1.a30
  - b1.j5 to b1.upper+
  - b1.d24 to VCC
  - b1.upper+7 to VCC
  - U1.3 to b1.a40
  - {from: b1.j40, to: b1.upper+, colour: red}
"""


def test_legs_are_where_the_package_puts_them(tmp_path: Path) -> None:
    """U1: pin 1 in e5, pin 7 in e11, pin 8 in f11, pin 14 in f5. U2 is turned: pin 1 in f30, pin 7
    in f24, pin 8 in e24, pin 14 in e30. U3 is wide: pin 1 in d40, pin 24 in h40."""
    board = netlist(tmp_path, GATES)
    places = {leg.pin.label: leg.place for leg in board.layout.legs}
    wanted = {
        "U1.1": "e5", "U1.7": "e11", "U1.8": "f11", "U1.14": "f5",
        "U2.1": "f30", "U2.7": "f24", "U2.8": "e24", "U2.14": "e30",
        "U3.1": "d40", "U3.12": "d51", "U3.13": "h51", "U3.24": "h40",
    }  # fmt: skip
    assert {pin: places[pin] for pin in wanted} == {
        pin: find(LARGE, hole) for pin, hole in wanted.items()
    }
    assert nets(board) == {
        frozenset({"U1.1", "U2.14"}),
        frozenset({"U1.14", "U2.8", "U3.24"}),
        frozenset({"U1.3", "U3.1"}),
    }
    assert [wire.colour for wire in board.layout.wires][-1] == "red"


def test_a_net_is_called_as_the_file_calls_it(tmp_path: Path) -> None:
    text = GATES + "names: {tap: U1.3, tap_too: b1.b40}\nnets: {mix: [U1.1, U1.2]}\n"
    board = netlist(tmp_path, text)
    named = {net.name: {pin.label for pin in net.pins} for net in board.nets}
    assert named["mix"] == {"U1.1", "U1.2", "U2.14"}
    assert named["tap"] == {"U1.3", "U3.1"}
    assert dict(board.aliases) == {"tap_too": [net.name for net in board.nets].index("tap")}
    assert named["VCC"] == {"U1.14", "U2.8", "U3.24"}
    assert board.nets[[net.name for net in board.nets].index("VCC")].rail == 5.0


def test_two_legged_parts_stand_in_two_holes(tmp_path: Path) -> None:
    board = netlist(
        tmp_path,
        """\
parts:
  R1: {part: resistor, value: 1k, at: [b1.a1, b1.a9]}
  R2: {part: resistor, value: 1k, at: [b1.b9, b1.upper-]}
  S1: {part: spdt, positions: [UP, DOWN], at: [b2.a1, b2.a2, b2.a3]}
  D1: {part: led, at: [b1.upper-, b2.b2]}
  N1: {part: resistor-network, ways: 4, value: 10k, at: b2.a10}
  W1: {part: dip-switch, ways: 2, at: b2.e20}
wires: [b2.b11 to b2.d20, b2.b12 to b2.i20]
""",
    )
    assert nets(board) == {
        frozenset({"R1.2", "R2.1"}),
        frozenset({"R2.2", "D1.1"}),
        frozenset({"S1.2", "D1.2"}),
        frozenset({"N1.2", "W1.1"}),
        frozenset({"N1.3", "W1.4"}),
    }


def test_halves_of_a_split_rail_are_two_nets(tmp_path: Path) -> None:
    text = """\
parts:
  R1: {part: resistor, value: 1k, at: [b2.upper+1, b2.a1]}
  R2: {part: resistor, value: 1k, at: [b2.upper+15, b2.a2]}
  R3: {part: resistor, value: 1k, at: [b2.upper+16, b2.a3]}
"""
    assert nets(netlist(tmp_path, text)) == {frozenset({"R1.1", "R2.1"})}
    bridged = netlist(tmp_path, text + "wires: [b2.upper+14 to b2.upper+17]\n")
    assert nets(bridged) == {frozenset({"R1.1", "R2.1", "R3.1"})}


WRONG = {
    "a hole off the board": (
        "parts: {R1: {part: resistor, value: 1k, at: [b1.a64, b1.a1]}}\n",
        """\
board.yaml:3:46: error: 'b1' has no column 64 [hole-missing]
    parts: {R1: {part: resistor, value: 1k, at: [b1.a64, b1.a1]}}
                                                 ^^^^^^
  Its columns are 1 to 63.""",
    ),
    "no such breadboard": (
        "parts: {U1: {part: 74LS00, at: b3.e1}}\n",
        """\
board.yaml:3:32: error: there is no breadboard 'b3' [hole-missing]
    parts: {U1: {part: 74LS00, at: b3.e1}}
                                   ^^^^^
  There is b1, b2; more are listed under 'breadboards:'.""",
    ),
    "two legs in one hole": (
        """\
parts:
  R1: {part: resistor, value: 1k, at: [b1.a1, b1.a9]}
  R2: {part: resistor, value: 1k, at: [b1.a9, b1.a3]}
""",
        """\
board.yaml:5:40: error: b1.a9 holds R1.2 already, and cannot hold R2.1 too [hole-taken]
      R2: {part: resistor, value: 1k, at: [b1.a9, b1.a3]}
                                           ^^^^^
  first here: board.yaml:4:47
      R1: {part: resistor, value: 1k, at: [b1.a1, b1.a9]}
                                                  ^^^^^
  Use another hole of the same column: the five of a half are joined.""",
    ),
    "a part on top of another": (
        """\
parts:
  U1: {part: 74LS00, at: b1.e1}
  U2: {part: 74LS00, at: b1.e7}
""",
        """\
board.yaml:5:26: error: U2 lies on top of U1 in column 7 of 'b1' [part-on-part]
      U2: {part: 74LS00, at: b1.e7}
                             ^^^^^
  first here: board.yaml:4:26
      U1: {part: 74LS00, at: b1.e1}
                             ^^^^^
  Move one of them; each column across the trench holds one.
board.yaml:5:26: error: b1.e7 holds U1.7 already, and cannot hold U2.1 too [hole-taken]
      U2: {part: 74LS00, at: b1.e7}
                             ^^^^^
  first here: board.yaml:4:26
      U1: {part: 74LS00, at: b1.e1}
                             ^^^^^
  Use another hole of the same column: the five of a half are joined.
board.yaml:5:26: error: b1.f7 holds U1.8 already, and cannot hold U2.14 too [hole-taken]
      U2: {part: 74LS00, at: b1.e7}
                             ^^^^^
  first here: board.yaml:4:26
      U1: {part: 74LS00, at: b1.e1}
                             ^^^^^
  Use another hole of the same column: the five of a half are joined.""",
    ),
    "across no trench": (
        "parts: {U1: {part: 74LS00, at: b1.c1}}\n",
        """\
board.yaml:3:32: error: U1 in b1.c1 is not across the trench [place-wrong]
    parts: {U1: {part: 74LS00, at: b1.c1}}
                                   ^^^^^
  Its rows are 0.3 inch apart: put pin 1 into row e.""",
    ),
    "the notch the other way": (
        "parts: {U1: {part: 74LS00, at: b1.f1}}\n",
        """\
board.yaml:3:32: error: with pin 1 in b1.f1 the notch of U1 is towards column 63 [place-wrong]
    parts: {U1: {part: 74LS00, at: b1.f1}}
                                   ^^^^^
  Put pin 1 into rows a to e, or write 'rotated: true'.""",
    ),
    "over the end": (
        "parts: {U1: {part: 74LS00, at: b1.e60}}\n",
        """\
board.yaml:3:32: error: U1 in b1.e60 does not end on 'b1': pin 5 would be in column 64 \
[place-wrong]
    parts: {U1: {part: 74LS00, at: b1.e60}}
                                   ^^^^^^
  Its columns are 1 to 63.""",
    ),
    "too few holes": (
        "parts: {R1: {part: resistor, value: 1k, at: b1.a1}}\n",
        """\
board.yaml:3:45: error: R1 needs a hole for each of its 2 pins [place-wrong]
    parts: {R1: {part: resistor, value: 1k, at: b1.a1}}
                                                ^^^^^
  List them in the order of its pins: 'at: [b1.a5, b1.a12]'.""",
    ),
    "a wire to nowhere": (
        "parts: {U1: {part: 74LS00, at: b1.e1}}\nwires: [U1.15 to GND, U9.1 to b1.a9]\n",
        """\
board.yaml:4:9: error: U1 has no pin '15' [pin-missing]
    wires: [U1.15 to GND, U9.1 to b1.a9]
            ^^^^^
  They are A1, B1, Y1, A2, B2, Y2, GND, Y3, A3, B3, Y4, A4, B4, VCC.
board.yaml:4:23: error: 'U9.1' is no hole, pin or net [end-unknown]
    wires: [U1.15 to GND, U9.1 to b1.a9]
                          ^^^^
  An end is b1.a12, b1.upper+, U1.15, or the name of a net.""",
    ),
    "a wire to a part": (
        "parts: {R1: {part: resistor, value: 1k}}\nwires: [b1.a9 to R1]\nnames: {x: R1}\n",
        """\
board.yaml:4:18: error: 'R1' is a part, no pin of it [end-unknown]
    wires: [b1.a9 to R1]
                     ^^
  Its pins are R1.1, R1.2.
board.yaml:5:12: error: 'R1' is a part, no pin of it [end-unknown]
    names: {x: R1}
               ^^
  Its pins are R1.1, R1.2.""",
    ),
    "no wire": (
        "parts: {U1: {part: 74LS00, at: b1.e1}}\nwires: [U1.1 U1.2]\n",
        """\
board.yaml:4:9: error: this is no wire [wire-malformed]
    wires: [U1.1 U1.2]
            ^^^^^^^^^
  Write 'b1.a12 to b1.j30', or {from: b1.a12, to: b1.j30, colour: red}.""",
    ),
}


@pytest.mark.parametrize(("text", "message"), WRONG.values(), ids=WRONG)
def test_what_is_said(tmp_path: Path, text: str, message: str) -> None:
    assert said(tmp_path, text) == message
