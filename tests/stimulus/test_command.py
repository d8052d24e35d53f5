"""`breadproof simulate` as somebody calls it, on right and on wrong scripts."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from intelhex import IntelHex
from vcdvcd import VCDVCD

from breadproof import cli
from breadproof.export.stimulus.bench_player import BenchPlayer
from breadproof.export.stimulus.player import Pause
from breadproof.export.vcd import STEP
from tests.stimulus.agreement import build, run
from tests.stimulus.boards import PAD, SCRIPT

Call = Callable[..., tuple[int, str, str]]


@pytest.fixture
def call(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Call:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    Path("pad.yaml").write_text(PAD, "utf-8")
    Path("script.yaml").write_text(SCRIPT, "utf-8")

    def called(*options: str, script: str | None = None) -> tuple[int, str, str]:
        if script is not None:
            Path("script.yaml").write_text(script, "utf-8")
        status = cli.main(["simulate", "pad.yaml", "--script", "script.yaml", *options])
        told = capsys.readouterr()
        return status, told.out, told.err

    return called


def test_a_script_that_is_right(call: Call) -> None:
    """By hand: closed switches read 0 and the 244 does not invert, so 0101 is stored as 1010.

    Steps: 1 and 2 two ways of SW; 3, 4 TAKE; 5, 6 MODE; 4 of two periods; 2 ways; TAKE again; and
    in the loop 14, 15 and 15 periods until the counter is at 0, each time with one more: 108.
    """
    status, out, _ = call("--watch", "at,bus,MODE,D1", "--rows", "0")
    assert status == 0
    lines = out.splitlines()
    assert lines[0] == "step-pad: script.yaml"
    assert lines[3].split() == ["step", "rounds", "done", "at", "bus", "MODE", "D1"]
    pressed = next(line for line in lines if " press TAKE " in line)
    assert pressed.split()[0] == "4"
    assert pressed.split()[-4:] == ["4'h0", "4'hA", "HOLD", "1'b0"]
    assert "the script is at its end: 109 steps" in out
    assert "5 checks: all hold" in out


def test_a_check_that_fails(call: Call) -> None:
    status, out, _ = call(script=SCRIPT.replace("{bus: 4'b1010,", "{bus: 4'b1000,"))
    assert status == 1
    assert (
        "fails: script.yaml:5: check bus: 4'b1000, U4.M[0] & 15: 10, D1: 0\n"
        "  at step 4, 6 rounds after power-on\n"
        "  bus: expected 4'h8, got 4'hA\n"
    ) in out


@pytest.mark.parametrize(
    "level", ["bus: 5'h10", "bus: 16", "bus: -1", "SW: 5'h10", "at: 0, bus: 9'h1FF"]
)
def test_a_level_of_more_bits_than_there_are_is_never_had(call: Call, level: str) -> None:
    """IEEE 1364, 5.1.8: the shorter operand of == is filled with zeros, so that these never are
    equal to four bits, whatever these are."""
    status, out, _ = call(script=f"stimulus:\n  - check: {{{level}}}\n")
    assert status == 1
    assert f"fails: script.yaml:2: check {level}\n" in out
    assert f"  {level.split(', ')[-1].split(':')[0]}: expected " in out


def test_a_bench_says_so_of_such_a_level(call: Call, iverilog: str, tmp_path: Path) -> None:
    assert cli.main(["export", "pad.yaml", "--to", "verilog", "--unproved", "-o", "board.v"]) == 0
    assert call("--bench", "bench.v", script="stimulus:\n  - check: {at: 16}\n")[0] == 0
    assert "FAILED at step 0" in run(build(iverilog, tmp_path))


def test_a_formula_that_fails_shows_what_it_names(call: Call) -> None:
    script = 'stimulus:\n  - check: {says: Never so, formula: "at == 3 && MODE == COUNT"}\n'
    status, out, _ = call(script=script)
    assert status == 1
    assert "script.yaml:2: check at == 3 && MODE == COUNT (Never so)\n" in out
    assert "  at: 4'h0\n  MODE: HOLD\n" in out


def test_all_that_is_wrong_comes_in_one_run(call: Call) -> None:
    script = (
        "stimulus:\n"
        "  - drive: {MODES: COUNT, MODE: COUNTING}\n"
        "  - press: CK\n"
        "  - clok: {CK: 1}\n"
        "  - clock: {CK: many}\n"
        "  - drive: {SW: 5'h10}\n"
        '  - check: {formula: "always at == 1"}\n'
        '  - check: "floats(bus)"\n'
    )
    status, out, err = call(script=script)
    assert (status, out) == (2, "")
    assert [line for line in err.splitlines() if line.startswith("script.yaml")] == [
        "script.yaml:2:13: error: this board has no control 'MODES' [control-unknown]",
        "script.yaml:2:33: error: MODE has no position 'COUNTING' [control-value]",
        "script.yaml:3:12: error: CK is not a button [control-kind]",
        "script.yaml:4:5: error: there is no entry 'clok' [script-entry]",
        "script.yaml:5:17: error: this is no number of times [script-number]",
        "script.yaml:6:17: error: '5'h10' is no level here: SW has 4 ways [control-value]",
        "script.yaml:7:23: error: a script asks for one moment [formula-meaning]",
        "script.yaml:8:13: error: a simulation does not see floats() [formula-meaning]",
    ]
    assert "Did you mean MODE?" in err
    assert "Did you mean clock?" in err
    assert "There are TAKE." in err


@pytest.mark.parametrize(
    "script", ["", "board: x\n", "stimulus: 1\n", "stimulus: [a]\n", "- a\n", "stimulus: [{}]\n"]
)
def test_what_is_no_script(call: Call, script: str) -> None:
    status, out, err = call(script=script)
    assert (status, out) == (2, "")
    assert "error:" in err


@pytest.mark.parametrize("entry", ["press: SW", "clock: {SW: 2}"])
def test_a_dip_switch_is_a_control_for_each_way(call: Call, entry: str) -> None:
    status, _, err = call(script=f"stimulus:\n  - {entry}\n")
    assert status == 2
    assert "error: SW is 4 controls, one for each way [control-kind]\n" in err
    assert "Name one, such as SW[1]; 'drive: {SW: 4'h1}' sets all." in err


def test_without_a_compiler_the_way_out_is_told(
    call: Call, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", "/nonexistent")
    monkeypatch.delenv("CXX", raising=False)
    status, out, err = call("--fast", "--vcd", "run.vcd")
    assert (status, out) == (2, "")
    assert "--fast needs a C++ compiler" in err
    assert "apt-get install g++" in err
    assert not Path("run.vcd").exists()


@pytest.mark.parametrize(
    "options",
    [
        ("--vcd", "missing/run.vcd"),
        ("--dump", "U4=missing/u4.hex"),
        ("--bench", "missing/bench.v"),
        ("--bench", "bench.txt"),
        ("--dump", "U4"),
        ("--dump", "U9=u9.hex"),
        ("--watch", "nothing"),
        ("--watch", "U4.M[0]"),
        ("--until", "at =="),
        ("--bench", "bench.v", "--seed", "1"),
    ],
)
def test_wrong_calls_write_nothing(call: Call, options: tuple[str, ...]) -> None:
    before = sorted(Path().iterdir())
    status, out, err = call(*options)
    assert (status, out) == (2, "")
    assert err
    assert sorted(Path().iterdir()) == before


def test_a_breakpoint_in_passing_tells_the_round(call: Call) -> None:
    """The memory writes while TAKE is pressed: step 3, behind two ways of SW; it takes
    two rounds, as a word changes in the first."""
    status, out, _ = call("--until", "ever(writes(U4))")
    assert status == 0
    assert "stopped: ever(writes(U4)) holds at step 3, 5 rounds after power-on" in out
    assert "first in round 0 of that step" in out


def test_the_dump_says_what_the_table_says(call: Call) -> None:
    """Read by vcdvcd, which is not ours."""
    status, out, _ = call("--vcd", "run.vcd", "--json", "--every-step", "--watch", "at,bus,clk")
    assert status == 0
    rows = json.loads(out)["rows"]
    dump = VCDVCD("run.vcd")
    for name, full in (("at", "nets.at[3:0]"), ("bus", "nets.bus[3:0]"), ("clk", "nets.clk")):
        signal = dump[f"step-pad.{full}"]
        for row in rows:
            number = int(row["levels"][name].partition("'")[2][1:], 16)
            assert int(signal[row["step"] * STEP + STEP - 1], 2) == number
    assert [row["step"] for row in rows] == list(range(109))


def test_memories_are_dumped(call: Call) -> None:
    """A word that is written to has the bus in it; the spare data pins float and read 0."""
    status, _, _ = call("--dump", "U4=u4.hex", "--dump", "U4.M=u4.bin")
    assert status == 0
    image = IntelHex("u4.hex")
    assert [image[at] & 15 for at in range(4)] == [10, 0, 15, 0]
    assert Path("u4.bin").read_bytes() == bytes(image[at] for at in range(2048))


def test_a_seed_is_a_seed(call: Call) -> None:
    script = "stimulus:\n  - clock: {CK: 3}\n"
    one, two, three = (
        call("--seed", seed, "--watch", "at,bus", script=script)[1] for seed in "778"
    )
    assert one == two
    assert one.replace("seed 7", "") != three.replace("seed 8", "")


def test_ctrl_c_tells_what_was_reached_and_leaves_no_file(
    call: Call, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, calls = BenchPlayer.play, [0]

    def play(self: BenchPlayer, most: int) -> Pause:
        calls[0] += 1
        if calls[0] == 3:
            raise KeyboardInterrupt
        return real(self, 10)

    monkeypatch.setattr(BenchPlayer, "play", play)
    status, out, _ = call("--vcd", "run.vcd", "--dump", "U4=u4.hex")
    assert status == 130
    assert "interrupted: " in out
    assert " press TAKE " in out
    assert not list(Path().glob("*run.vcd*"))
    assert not Path("u4.hex").exists()


BROKEN = SCRIPT.replace(
    '{says: It counts, formula: "at == 2', '{says: It counts, formula: "at == 3'
)


RESET = """\
board: pad
parts: {U1: 74HC74, UP: {part: supervisor, output: push-pull}, D1: {part: test-point}}
nets:
  VCC: ["U1.[14, 4, 10]", UP.3]
  GND: ["U1.[7, 11, 12, 13]", UP.1]
  up: [UP.2, U1.1]
  beat: [U1.3]
  d: [U1.2]
  q: [U1.5, D1.1]
ports: {beat: in, d: in}
"""
"""A 7474 whose clear goes low when power comes on, and high when the supervisor lets go."""


@pytest.mark.parametrize("lets_go", [False, True])
def test_a_moment_that_the_script_leaves_out_is_told(call: Call, lets_go: bool) -> None:
    """While its clear is low a 7474 holds 0 (function table), however it is clocked."""
    Path("pad.yaml").write_text(RESET, "utf-8")
    script = "stimulus:\n  - drive: {UP.T: 1}\n" if lets_go else "stimulus:\n"
    script += "  - drive: {d: 1}\n  - clock: {beat: 3}\n"
    status, out, _ = call(script=f"{script}  - check: {{q: {int(lets_go)}}}\n")
    assert status == 0
    told = "Not in this script: UP (the supervisor lets go)."
    assert (told in out.replace("\n", " ")) != lets_go


def test_a_bench_in_verilog_passes_and_fails(call: Call, iverilog: str, tmp_path: Path) -> None:
    assert cli.main(["export", "pad.yaml", "--to", "verilog", "--unproved", "-o", "board.v"]) == 0
    assert call("--bench", "bench.v")[0] == 0
    assert run(build(iverilog, tmp_path)).startswith("PASSED: 109 steps, ")
    assert call("--bench", "bench.v", script=BROKEN)[0] == 0
    told = run(build(iverilog, tmp_path)).splitlines()
    assert told[0].startswith("script.yaml:8: check at == 3 ")
    assert told[0].endswith("(It counts)")
    assert told[1].startswith("FAILED at step ")
    assert len(told) == 2


def test_a_bench_in_python_passes_and_fails(call: Call) -> None:
    assert (
        cli.main(["export", "pad.yaml", "--to", "amaranth", "--unproved", "-o", "step_pad.py"]) == 0
    )
    for script, status, told in ((SCRIPT, 0, "OK"), (BROKEN, 1, "script.yaml:8: check at == 3 ")):
        assert call("--bench", "pad_test.py", script=script)[0] == 0
        ran = subprocess.run(
            [sys.executable, "pad_test.py"], capture_output=True, text=True, check=False
        )
        assert ran.returncode == status, ran.stderr
        assert told in ran.stderr


DISPLAY = """\
board: number
parts:
  U1: 74LS47
  DS1: {part: display, common: anode}
  RS: {part: resistor-network, ways: 7, value: 470, isolated: true}
nets:
  VCC: [U1.16, U1.3, U1.5, DS1.3, DS1.8]
  GND: [U1.8]
  n[3:0]: [U1.6, U1.2, U1.1, U1.7]
  seg[6:0]:
    - U1.[14, 15, 9, 10, 11, 12, 13]
    - RS.[1, 3, 5, 7, 9, 11, 13]
  k[6:0]:
    - RS.[2, 4, 6, 8, 10, 12, 14]
    - DS1.[g, f, e, d, c, b, a]
ports: {"n[3:0]": in}
"""


def test_a_display_is_told_by_its_digit(call: Call) -> None:
    """The 47 shows 5 as acdfg, 15 as nothing (function table, from memory); 8'h6D is acdfg as a
    formula reads it (dp first). A program gets the bits."""
    Path("pad.yaml").write_text(DISPLAY, "utf-8")
    script = "stimulus:\n  - drive: {n: 5}\n  - drive: {n: 15}\n  - check: {DS1: 8'h00}\n"
    status, out, _ = call("--report", "page.html", script=script)
    assert status == 0
    rows = [line.split() for line in out.splitlines() if " drive n" in line]
    assert [row[-1] for row in rows] == ["5", "blank"]
    page = Path("page.html").read_text("utf-8")
    assert ">blank</text>" in page  # in the waves
    assert "DS1[a]" not in page.partition("<h2")[2].partition("The board")[0]
    status, out, _ = call("--json", script=script)
    assert json.loads(out)["rows"][1]["levels"]["DS1"] == "8'h6D"
