"""Board to EDIF and back, and holes to nets: the Netlist is the same up to places and order."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from breadproof.convert_command import converted
from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.yamltree import Table, read_tree
from tests.random_boards.boards import boards
from tests.support.netlists import plain

ROOT = Path(__file__).parents[2]


def _is_one_board(path: Path) -> bool:
    tree = read_tree(path)
    return isinstance(tree, Table) and tree.get("board") is not None and tree.get("boards") is None


SHIPPED = [
    path
    for folder in (ROOT / "specs/boards", ROOT / "specs/boards/twins", ROOT / "verify/rules")
    for path in sorted(folder.glob("*.yaml"))
    if _is_one_board(path)
]
HOLES = """\
board: taps
title: 'Two taps, "one" at 50 % – and a spare'
rails: {V9: 9 V}
breadboards: {b1: {tie-points: 830}, b2: {tie-points: 400, rails: split}}
parts:
  U1: {part: 74LS00, at: b1.e5}
  U2: {part: 74LS04, at: b1.f30, rotated: true}
  U3: {part: 28C16, contents: [0x3F, 6, 0xFF, 0x5B]}
  U4: 74LS74
  U5: 74LS175
  R1: {part: resistor, value: 1k, at: [b1.a20, b1.upper+]}
  R2: {part: resistor, value: 47k}
  L1: {part: led, colour: amber}
  MODE: {part: spdt, positions: [SET, SHOW]}
  TAP: {part: push-button, at: [b1.b20, b1.b22]}
nets:
  V9: [R2.1]
  addr[3:0]: [[U3.5, U3.6, U3.7, U3.8]]
  next: [R2.2]
  sum: []
wires:
  - VCC to b1.upper+
  - GND to b1.upper-
  - b1.j5 to b1.upper+
  - U1.7 to GND
  - {from: b1.c22, to: b1.upper-, colour: black}
  - b1.c20 to U1.1
  - U1.1 to U1.2
  - U1.3 to U2.1
  - U1.6 to addr[2]
  - MODE.1 to addr[0]
  - U2.3 to L1.1
  - U1.3 to sum
names: {tap_n: b1.d20, tap: U1.3, tap2_n: U2.2}
ports: {tap2_n: out, tap: out, addr: both}
reset: {press: TAP, clocks: 2, keeps: [U4, U5]}
together: [[MODE, TAP]]
accept: {code: wire-single, pin: U2.3, because: the lamp's resistor comes later}
assume: {calm: {says: "calm", formula: "always (MODE != SET || stable(TAP))"}}
assert:
  low: {says: 'pressed is "low"', formula: "always (TAP -> !tap_n @(rose(U1.3)))"}
cover: {reached: "prev(addr == 4'hA)"}
"""


def as_named(name: str) -> str:
    """A net without a name is called as a pin, U1.3, and gets a name that a file can say."""
    return re.sub(r"(\w+)\.(\d+)\Z", r"\1_\2", name)


def again(path: Path, form: str, folder: Path) -> Path:
    suffix = "edf" if form == "edif" else "yaml"
    target = folder / f"again.{suffix}"
    target.write_text(converted(path, form, None, (), "", ()), "utf-8")
    return target


def check(path: Path, folder: Path) -> Netlist:
    """Through EDIF, and as a board of nets: both times the same."""
    first = load_netlist(path)
    expected = plain(first, as_named)
    through = load_netlist(again(again(path, "edif", folder), "board", folder))
    assert plain(through, as_named) == expected
    assert plain(load_netlist(again(path, "board", folder)), as_named) == expected
    return first


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_boards_that_ship(path: Path, tmp_path: Path) -> None:
    check(path, tmp_path)


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(boards())
def test_random_boards(text: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "board.yaml")
        path.write_text(text, "utf-8")
        check(path, Path(folder))


NAMES = st.sampled_from(("a", "b", "A", "bus", "N_1", "sel_2", "always", "Q", "P", "vcc"))


@settings(max_examples=40)
@given(st.data())
def test_random_wires_vectors_and_names(data: st.DataObject) -> None:
    """Small boards of resistors: nets and vectors, wires between pins, nets and bits, names."""
    dice = Random(data.draw(st.integers(0, 2**32)))
    parts = [f"R{n}" for n in range(8)]
    pins = [f"{part}.{n}" for part in parts for n in (1, 2)]
    dice.shuffle(pins)
    names = data.draw(st.lists(NAMES, unique=True, min_size=1, max_size=6))
    lines = ["board: few", "parts:", *(f"  {p}: {{part: resistor, value: 1k}}" for p in parts)]
    lines.append("nets:")
    ends = []
    for name in names:
        if dice.random() < 0.4:
            left, right = dice.choice(((1, 0), (0, 1), (2, 0), (5, 5), (3, 6)))
            width = abs(left - right) + 1
            row = [pins.pop() for _ in range(width)] if len(pins) > width else []
            lines += [f"  {name}[{left}:{right}]:", *(f"    - [{', '.join(row)}]" for _ in row[:1])]
            ends += [f"{name}[{n}]" for n in range(min(left, right), max(left, right) + 1)]
        else:
            row = [pins.pop() for _ in range(dice.randrange(3)) if pins]
            lines.append(f"  {name}: [{', '.join(row)}]")
            ends.append(name)
    ends += ["VCC", "GND", *pins]
    wires = [dice.sample(ends, 2) for _ in range(dice.randrange(8))]
    if wires:
        lines += ["wires:", *(f"  - {first} to {second}" for first, second in wires)]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "board.yaml")
        path.write_text("\n".join([*lines, ""]), "utf-8")
        # Two supplies that are one net have two names, and which is the net's is no matter.
        known = dict(load_netlist(path).aliases)
        assume("VCC" not in known and "GND" not in known)
        check(path, Path(folder))


def test_all_that_a_board_file_says(tmp_path: Path) -> None:
    path = tmp_path / "holes.yaml"
    path.write_text(HOLES, "utf-8")
    first = check(path, tmp_path)
    assert first.vectors
    assert first.aliases
    assert "colour: amber" in (tmp_path / "again.yaml").read_text("utf-8")


def test_the_same_board_gives_the_same_bytes(tmp_path: Path) -> None:
    """And EDIF of EDIF is that EDIF."""
    one = again(ROOT / "specs/boards/light-store.yaml", "edif", tmp_path).read_bytes()
    path = tmp_path / "first.edf"
    path.write_bytes(one)
    assert again(path, "edif", tmp_path).read_bytes() == one
    assert one.isascii()
