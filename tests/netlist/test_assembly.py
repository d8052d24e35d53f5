"""Many boards as one machine (design.md section 5): nets, names, ports and formulas.

There is no outside source for our own file form; what must come out is written down by hand.
"""

from pathlib import Path

import pytest

from breadproof.specs.load import load_machine, load_netlist
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.diagnostics import BadInput
from breadproof.verify.prove.prover import prove_board

SENDER = """\
board: sender
parts:
  U1: 74LS541
  SW: {part: dip-switch, ways: 4}
  N1: {part: resistor-network, ways: 8, value: 1k}
  N2: {part: resistor-network, ways: 4, value: 10k}
  GO: push-button
  R1: {part: resistor, value: 1k}
  J1: {part: connector, pins: 3}
nets:
  VCC: [U1.20, N1.1, N2.1, R1.1, J1.1]
  GND: [U1.10, SW.5, SW.6, SW.7, SW.8, GO.1, U1.6, U1.7, U1.8, U1.9, U1.1, J1.2]
  way[3:0]:
    - [SW.1, SW.2, SW.3, SW.4]
    - [N1.2, N1.3, N1.4, N1.5]
    - [U1.2, U1.3, U1.4, U1.5]
  go_n: [GO.2, R1.2, U1.19]
  bus[3:0]:
    - [U1.18, U1.17, U1.16, U1.15]
    - [N2.2, N2.3, N2.4, N2.5]
  spare: [J1.3, N1.6]
ports: {"bus[3:0]": both}
assert:
  pressed: {says: "the button enables", formula: "always (GO -> !go_n)"}
"""
TAKER = """\
board: taker
parts:
  U1: 74LS175
  CLEAR: {part: spdt, positions: [RUN, STOP]}
  R1: {part: resistor, value: 1k}
  J1: {part: connector, pins: 3}
nets:
  VCC: [U1.16, R1.1, J1.1]
  GND: [U1.8, CLEAR.1, J1.2]
  clear_n: [R1.2, CLEAR.2, U1.1]
  clk: [U1.9]
  d[0:3]: [U1.4, U1.5, U1.12, U1.13]
  q[0:3]: [U1.2, U1.7, U1.10, U1.15]
  extra: [J1.3]
ports: {clk: in, "d[0:3]": both, "q[0:3]": out}
assert:
  stops: {says: "stop clears", formula: "always (CLEAR == RUN -> q == 0)"}
"""
JOINED = """\
board: pair
boards: {a: sender.yaml, b: taker.yaml, c: taker.yaml}
joins:
  - a.J1 to b.J1
  - a.GND to c.GND
  - a.VCC to c.VCC
  - a.bus[3:0] to b.d[0:3]
  - a.bus[3:2] to c.d[0:1]
  - c.d[2:3] to a.bus[1:0]
together: [[b.clk, c.clk]]
assert:
  alike:
    says: what both take at one clock is the same
    formula: >-
      always (rose(b.clk) && rose(c.clk) && !a.go_n && b.clear_n && c.clear_n -> b.q == c.q)
"""


def files(tmp_path: Path, joined: str = JOINED) -> Path:
    (tmp_path / "sender.yaml").write_text(SENDER, "utf-8")
    (tmp_path / "taker.yaml").write_text(TAKER, "utf-8")
    path = tmp_path / "pair.yaml"
    path.write_text(joined, "utf-8")
    return path


def pins(board: Netlist, name: str) -> set[str]:
    place = dict(board.aliases) | {net.name: net.index for net in board.nets}
    return {pin.label for pin in board.nets[place[name]].pins}


def test_nets_of_joined_boards_are_one(tmp_path: Path) -> None:
    board = load_netlist(files(tmp_path))
    assert pins(board, "a/bus[3]") == {"a/U1.18", "a/N2.2", "b/U1.4", "c/U1.4"}
    assert pins(board, "b/d[3]") == {"a/U1.15", "a/N2.5", "b/U1.13", "c/U1.13"}
    assert pins(board, "b/extra") == {"a/J1.3", "a/N1.6", "b/J1.3"}
    assert pins(board, "c/extra") == {"c/J1.3"}
    assert pins(board, "b/GND") == pins(board, "c/GND") == pins(board, "a/GND")
    assert {net.name: net.rail for net in board.nets if net.rail is not None} == {
        "a/VCC": 5.0,
        "a/GND": 0.0,
    }


def test_ports_that_are_joined_are_no_ports_any_more(tmp_path: Path) -> None:
    board = load_netlist(files(tmp_path))
    assert [(port.name, port.direction) for port in board.ports] == [
        ("b/clk", "in"), ("b/q", "out"), ("c/clk", "in"), ("c/q", "out"),
    ]  # fmt: skip
    names = [control.name for control in board.controls]
    assert names == [
        "a/SW[1]", "a/SW[2]", "a/SW[3]", "a/SW[4]", "a/GO", "b/CLEAR", "c/CLEAR", "b/clk", "c/clk",
    ]  # fmt: skip
    assert board.together == (("b/clk", "c/clk"),)


def test_formulas_speak_of_their_own_board_and_of_all(tmp_path: Path) -> None:
    """Each board's own formulas hold on both of its copies, and the joint one over them."""
    _, results = prove_board(load_machine(files(tmp_path)), seconds=60)
    verdicts = {one.name: one.verdict for one in results}
    wanted = ("alike", "a/pressed", "b/stops", "c/stops")
    assert {name: verdicts[name] for name in wanted} == dict.fromkeys(wanted, "holds")


def test_a_joint_formula_can_fail(tmp_path: Path) -> None:
    """Without the clears they need not be alike."""
    text = JOINED.replace(" && b.clear_n && c.clear_n", "")
    _, results = prove_board(load_machine(files(tmp_path, text)), seconds=60)
    assert {one.name: one.verdict for one in results}["alike"] == "fails"


def test_boards_of_boards(tmp_path: Path) -> None:
    files(tmp_path)
    path = tmp_path / "all.yaml"
    path.write_text("board: all\nboards: {one: pair.yaml, two: sender.yaml}\n", "utf-8")
    board = load_netlist(path)
    assert pins(board, "one/a/bus[3]") == {
        "one/a/U1.18", "one/a/N2.2", "one/b/U1.4", "one/c/U1.4",
    }  # fmt: skip
    assert pins(board, "two/bus[3]") == {"two/U1.18", "two/N2.2"}
    assert ("two/bus", "both") in [(port.name, port.direction) for port in board.ports]


INNER = """\
board: inner
parts: {U1: 74HC00, GO: push-button, R1: {part: resistor, value: 10k}}
nets:
  VCC: [U1.14, R1.1]
  GND: [U1.7, GO.1, U1.4, U1.5, U1.9, U1.10, U1.12, U1.13]
  go_n: [GO.2, R1.2, U1.1, U1.2]
  y: [U1.3]
"""
MIDDLE = """\
board: middle
parts: {U9: 74HC04}
nets:
  VCC: [U9.14]
  GND: [U9.7, U9.3, U9.5, U9.9, U9.11, U9.13]
  a: [U9.1]
  z: [U9.2]
ports: {z: out}
boards: {low: inner.yaml}
joins: [low.y to U9.1]
"""
OUTER = """\
board: outer
boards: {m: middle.yaml}
joins: [m.GND to m.low.GND, m.VCC to m.low.U1.14]
bounces: [m.low.GO]
together: [[m.low.GO]]
reset: {press: m.low.GO}
assert:
  gate: "always (m.low.y == !m.low.go_n)"
  turned: "always (m.z == !m.low.y)"
"""


def test_names_on_boards_of_boards(tmp_path: Path) -> None:
    """Whatever names something in the outer file reaches through both boards; the 00 is a
    NAND, the 04 inverts (data book)."""
    for name, text in (("inner", INNER), ("middle", MIDDLE), ("outer", OUTER)):
        (tmp_path / f"{name}.yaml").write_text(text, "utf-8")
    machine = load_machine(tmp_path / "outer.yaml")
    board = machine.netlist
    assert pins(board, "m/GND") >= {"m/U9.7", "m/low/U1.7"}
    assert pins(board, "m/VCC") == {"m/U9.14", "m/low/U1.14", "m/low/R1.1"}
    assert board.bounces == ("m/low/GO",)
    assert board.together != "all"
    assert board.together[0][0] == "m/low/GO"
    assert board.reset == (("press", "m/low/GO"),)
    _, results = prove_board(machine, seconds=10)
    verdicts = {one.name: one.verdict for one in results}
    assert verdicts["gate"] == verdicts["turned"] == "holds"


LEFT = """\
board: left
parts:
  U1: 74HC541
  MODE: {part: spdt, positions: [MODE, bus]}
  R1: {part: resistor, value: 10k}
  RN: {part: resistor-network, ways: 2, value: 10k}
nets:
  VCC: [U1.20, R1.1, RN.1, MODE.3]
  GND: [U1.10, MODE.1, U1.G2_n, U1.A2, U1.A4, U1.A5, U1.A6, U1.A7, U1.A8]
  off: [MODE.2, R1.2, U1.G1_n, U1.A1, U1.A3]
  bus[1:0]: [[U1.Y2, U1.Y1], [RN.2, RN.3]]
ports: {"bus[1:0]": both, off: out}
assert:
  mine: "always (!outside(bus) && MODE == MODE -> bus == 2'd0)"
  there: "always (MODE == bus -> outside(bus))"
  at-bus: "always (MODE != MODE && bus == 2'd1 -> off)"
"""
RIGHT = """\
board: right
parts: {U1: 74HC541, U2: 74HC04}
nets:
  VCC: [U1.20, U2.14]
  GND:
    - [U1.10, U1.G2_n, U1.A2, U1.A4, U1.A5, U1.A6, U1.A7, U1.A8]
    - [U2.7, U2.A2, U2.A3, U2.A4, U2.A5, U2.A6]
  off: [U2.A1, U1.A1]
  on: [U2.Y1, U1.G1_n, U1.A3]
  bus[1:0]: [U1.Y2, U1.Y1]
ports: {"bus[1:0]": both, off: in}
"""
BOTH = """\
board: both
boards: {l: left.yaml, r: right.yaml}
joins: [l.VCC to r.VCC, l.GND to r.GND, l.bus to r.bus, l.off to r.off]
assert:
  right-drives: "always (outside(l.bus) <-> !r.on)"
  left-drives: "always (outside(r.bus) <-> !l.off)"
"""


def both(tmp_path: Path, left: str = LEFT) -> Path:
    for name, text in (("left", left), ("right", RIGHT), ("both", BOTH)):
        (tmp_path / f"{name}.yaml").write_text(text, "utf-8")
    (tmp_path / "twice.yaml").write_text(
        "board: twice\nboards: {x: both.yaml, y: both.yaml}\n"
        "joins: [x.l.GND to y.l.GND, x.r.VCC to y.l.VCC]\n",
        "utf-8",
    )
    return tmp_path / "both.yaml"


@pytest.mark.parametrize(("name", "boards"), [("both", ("",)), ("twice", ("x/", "y/"))])
def test_outside_of_a_port_that_is_joined(
    tmp_path: Path, name: str, boards: tuple[str, ...]
) -> None:
    """It is on the other board; positions that are called as nets and parts stay positions. The
    541 drives while both of its enables are low (data book)."""
    path = both(tmp_path).with_name(f"{name}.yaml")
    _, results = prove_board(load_machine(path), seconds=10)
    verdicts = {one.name: one.verdict for one in results if "/" in one.name or "-" in one.name}
    wanted = ("right-drives", "left-drives", "l/mine", "l/there", "l/at-bus")
    for board in boards:
        found = {one: verdicts[f"{board}{one}"] for one in wanted}
        assert found == dict.fromkeys(wanted, "holds")


OWN = {
    "a net that only another board has": (
        'there: "always (on)"',
        """\
left.yaml:15:19: error: nothing on this board is called 'on' [formula-meaning]
      there: "always (on)"
                      ^^
  A formula names nets, vectors, parts and their pins.""",
    ),
    "a board beside it": (
        'there: "always (r.on)"',
        """\
left.yaml:15:19: error: nothing on this board is called 'r.on' [formula-meaning]
      there: "always (r.on)"
                      ^^^^
  A formula names nets, vectors, parts and their pins.""",
    ),
    "a part": (
        'there: "always (U1.Y1 && MODE)"',
        """\
left.yaml:15:28: error: MODE is a change-over switch, no level [formula-meaning]
      there: "always (U1.Y1 && MODE)"
                               ^^^^
  Write MODE == MODE.""",
    ),
    "a name that is near": (
        'there: "always (!off -> offf)"',
        """\
left.yaml:15:27: error: nothing on this board is called 'offf' [formula-meaning]
      there: "always (!off -> offf)"
                              ^^^^
  Did you mean off?""",
    ),
}


@pytest.mark.parametrize(("entry", "first"), OWN.values(), ids=OWN)
def test_formulas_of_a_board_are_its_own(tmp_path: Path, entry: str, first: str) -> None:
    """What is wrong with one is told as it would be of that board alone."""
    left = LEFT.replace('there: "always (MODE == bus -> outside(bus))"', entry)
    path = both(tmp_path, left)
    for file in (path, tmp_path / "left.yaml"):
        with pytest.raises(BadInput) as caught:
            load_machine(file)
        assert str(caught.value).replace(f"{tmp_path}/", "") == first


def test_formulas_of_the_joining_file_are_told_with_dots(tmp_path: Path) -> None:
    path = both(tmp_path)
    path.write_text(BOTH + '  wrong: "always (l.MODE)"\n', "utf-8")
    with pytest.raises(BadInput) as caught:
        load_machine(path)
    assert "l.MODE is a change-over switch" in str(caught.value)
    assert "Write l.MODE == MODE." in str(caught.value)


GIVE = """\
board: give
parts: {X1: {part: oscillator, frequency: 1 kHz}, U1: 74HC04}
nets:
  VCC: [U1.14, X1.14]
  GND: [U1.7, X1.7, U1.3, U1.5, U1.9, U1.11, U1.13]
  x: [X1.8, U1.1]
  y: [U1.2]
ports: {x: out, y: out}
"""
TAKE = """\
board: take
parts: {U1: 74HC74, U2: 74HC04}
nets:
  VCC: [U1.14, U1.1, U1.4, U1.10, U1.13, U2.14]
  GND: [U1.7, U1.11, U1.12, U2.7, U2.3, U2.5, U2.9, U2.11, U2.13]
  d: [U1.2, U2.1]
  d_n: [U2.2]
  clk: [U1.3]
  q: [U1.5]
ports: {d: in, clk: in, q: out}
together: [[d, clk]]
assume:
  still: "always (rose(clk) -> stable(d))"
assert:
  takes: "always (rose(clk) -> q == d)"
"""
BENCH = """\
board: bench
boards: {g: give.yaml, t: take.yaml}
joins: [g.VCC to t.VCC, g.GND to t.GND, g.x to t.clk, g.y to t.d]
"""


def bench(tmp_path: Path, text: str = BENCH, take: str = TAKE) -> Path:
    for name, said in (("give", GIVE), ("take", take), ("bench", text)):
        (tmp_path / f"{name}.yaml").write_text(said, "utf-8")
    return tmp_path / "bench.yaml"


@pytest.mark.parametrize("assumed", ["rose(clk) -> stable(d)", "rose(U1.3) -> stable(U1.D1)"])
def test_what_a_board_assumes_of_others_is_to_be_proved(tmp_path: Path, assumed: str) -> None:
    """What the 74 takes in changes at its clock here: nothing holds that is so only without such
    edges."""
    path = bench(tmp_path, take=TAKE.replace("rose(clk) -> stable(d)", assumed))
    alone = {
        one.name: one for one in prove_board(load_machine(tmp_path / "take.yaml"), seconds=9)[1]
    }
    assert alone["takes"].verdict == alone["race:U1.3"].verdict == "holds"
    machine = load_machine(path)
    assert machine.netlist.together == ()
    found = {one.name: one for one in prove_board(machine, seconds=9)[1]}
    for name in ("t/still", "t/takes", "race:t/U1.3"):
        assert found[name].verdict == "fails", name
    assert not any(one.assumes for one in found.values())


def test_what_follows_from_another_board_is_not_assumed(tmp_path: Path) -> None:
    path = bench(
        tmp_path, take=TAKE.replace("-> stable(d)", "-> stable(d_n)").replace("rose(clk)", "d_n")
    )
    load_machine(tmp_path / "take.yaml")
    with pytest.raises(BadInput) as caught:
        load_machine(path)
    assert "an assumption speaks of what another board does (g.X1)" in str(caught.value)


def test_ports_of_the_joining_file_stay(tmp_path: Path) -> None:
    """They leave the machine, and bring in what several boards share."""
    path = bench(
        tmp_path,
        take=TAKE + "reset: {high: clk}\n",
        text="board: bench\nparts: {J1: {part: connector, pins: 2}}\n"
        "nets: {clk: [J1.1], seen: [J1.2]}\nports: {clk: in, seen: out}\n"
        "boards: {t: take.yaml, u: take.yaml}\n"
        "joins: [t.VCC to u.VCC, t.GND to u.GND, t.clk to u.clk, clk to t.clk, J1.2 to t.q]\n",
    )
    machine = load_machine(path)
    ports = [(port.name, port.direction) for port in machine.netlist.ports]
    # What a board says of its port is said of the one that moves it now.
    assert machine.netlist.together == (("t/d", "clk"), ("u/d", "clk"))
    assert machine.netlist.reset == (("high", "clk"), ("high", "clk"))
    assert ports == [("clk", "in"), ("seen", "out"), ("t/d", "in"), ("u/d", "in"), ("u/q", "out")]
    found = {one.name: one for one in prove_board(machine, seconds=9)[1]}
    assert found["t/takes"].verdict == found["u/takes"].verdict == "holds"
    assert found["t/takes"].assumes == ("t/still", "u/still")


WRONG = {
    "unequal width": (
        "  - a.bus[3:2] to c.d[0:1]\n",
        "  - a.bus[3:2] to c.d[0:2]\n",
        """\
pair.yaml:8:5: error: a.bus[3:2] has 2 nets and c.d[0:2] has 3 [join-width]
      - a.bus[3:2] to c.d[0:2]
        ^^^^^^^^^^^^^^^^^^^^^^
  Join as many with as many; a part of a vector is written bus[3:0].""",
    ),
    "no such board": (
        "a.VCC to c.VCC",
        "a.VCC to d.VCC",
        """\
pair.yaml:6:14: error: there is no board 'd' [end-unknown]
      - a.VCC to d.VCC
                 ^^^^^
  Write BOARD.NET, such as store.bus[7:0].""",
    ),
    "nothing of its own": (
        "a.VCC to c.VCC",
        "VCC to c.VCC",
        """\
pair.yaml:6:5: error: this file has no 'VCC' [end-unknown]
      - VCC to c.VCC
        ^^^
  Write BOARD.NET, such as store.bus[7:0].""",
    ),
    "no such net": (
        "a.VCC to c.VCC",
        "a.VCC to c.VC",
        """\
pair.yaml:6:14: error: board 'c' has no 'VC' [end-unknown]
      - a.VCC to c.VC
                 ^^^^
  Did you mean VCC?""",
    ),
    "supplies of two kinds": (
        "a.GND to c.GND",
        "a.GND to c.VCC",
        """\
sender.yaml:11:3: error: a join makes one net of supplies of 0 V and 5 V [rails-joined]
      VCC: [U1.20, N1.1, N2.1, R1.1, J1.1]
      ^^^
  Join grounds with grounds, and supplies of one voltage.""",
    ),
    "half a port": (
        "  - c.d[2:3] to a.bus[1:0]\n",
        "",
        """\
taker.yaml:15:18: error: only some nets of port 'c/d' are joined [port-half]
    ports: {clk: in, "d[0:3]": both, "q[0:3]": out}
                     ^^^^^^^^
  Join all of them, or make two vectors of it, each with a port.""",
    ),
    "itself": (
        "c: taker.yaml}",
        "c: pair.yaml}",
        """\
pair.yaml:2:44: error: board 'c' is made of itself [board-in-itself]
    boards: {a: sender.yaml, b: taker.yaml, c: pair.yaml}
                                               ^^^^^^^^^
  A file that joins boards cannot be one of them.""",
    ),
    "no file": (
        "b: taker.yaml,",
        "b: takes.yaml,",
        """\
pair.yaml:2:29: error: 'takes.yaml': there is no such file [file-unreadable]
    boards: {a: sender.yaml, b: takes.yaml, c: taker.yaml}
                                ^^^^^^^^^^
  The name is taken beside the board file.""",
    ),
    "no file named": (
        "b: taker.yaml,",
        "b: ,",
        """\
pair.yaml:2:26: error: b has no file [board-shape]
    boards: {a: sender.yaml, b: , c: taker.yaml}
                             ^
  Write 'b: FILE.yaml'.""",
    ),
    "no name": (
        "b: taker.yaml,",
        "b.1: taker.yaml,",
        """\
pair.yaml:2:26: error: 'b.1' is no name for a board [name-malformed]
    boards: {a: sender.yaml, b.1: taker.yaml, c: taker.yaml}
                             ^^^
  Letters, digits and _, a letter first, such as store.""",
    ),
    "a name for two": (
        "board: pair\n",
        "board: pair\nparts: {a: test-point}\n",
        """\
pair.yaml:3:10: error: 'a' names a board and something else in this file [name-twice]
    boards: {a: sender.yaml, b: taker.yaml, c: taker.yaml}
             ^
  Give the board another name, and write that in joins and formulas.""",
    ),
    "no such control": (
        "[[b.clk, c.clk]]",
        "[[b.clk, c.clock]]",
        """\
pair.yaml:10:20: error: 'c.clock' is no control [control-missing]
    together: [[b.clk, c.clock]]
                       ^^^^^^^
  Did you mean c.clk or b.clk?""",
    ),
    "no connector": (
        "a.J1 to b.J1",
        "a.J1 to b.U1",
        """\
pair.yaml:4:13: error: U1 is no connector [pin-missing]
      - a.J1 to b.U1
                ^^^^
  Name a pin: store.U1.3.""",
    ),
}


def test_errors_of_all_boards_once_each(tmp_path: Path) -> None:
    """Also those of one that comes after a board whose part files are wrong."""
    path = files(tmp_path)
    (tmp_path / "chips").mkdir()
    (tmp_path / "chips" / "9155.yaml").write_text('part: "9155"\n', "utf-8")
    sender = SENDER.replace("parts:\n", "catalogue: chips\nparts:\n  U9: 74HC9155\n")
    (tmp_path / "sender.yaml").write_text(sender, "utf-8")
    (tmp_path / "taker.yaml").write_text(TAKER.replace("U1.9]", "U1.99]"), "utf-8")
    with pytest.raises(BadInput) as caught:
        load_netlist(path)
    found = [(Path(d.span.file).name, d.code) for d in caught.value.diagnostics]
    assert "9155.yaml" in {file for file, _ in found}
    assert found.count(("taker.yaml", "pin-missing")) == 1


@pytest.mark.parametrize(("old", "new", "first"), WRONG.values(), ids=WRONG)
def test_what_is_said(tmp_path: Path, old: str, new: str, first: str) -> None:
    assert JOINED.count(old) == 1
    with pytest.raises(BadInput) as caught:
        load_netlist(files(tmp_path, JOINED.replace(old, new)))
    assert str(caught.value).replace(f"{tmp_path}/", "").startswith(first)
