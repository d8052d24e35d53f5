"""The cone of a net has the chips that decide it, and their symbols."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof.specs.load import load_netlist
from breadproof.verify.pictures.cone import cone_of
from breadproof.verify.pictures.conepicture import Moment, cone_file
from breadproof.verify.pictures.symbols import symbol_of
from breadproof.verify.report.replay import replay
from tests.report import boards as b
from tests.support.guide import GUIDE

from .reading import of_class, parsed, texts

PICTURED = """\
board: pictured
parts:
  U1: 74LS00
  U2: 74LS74
  U3: 74LS02
  KEY: {part: push-button}
  R1: {part: resistor, value: 1k}
nets:
  VCC: [U1.14, U2.14, U3.14, R1.1, U2.1, U2.4]
  GND: [U1.7, U2.7, U3.7, KEY.1]
  key_n: [KEY.2, R1.2, U1.1, U1.2]
  key: [U1.3, U2.2]
  clk: [U2.3]
  held: [U2.5, U3.2]
  other: [U3.3]
  out: [U3.1]
ports: {clk: in, other: in, out: out}
"""


def _blocks(folder: Path, net: str, depth: int) -> set[str]:
    path = folder / "b.yaml"
    path.write_text(PICTURED, "utf-8")
    netlist = load_netlist(path)
    found = netlist.net(net)
    assert found is not None
    cone = cone_of(netlist, found.index, depth)
    return {block.part.name if block.part else "+".join(block.lines) for block in cone.blocks}


# By hand: out is U3's NOR of held (U2) and other (a port); U2 takes key (U1) at clk (a port).
@pytest.mark.parametrize(
    ("depth", "blocks"),
    [
        (1, {"U3"}),
        (2, {"U3", "U2", "other"}),
        (3, {"U3", "U2", "other", "U1", "clk"}),
        (4, {"U3", "U2", "other", "U1", "clk", "KEY+pull R1"}),
    ],
)
def test_chips_are_followed_back_so_far(tmp_path: Path, depth: int, blocks: set[str]) -> None:
    assert _blocks(tmp_path, "out", depth) == blocks


# By hand: lamp2 hangs at R4 from right_n, which the third gate of U1 makes of on and side.
@pytest.mark.parametrize(
    ("depth", "blocks"),
    [(1, {"R4", "U1"}), (2, {"R4", "U1", "MASTER+pull R1", "SIDE+pull R2"})],
)
def test_a_lamp_is_followed_back_through_its_resistor(depth: int, blocks: set[str]) -> None:
    netlist = load_netlist(GUIDE / "lamps-3.yaml")
    net = netlist.net("lamp2")
    assert net is not None
    found = cone_of(netlist, net.index, depth)
    assert {one.part.name if one.part else "+".join(one.lines) for one in found.blocks} == blocks
    said = texts(parsed(cone_file(netlist, found, None)))
    assert {"R4 330 ohm", "right_n", "lamp2"} <= set(said)


def test_lines_join_outputs_and_inputs(tmp_path: Path) -> None:
    path = tmp_path / "b.yaml"
    path.write_text(PICTURED, "utf-8")
    netlist = load_netlist(path)
    net = netlist.net("out")
    assert net is not None
    tree = parsed(cone_file(netlist, cone_of(netlist, net.index, 4), None))
    said = texts(tree)
    assert "U3 74LS02" in said
    assert {"\N{GREATER-THAN OR EQUAL TO}1", "&"} <= set(said)
    # NAND and NOR negate; CLR and PRE are active low.
    assert len(of_class(tree, "c-ring")) == 2 + 2
    assert len(of_class(tree, "c-edge")) == 1
    assert len(of_class(tree, "c-dot")) == 1  # key_n forks to both inputs of U1


# IEC 60617-12, from memory; what the chips are: data book.
@pytest.mark.parametrize(
    ("number", "output", "symbol"),
    [
        ("00", "Y1", ("&", True)),
        ("02", "Y1", ("\N{GREATER-THAN OR EQUAL TO}1", True)),
        ("04", "Y1", ("1", True)),
        ("08", "Y1", ("&", False)),
        ("10", "Y3", ("&", True)),
        ("32", "Y4", ("\N{GREATER-THAN OR EQUAL TO}1", False)),
        ("86", "Y2", ("=1", False)),
        ("51", "Y1", ("&\N{GREATER-THAN OR EQUAL TO}1", True)),
        ("157", "Y1", ("MUX", False)),
        ("163", "Q0", ("CTR", False)),
        ("138", "Y0_n", ("X/Y", False)),
        ("6116", "IO0", ("RAM", False)),
        ("283", "S1", ("\N{GREEK CAPITAL LETTER SIGMA}", False)),
    ],
)
def test_symbols(number: str, output: str, symbol: tuple[str, bool]) -> None:
    from breadproof.specs.catalogue.catalogue import Catalogue

    kind = Catalogue().find(number, "LS").type
    assert symbol_of(kind, output) == symbol


def test_levels_are_those_of_the_moment(tmp_path: Path) -> None:
    machine = b.machine_of(tmp_path, b.STROBE)
    trace = b.walked(machine, [{"STORE": (1,)}])
    run = replay(machine, trace)
    net = machine.netlist.net("store")
    assert net is not None
    for at, called in ((run.last[0], "the start"), (run.last[1], "step 1")):
        cone = cone_of(machine.netlist, net.index, 2)
        tree = parsed(cone_file(machine.netlist, cone, Moment(run=run, at=at, called=called)))
        # U4 inverts: pressed, the button pulls store_n low.
        high = called == "step 1"
        assert f"store = {int(high)}" in texts(tree)
        assert f"store_n = {int(not high)}" in texts(tree)
