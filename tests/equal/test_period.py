"""The synchronous style: offered where a tick is a period of the clock, refused elsewhere."""

import random
import subprocess
from pathlib import Path

import pytest

from breadproof.cli import main
from breadproof.export.amaranth_file import Generated, generate
from breadproof.export.lowering.clock import clock_of
from breadproof.export.lowering.gating import NotSynchronous
from breadproof.export.simulate import Bench
from breadproof.export.verilog import rtlil, verilog
from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.walk import Walker
from breadproof.verify.equal.proof import Equality
from breadproof.verify.equal.text import equal_text
from tests.equal.random_synchronous import board
from tests.equal.synchronous_boards import (
    BUTTON_CLEARS,
    GATE_LATCH,
    GATED_COUNTER,
    LATE_ENABLE,
    OPEN_LATCH,
    OTHER_EDGE,
    REFUSED,
    RIPPLES,
    ROM_STEPS,
)

SAMPLE = range(4)
BOARDS = Path(__file__).parents[2] / "specs" / "boards"


def machine_of(folder: Path, text: str) -> Machine:
    path = folder / "board.yaml"
    path.write_text(text, encoding="utf-8")
    return load_machine(path)


def compared(machine: Machine, text: str = "") -> Equality:
    clock = clock_of(machine.netlist)
    text = text or rtlil(machine.netlist, clock=clock)
    return equal_text(machine, text, 60, "rtlil", board_clock=clock)


def first_difference(machine: Machine, generated: Generated, seed: int, periods: int) -> str:
    """The Machine, walked with numbers, beside the modules in Amaranth's simulator: controls change
    one after the other, or at once where they may, while the clock is low; then it rises and falls,
    which is one tick.
    """
    clock, dice = generated.lowered.clock, random.Random(seed)
    others = [c for c in machine.netlist.controls if c.name != clock]
    walker = Walker(
        machine,
        storage={s.label: dice.getrandbits(1) for s in machine.stores},
        controls={c.name: tuple(dice.getrandbits(1) for _ in c.bits) for c in others},
    )
    seen = walker.power_up().rounds[-1].nets
    bench = Bench(machine.netlist, generated)
    bench.set_storage(walker.storage)
    for period in range(periods):
        changes: dict[str, tuple[int, ...]] = {}
        for control in dice.sample(others, dice.randint(0, min(3, len(others)))):
            levels = tuple(dice.getrandbits(1) for _ in control.bits)
            changes[control.name] = levels
            if machine.netlist.together != "all":
                seen = walker.step(changes).rounds[-1].nets
        if machine.netlist.together == "all":
            seen = walker.step(changes).rounds[-1].nets
        bench.set_controls({c.name: walker.controls[c.name] for c in others})
        for time in ("before", "after"):
            if time == "after":
                walker.step({clock: (1,)})
                seen = walker.step({clock: (0,)}).rounds[-1].nets
                bench.tick()
            if bench.levels() != dict(seen) or bench.storage() != walker.storage:
                return f"{time} the edge of period {period}"
    return ""


def test_shipped_board_is_synchronous() -> None:
    machine = load_machine(BOARDS / "revisions" / "ten-steps-163.yaml")
    assert compared(machine).verdict == "equal"
    generated = generate(machine.netlist, clock=clock_of(machine.netlist))
    assert first_difference(machine, generated, 1, 40) == ""


def check_random_board(folder: Path, seed: int) -> str:
    """The verdict on a random board; runs agree with it."""
    machine = machine_of(folder, board(seed))
    generated = generate(machine.netlist, clock="CK")
    text = rtlil(machine.netlist, clock="CK")
    verdict = equal_text(machine, text, 60, "rtlil", board_clock="CK").verdict
    if verdict == "equal":
        assert first_difference(machine, generated, seed, 100) == ""
    else:
        assert any(first_difference(machine, generated, run, 6) for run in range(60))
    return verdict


def test_verdicts_on_random_boards_agree_with_runs(tmp_path: Path) -> None:
    verdicts = [check_random_board(tmp_path, seed) for seed in SAMPLE]
    assert {"equal", "differs"} == set(verdicts)


def test_clock_gate_is_an_enable(tmp_path: Path) -> None:
    machine = machine_of(tmp_path, GATED_COUNTER)
    found = compared(machine)
    assert (found.verdict, found.because) == ("equal", "")
    generated = generate(machine.netlist, clock="CK")
    assert "self.U1.CLK_high.eq(gated_high)" in generated.source
    assert "_before" not in generated.source
    assert "CK: In" not in generated.source
    for seed in range(3):
        assert first_difference(machine, generated, seed, 60) == ""


def test_rom_says_what_comes_next(tmp_path: Path) -> None:
    machine = machine_of(tmp_path, ROM_STEPS)
    assert compared(machine).verdict == "equal"
    generated = generate(machine.netlist, clock="CK")
    assert first_difference(machine, generated, 1, 40) == ""
    text = rtlil(machine.netlist, clock="CK")
    assert "00001001" in text
    wrong = compared(machine, text.replace("00001001", "00001101", 1))
    assert (wrong.verdict, wrong.because) == (
        "differs", "U2.M[5] is 9 on the board, 13 in the hardware",
    )  # fmt: skip


@pytest.mark.parametrize(("text", "because"), REFUSED.items(), ids=lambda one: one.split()[1])
def test_board_is_refused_by_the_condition_that_it_breaks(
    tmp_path: Path, text: str, because: str
) -> None:
    found = compared(machine_of(tmp_path, text))
    assert (found.verdict, found.because) == ("differs", because)


@pytest.mark.parametrize(
    "text", [LATE_ENABLE, BUTTON_CLEARS, OTHER_EDGE, OPEN_LATCH, RIPPLES],
    ids=lambda text: text.split()[1],
)  # fmt: skip
def test_what_is_refused_does_differ(tmp_path: Path, text: str) -> None:
    """None is refused for nothing: run beside the Machine, its modules do something else."""
    machine = machine_of(tmp_path, text)
    generated = generate(machine.netlist, clock="CK")
    assert any(first_difference(machine, generated, seed, 20) for seed in range(5))


@pytest.mark.parametrize(
    ("right", "other", "verdict"),
    [
        ("cell $add", "cell $sub", "differs"),
        ("switch \\R_edge [0]", "switch 1'1", "differs"),
        ("connect \\B \\CLK_high [0]", "connect \\B 1'0", "differs"),
        # Of a selector's two products never both are high: exclusive or is as good.
        ("cell $or", "cell $xor", "equal"),
    ],
)
def test_other_hardware_is_told(tmp_path: Path, right: str, other: str, verdict: str) -> None:
    machine = machine_of(tmp_path, GATED_COUNTER)
    text = rtlil(machine.netlist, clock="CK")
    assert right in text
    assert compared(machine, text.replace(right, other)).verdict == verdict


ICARUS = """
module bench;
  reg clock = 0;
  reg [1:0] in;
  reg [1:0] stimuli [0:{last}];
  integer period;
  gated_counter dut (.tick_clk(clock), .tick_rst(1'b0), .GO(in[0]), .HOLD(in[1]));
  initial begin
    $readmemb("stimuli", stimuli);
    for (period = 0; period <= {last}; period = period + 1) begin
      in = stimuli[period];
      #1 $display("%b", {{{nets}}});
      clock = 1;
      #1 clock = 0;
    end
  end
endmodule
"""


def test_icarus_sees_the_machine(tmp_path: Path, iverilog: str) -> None:
    """The Verilog, of several modules and of one, in Icarus Verilog beside the Machine."""
    machine = machine_of(tmp_path, GATED_COUNTER)
    dice, walker = random.Random(7), Walker(machine)
    walker.power_up()
    stimuli = [dice.getrandbits(2) for _ in range(60)]
    expected = []
    for number in stimuli:
        walker.step({"GO[1]": (number & 1,)})
        seen = walker.step({"HOLD": (number >> 1,)}).rounds[-1].nets
        expected.append("".join(str(level) for level in seen.values()))
        walker.step({"CK": (1,)})
        walker.step({"CK": (0,)})
    assert len(set(expected)) > 20
    lowered = generate(machine.netlist, clock="CK").lowered
    looks = ", ".join(f"dut.{attribute}" for attribute in lowered.nets)
    bench = ICARUS.format(last=len(stimuli) - 1, nets=looks)
    (tmp_path / "bench.v").write_text(bench, "utf-8")
    (tmp_path / "stimuli").write_text("".join(f"{n:02b}\n" for n in stimuli), "utf-8")
    for flat in (False, True):
        source = verilog(machine.netlist, clock="CK", flat=flat)
        assert source.count("\nmodule ") == (1 if flat else 6)
        (tmp_path / "board.v").write_text(source, "utf-8")
        build = [iverilog, "-g2005", "-o", "bench", "bench.v", "board.v"]
        subprocess.run(build, cwd=tmp_path, check=True)
        ran = subprocess.run(
            ["vvp", "-n", "bench"], cwd=tmp_path, check=True, capture_output=True, text=True
        )
        assert ran.stdout.split() == expected


def test_gates_that_hold_each_other_are_refused(tmp_path: Path) -> None:
    machine = machine_of(tmp_path, GATE_LATCH)
    with pytest.raises(NotSynchronous, match="hold each other without storage between: q, q_n"):
        generate(machine.netlist, clock="CK")


def test_hardware_of_rounds_is_not_taken_for_synchronous(tmp_path: Path) -> None:
    machine = machine_of(tmp_path, OTHER_EDGE)
    assert compared(machine, rtlil(machine.netlist)).verdict == "undecided"


def test_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, out = tmp_path / "board.yaml", tmp_path / "out"
    path.write_text(GATED_COUNTER, encoding="utf-8")
    export = ["export", str(path), "--to", "amaranth", "--style", "synchronous"]
    assert main([*export, "--package", str(out)]) == 0
    assert "equal, proved: in every period of CK" in capsys.readouterr().err
    assert "Synchronous: one tick of the clock" in (out / "board.py").read_text("utf-8")
    assert main([*export, "--package", str(out)]) == 2
    assert "it is there already" in capsys.readouterr().err
    assert main([*export, "--clock", "GO[1]"]) == 1
    assert "not exported in the synchronous style: " in capsys.readouterr().err
    assert main([*export, "--clock", "CLOCK"]) == 1
    assert "'CLOCK' is no control of one bit" in capsys.readouterr().err
    path.write_text(BUTTON_CLEARS, encoding="utf-8")
    assert main([*export, "-o", str(tmp_path / "new.py")]) == 1
    assert "U1.R[0] changes while the clock stays low" in capsys.readouterr().err
    assert not (tmp_path / "new.py").exists()


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["verilog", "--style", "synchronous", "--no-proof"], "written only where it is proved"),
        (["verilog", "--clock", "CK"], "only the synchronous style has a clock"),
        (["btor2", "--style", "synchronous"], "btor2 has no styles"),
        (["rtlil", "--flat"], "Verilog alone is written as one module"),
        (["verilog", "--package", "board"], "a package is Python"),
        (["amaranth", "--package", "a-b"], "no name that Python can import"),
        (["amaranth", "--package", "board", "-o", "board.py"], "a package or a file, not both"),
    ],
)
def test_wrong_calls(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str], why: str
) -> None:
    path = tmp_path / "board.yaml"
    path.write_text(GATED_COUNTER, encoding="utf-8")
    assert main(["export", str(path), "--to", *words]) == 2
    assert why in capsys.readouterr().err
