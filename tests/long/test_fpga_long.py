"""Bitstreams of the light-store as other programs read them, an ECP5, a device that is too small,
and wrapped boards in long runs beside the Machine."""

from pathlib import Path

import pytest

from breadproof import cli
from breadproof.export.fpga.troubles import Unbuildable
from breadproof.specs.load import load_machine, load_netlist
from tests.export.boards import GATED, LATCH
from tests.fpga.boards import LOOK_UP, PAD, PAD_ECP5, machine_of, written
from tests.fpga.building import built_of, mapped_of
from tests.fpga.icestorm import PinUse, unpacked
from tests.fpga.world import World, contacts

ROOT = Path(__file__).resolve().parents[2]
BOARDS = ROOT / "specs" / "boards"
TARGETS = ROOT / "specs" / "targets"
STORE = BOARDS / "light-store.yaml"


@pytest.mark.needs("iceunpack")
@pytest.mark.parametrize(("name", "package"), [("hx8k", "8k-ct256"), ("up5k", "5k-sg48")])
def test_one_command_takes_the_light_store_to_a_bitstream(
    name: str, package: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = TARGETS / f"light-store-{name}.yaml"
    words = ["export", str(STORE), "--to", "bitstream", "--target", str(target)]
    words += ["--time-limit", "600", "-o"]
    first, second = tmp_path / "first.bin", tmp_path / "second.bin"
    assert cli.main([*words, str(first)]) == 0
    assert cli.main([*words, str(second)]) == 0
    assert first.read_bytes() == second.read_bytes()
    sheets = [path.with_name(f"{path.stem}.safety.md").read_text() for path in (first, second)]
    assert sheets[0] == sheets[1]
    assert "Proved: at no quiet moment do two drivers fight on addr, bus." in sheets[0]
    capsys.readouterr()
    mapped = mapped_of(load_netlist(STORE), target)
    expected = {mapped.clock_pin: PinUse(way="in", pulled_up=False)}
    for control in mapped.controls:
        for pin in control.pins:
            if not pin.chain:
                expected[pin.pin] = PinUse(way="in", pulled_up=pin.pull == "up")
    for chain in mapped.chains:
        expected[chain.data.pin] = PinUse(way="in", pulled_up=False)
        expected[chain.load.pin] = expected[chain.clock.pin] = PinUse(way="out", pulled_up=False)
    for lamp in mapped.lamps:
        expected[lamp.pins[0].pin] = PinUse(way="out", pulled_up=False)
    assert unpacked(first.read_bytes(), package, tmp_path) == expected


def test_an_ecp5(tmp_path: Path) -> None:
    netlist = machine_of(tmp_path, PAD).netlist
    mapped, built = built_of(netlist, written(tmp_path, PAD_ECP5, "target.yaml"))
    uses = {use.what: use for use in built.report.uses}
    assert mapped.device.architecture == "ecp5"
    # A 25k has 56 memory blocks of 18 kbit and 24,288 cells of logic (data sheet): a 6116 fits one.
    assert (uses["memory blocks"].used, uses["memory blocks"].available) == (1, 56)
    assert uses["logic cells"].available == 24288
    assert len(built.bitstream) > 100_000


def test_an_ecp5_pin_that_the_package_lacks(tmp_path: Path) -> None:
    netlist = machine_of(tmp_path, PAD).netlist
    path = written(tmp_path, PAD_ECP5.replace("pin: B3", "pin: Z9"), "target.yaml")
    with pytest.raises(Unbuildable, match=r"9:13: error: ecp5-25k in bg256 has no pin 'Z9'"):
        built_of(netlist, path)


def test_a_board_that_is_too_large(tmp_path: Path) -> None:
    """Two memories of 64 kbit take 32 blocks of 4 kbit; an hx1k has 16 (data sheet)."""
    text = "board: large\nparts:\n  U1: 6264\n  U2: 6264\nnets:\n  VCC: [U1.28, U2.28]\n"
    text += "  GND: [U1.14, U2.14, U1.CS1_n, U2.CS1_n]\n  high: [U1.CS2, U2.CS2]\n"
    text += "  we_n: [U1.WE_n, U2.WE_n]\n  oe_n: [U1.OE_n, U2.OE_n]\n"
    for name, bits, rows in (("a", 13, (1, 2)), ("d", 8, (1,)), ("e", 8, (2,))):
        stem = "A" if name == "a" else "IO"
        pins = [", ".join(f"U{k}.{stem}{bit}" for bit in reversed(range(bits))) for k in rows]
        text += f"  {name}[{bits - 1}:0]: [{', '.join(f'[{row}]' for row in pins)}]\n"
    text += "ports: {we_n: in, oe_n: in, high: in, 'a[12:0]': in, 'd[7:0]': both, 'e[7:0]': both}\n"
    netlist = machine_of(tmp_path, text).netlist
    target = """\
target: large
device: hx1k
package: tq144
clock: {pin: 21, frequency: 12 MHz}
ports:
  we_n: 1
  oe_n: 2
  high: 3
  a[12:0]: [4, 7, 8, 9, 10, 11, 12, 19, 23, 24, 25, 26, 28]
  d[7:0]: {pins: [112, 113, 114, 115, 116, 117, 118, 119], outside: {pin: 20}}
  e[7:0]: {pins: [95, 96, 97, 98, 99, 101, 102, 104], outside: {pin: 22}}
"""
    with pytest.raises(Unbuildable, match=r"target\.yaml:2:9.*needs 32 memory blocks of 16"):
        built_of(netlist, written(tmp_path, target, "target.yaml"))


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("name", ["latch", "gated", "look-up", "pad"])
def test_small_boards_for_long(name: str, seed: int, tmp_path: Path) -> None:
    text = {"latch": LATCH, "gated": GATED, "look-up": LOOK_UP, "pad": PAD}[name]
    machine = machine_of(tmp_path, text)
    world = World(machine, contacts(machine, 3 + seed), seed=seed)
    world.run(6000, rate=0.03 + 0.03 * seed)
    assert len(world.handed) > 60


@pytest.mark.parametrize("name", ["cue-pad", "tempo", "light-store"])
def test_the_workshops_boards(name: str) -> None:
    machine = load_machine(BOARDS / f"{name}.yaml")
    world = World(machine, contacts(machine, 4), seed=1)
    world.run(8000, rate=0.05)
    assert len(world.handed) > 80
