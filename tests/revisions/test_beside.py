"""Boards beside Verilog that is written by hand: known answers, with Icarus as a second witness.

What is said to be the same is also played, at random, in Icarus beside the board's walk; the run
that tells two apart must do so there, too.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from importlib.resources import files as resources
from pathlib import Path
from random import Random

import jsonschema
import pytest

from breadproof.cli import main
from breadproof.specs.machine.walk import Walker
from breadproof.verify.revisions import alike
from breadproof.verify.revisions.beside import Asked, Beside, beside
from breadproof.verify.revisions.items import Item
from breadproof.verify.revisions.start import moves
from breadproof.verify.revisions.verdicts import Means
from breadproof.verify.revisions.walked import Walked
from tests.revisions.icarus import Levels, shown
from tests.revisions.modules import MODULES, Written

FOLDER = Path(__file__).parents[2] / "specs" / "boards" / "revisions"
STEPS = 60


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


def written(folder: Path, module: Written) -> list[str]:
    """Its files, and the command's words about them."""
    (folder / "module.v").write_text(module.verilog, "utf-8")
    (folder / "ports.yaml").write_text(module.ports, "utf-8")
    words = ["compare", str(FOLDER / f"{module.board}.yaml"), str(folder / "module.v")]
    return [*words, "--ports", str(folder / "ports.yaml"), *["--after", "reset"] * module.reset]


def compared(folder: Path, module: Written) -> Beside:
    words = written(folder, module)
    asked = Asked(start="reset" if module.reset else "power-up", proofs=False)
    return beside(Path(words[1]), Path(words[2]), Path(words[4]), asked, Means(seconds=60))


@pytest.mark.parametrize("name", MODULES)
def test_modules(tmp_path: Path, iverilog: str, name: str) -> None:
    module = MODULES[name]
    found = compared(tmp_path, module)
    assert found.answered is not None
    fates = found.answered.fates
    assert {n for n, fate in fates.items() if fate == "differs"} == set(module.differs)
    assert module.steps is None or found.answered.difference is not None
    if module.steps is not None and found.answered.difference is not None:
        assert found.answered.difference.steps == module.steps
    if module.differs:
        assert found.behaviour == "differs"
        told_apart(tmp_path, iverilog, module, found)
    else:
        assert set(fates.values()) == {"same"}
        goes_alike(tmp_path, iverilog, module, found)


MUTANTS = [
    ("addr <= addr + 1", "addr <= addr + 2"),
    ("addr <= addr + 1", "addr <= addr - 1"),
    ("addr <= addr + 1", "addr <= addr + 1 + (addr == 2)"),
    ("word <= d", "word <= ~d"),
    ("wish <= write", "wish <= 1"),
    ("wish <= write", "wish <= write | (addr == 1)"),
    ("wish & ~clk", "wish"),
    ("wish & ~clk", "~clk"),
    ("~mem[addr]", "~mem[addr ^ 4'd8]"),
    ("~mem[addr]", "{~mem[addr][3:1], ~mem[addr][0]}"),
    ("if (wish) mem[addr] <= word;", "mem[addr] <= wish ? word : mem[addr];"),
    ("if (wish) mem[addr] <= word;", "mem[addr] <= wish ? word : mem[addr ^ 4'd1];"),
    ("if (wish) mem[addr] <= word;", "if (wish && addr != 1) mem[addr] <= word;"),
    ("if (wish) mem[addr] <= word;", "if (wish) mem[addr] <= word | {3'b0, addr == 1};"),
]


@pytest.mark.parametrize(("before", "after"), MUTANTS)
def test_mutants_of_a_memory(tmp_path: Path, iverilog: str, before: str, after: str) -> None:
    """Whatever is said of them, Icarus agrees: at random where they are the same."""
    module = MODULES["store"]
    assert before in module.verilog
    module = replace(module, verilog=module.verilog.replace(before, after))
    found = compared(tmp_path, module)
    assert found.answered is not None
    (fate,) = found.answered.fates.values()
    if fate == "differs":
        told_apart(tmp_path, iverilog, module, found)
    else:
        assert fate == "same"
        goes_alike(tmp_path, iverilog, module, found)
    assert (fate == "same") is (after in SAME)


def test_a_difference_that_takes_long(
    tmp_path: Path, iverilog: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Address 9 is reached at the ninth rise after the reset, in the seventeenth step; what shows
    it is one more. The search for the shortest run gives up before."""
    monkeypatch.setattr(alike, "MAX_STEPS", 3)
    monkeypatch.setattr(alike, "STROLL_SECONDS", 60.0)
    verilog = MODULES["store"].verilog.replace("addr <= addr + 1", "addr <= addr + 1 + (addr == 9)")
    module = replace(MODULES["store"], verilog=verilog)
    found = compared(tmp_path, module)
    assert found.answered is not None
    difference = found.answered.difference
    assert difference is not None
    assert not difference.shortest
    assert difference.steps > 17
    told_apart(tmp_path, iverilog, module, found)


SAME = (MUTANTS[9][1], MUTANTS[10][1])


def digits(item: Item, walker: Walker) -> str:
    """An output as the board has it, most significant bit first."""
    assert walker.before is not None
    levels, machine = walker.before.levels, walker.machine
    nets = [machine.nets[int(net)] for net in item.old]
    assert all(levels[net.known] for net in nets)
    return "".join(str(levels[net.level] ^ int(item.inverted)) for net in nets)


def goes_alike(folder: Path, iverilog: str, module: Written, found: Beside) -> None:
    """Controls moved at random: Icarus shows after each step what the board does."""
    random = Random(module.verilog)
    board = found.board
    content = {store.label: random.getrandbits(1) for store in board.stores}
    walker = Walker(board, storage=content)
    words: dict[str, dict[int, int]] = {}
    for unit, held in zip(board.memories, walker.memories, strict=True):
        if unit.contents is None:
            held[:] = [random.getrandbits(unit.bits) for _ in held]
            words[unit.label] = dict(enumerate(held))
    machine, links = found.hardware.machine, found.mapped.links
    steps: list[Levels] = []
    wanted: list[dict[str, str]] = []

    def note() -> None:
        assert walker.before is not None
        steps.append(links.followed(machine, walker.before.levels))
        wanted.append({item.name: digits(item, walker) for item in found.mapped.items})

    walker.power_up()
    note()
    registers = {} if module.reset else registers_of(found, walker.storage)
    registers |= words_of(found, words)
    begin = moves(board, found.beats) if module.reset else ()
    for name, level in begin:
        walker.step({name: (1 - walker.controls[name][0] if level is None else int(level),)})
        note()
    first = len(steps) - 1
    for _ in range(STEPS):
        control = random.choice(board.netlist.controls)
        bits = list(walker.controls[control.name])
        bits[random.randrange(len(bits))] ^= 1
        walker.step({control.name: tuple(bits)})
        note()
    seen = shown(
        iverilog, folder, module.verilog, found.hardware.module.name, steps, widths(found),
        registers,
    )  # fmt: skip
    assert seen[first:] == wanted[first:]
    assert len({tuple(one.values()) for one in wanted[first:]}) > 1  # something moved


def registers_of(found: Beside, storage: dict[str, int]) -> dict[str, int]:
    """What registers of the module hold when the board's storage holds that."""
    labels = {store.leaf: store.label for store in found.board.stores}
    shared = found.mapped.links.of("store")
    return {
        name: int("".join(str(storage[labels[shared[leaf]]]) for leaf in leaves), 2)
        for name, leaves in found.hardware.stores.items()
        if all(leaf in shared for leaf in leaves)
    }


def words_of(found: Beside, words: Mapping[str, Mapping[int, int]]) -> dict[str, int]:
    """What memories of the module hold when those of the board hold these words, and else 0."""
    return {
        f"{module.storage}[{address}]": words.get(board.label, {}).get(address, 0)
        for one, two in found.mapped.links.memories
        for board, module in [(found.board.memories[one], found.hardware.machine.memories[two])]
        for address in range(module.words)
    }


def widths(found: Beside) -> dict[str, int]:
    return {name: len(nets) for name, nets in found.hardware.ports.items()}


def told_apart(folder: Path, iverilog: str, module: Written, found: Beside) -> None:
    """Icarus shows at the end of the run what the board does not."""
    assert found.answered is not None
    assert found.runs is not None
    difference = found.answered.difference
    assert difference is not None
    board: Walked = found.runs[0]
    steps = [step.controls for step in difference.new.steps]
    storage = dict(difference.old.storage)
    registers = {} if module.reset else registers_of(found, storage)
    registers |= words_of(found, difference.old.words)
    seen = shown(
        iverilog, folder, module.verilog, found.hardware.module.name, steps, widths(found),
        registers,
    )  # fmt: skip
    for name in difference.items:
        item = next(item for item in found.mapped.items if item.name == name)
        nets = [board.machine.nets[int(net)] for net in item.old]
        wanted = "".join(str(board.last.levels[net.level] ^ int(item.inverted)) for net in nets)
        assert seen[-1][name] != wanted


# the command --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "status", "told"),
    [
        ("ten-steps", 0, "THE SAME, in runs of any length"),
        ("scene", 0, "after clear_n held low, beat changing 4 times, and released"),
        ("scene-at-the-fall", 1, "a clock edge is a step in which beat falls"),
        ("ten-steps-of-nine-alone", 1, "DIFFERENT: step, 1 step after power-up"),
    ],
)
def test_command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, status: int, told: str
) -> None:
    assert main([*written(tmp_path, MODULES[name]), "--jobs", "1"]) == status
    assert told in " ".join(capsys.readouterr().out.split())


def test_the_mixer(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Seventeen chips, with look-ahead carry, do what five lines of Verilog say; with the greater
    of two levels taken to be the smaller they do not."""
    boards = FOLDER.parent
    files = [boards / "verilog" / "mixer.v", boards / "verilog" / "mixer.yaml"]
    words = ["compare", str(boards / "mixer.yaml"), str(files[0]), "--ports", str(files[1])]
    assert main([*words, "--jobs", "1", "--no-proofs"]) == 3
    told = " ".join(capsys.readouterr().out.split())
    assert "the levels are the same; glitches and races were not looked for" in told
    wrong = tmp_path / "wrong.v"
    wrong.write_text(files[0].read_text("utf-8").replace("a > b", "a < b"), "utf-8")
    words[2] = str(wrong)
    assert main([*words, "--jobs", "1", "--no-proofs"]) == 1
    assert "DIFFERENT: out, 1 step after power-up" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize(("name", "status"), [("ring", 0), ("sum-without-carry", 1)])
def test_json(tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, status: int) -> None:
    assert main([*written(tmp_path, MODULES[name]), "--jobs", "1", "--json"]) == status
    found = json.loads(capsys.readouterr().out)
    schema = (
        resources("breadproof.verify.revisions").joinpath("beside.schema.json").read_text("utf-8")
    )
    jsonschema.Draft202012Validator(json.loads(schema)).validate(found)
    assert found["verdict"] == ("fail" if status else "pass")


def test_what_is_not_clean_is_not_the_same(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With --no-proofs nobody looked for pulses at the clock pins."""
    words = written(tmp_path, MODULES["ten-steps"])
    assert main([*words, "--no-proofs"]) == 3
    assert "glitches and races were not looked for" in " ".join(capsys.readouterr().out.split())


PLAIN = "module m(input clk, rst_n, d, output reg q);\n  always @(posedge clk) q <= d;\nendmodule\n"
REFUSED = {
    "own clock": (
        "wire w = d ^ clk; always @(posedge clk) q <= w;",
        "q takes in what follows from its own clock",
    ),
    "latch": ("always @* if (d) q = rst_n;", "q is a latch: only flip-flops are compared"),
    "gated": ("wire g = clk & d; always @(posedge g) q <= d;", "q is clocked by g"),
    "other": ("always @(posedge d) q <= clk;", "q is clocked by d: it is not the clock"),
    "clear": (
        "wire c = rst_n | d; always @(posedge clk, negedge c) if (!c) q <= 0; else q <= d;",
        "q is set or cleared by c without the clock",
    ),
    "load": (
        "always @(posedge clk, negedge rst_n) if (!rst_n) q <= d; else q <= 0;",
        "q is loaded without the clock",
    ),
    "loop": ("wire a; assign a = ~(a & d); always @* q = a;", "a loop without a flip-flop in it"),
    "large": (
        "reg [7:0] ram[0:4095]; reg [11:0] at; always @(posedge clk) begin at <= at + d; "
        "ram[at] <= at; q <= ram[at][0]; end",
        "memory ram is too large",
    ),
    "wrong": ("always @(posedge clk) q <= ;", "syntax error"),
    "unknown": ("nosuch n(.d(d), .q(q));", "nosuch"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_compared(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    body, told = REFUSED[name]
    text = PLAIN.replace("always @(posedge clk) q <= d;", body)
    ports = (
        "clock: {port: clk, net: beat}\ninputs: {rst_n: clear_n, d: run}\noutputs: {q: 'q[0]'}\n"
    )
    words = written(tmp_path, Written(board="chase", verilog=text, ports=ports, reset=True))
    assert main(words) == 2
    heard = " ".join(capsys.readouterr().err.split())
    assert told in heard
    if told.startswith("q "):  # of a flip-flop it is known which line it comes from
        assert f"module.v:2: {told}" in heard


MEMORIES = {
    "wide address": (
        "mem[addr] <=", "mem[addr + 1] <=", "mem of 16 words has an address of 32 bits: 4 reach",
    ),
    "parts": ("mem[addr] <= word", "mem[addr][3:2] <= word[3:2]", "mem is written in parts"),
    "two places": (
        "if (wish)", "if (!wish) mem[3] <= 2; else if (wish)", "mem is written at 2 places",
    ),
    "never": ("if (wish) mem[addr] <= word", "", "mem is never written"),
    "its clock": ("if (wish)", "if (clk & wish)", "mem takes in what follows from its own clock"),
    "other clock": ("always @(negedge clk)", "always @(negedge write)", "written by write"),
    "no clock": ("always @(negedge clk)", "always @*", "mem is not written at a clock"),
    "size": ("[0:15]", "[0:31]", "'mem' has 32 words of 4 bits in the module, U3.M has 16 of 4"),
}  # fmt: skip


@pytest.mark.parametrize("name", MEMORIES)
def test_memories_that_cannot_be_compared(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    before, after, told = MEMORIES[name]
    module = MODULES["store"]
    assert before in module.verilog
    verilog = module.verilog.replace(before, after)
    assert main(written(tmp_path, replace(module, verilog=verilog))) == 2
    assert told in " ".join(capsys.readouterr().err.split())


PORTS = "clock: {port: clk, net: beat}\ninputs: {rst_n: clear_n, d: run}\noutputs: {q: 'q[0]'}\n"
MISTAKES = {
    "both ways": (
        "",
        "module m(inout clk, inout rst_n, d, q); endmodule",
        "port clk goes both ways",
    ),
    "no clock": (
        "clock: {port: clk, net: beat}\n",
        "",
        "q is clocked by clk: the ports file names no clock",
    ),
    "input": (", d: run", "", "does not say what the input 'd' follows"),
    "net": ("d: run", "d: ran", "'ran' is no net of the board"),
    "inside": ("d: run", "d: 'q[1]'", "follows from more than switches, buttons, oscillators"),
    "output": ("{q: 'q[0]'}", "{r: 'q[0]'}", "the module has no output 'r'"),
    "width": ("{q: 'q[0]'}", "{q: q}", "'q' has 1 bits in the module, 4 here"),
    "key": ("outputs", "output", "a ports file has no 'output'"),
    "twice": ("{rst_n: clear_n,", "{clk: beat, rst_n: clear_n,", "'clk' is given twice"),
    "register": ("outputs", "storage: {r: U1.R}\noutputs", "the module has no register 'r'"),
    "storage": ("outputs", "storage: {q: U1.S}\noutputs", "'U1.S' is no storage of the board"),
    "bits": ("outputs", "storage: {q: U1.R}\noutputs", "'q' has 1 bits in the module, 4 here"),
    "module": ("clock", "module: n\nclock", "n"),
    "nothing": ("{q: 'q[0]'}", "{}", "the file names no outputs"),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_mistakes_in_the_ports_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    old, new, told = MISTAKES[name]
    ports = PORTS.replace(old, new, 1) if old and not new.startswith("module m") else PORTS
    verilog = new if new.startswith("module m") else PLAIN
    words = written(tmp_path, Written(board="chase", verilog=verilog, ports=ports, reset=True))
    assert main(words) == 2
    assert told in " ".join(capsys.readouterr().err.split())


def test_where_a_run_begins_must_be_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Initial values are left aside: a real board has none."""
    verilog = PLAIN.replace("output reg q", "output reg q = 0")
    assert main(written(tmp_path, Written(board="chase", verilog=verilog, ports=PORTS))) == 2
    assert "nobody says what q of the module begins with" in " ".join(
        capsys.readouterr().err.split()
    )


BUTTONS = """\
board: cue
parts:
  GO: push-button
  MODE: {part: spdt, positions: [SET, SHOW]}
  R1: {part: resistor, value: 10k}
  R2: {part: resistor, value: 330}
  U1: 74HC00
  L1: led
nets:
  VCC: [U1.14, R1.1, MODE.3, R2.1]
  GND: [U1.7, GO.2, MODE.1, U1.4, U1.5, U1.9, U1.10, U1.12, U1.13]
  go_n: [GO.1, R1.2, U1.1]
  show: [MODE.2, U1.2]
  lamp_n: [U1.3, L1.2]
  led: [R2.2, L1.1]
"""


def test_buttons_and_lamps(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An active-low button and a lamp at a gate: lit while show is high and GO is not pressed. The
    switch floats on its way, so that no input can follow it."""
    board = tmp_path / "cue.yaml"
    board.write_text(BUTTONS, "utf-8")
    (tmp_path / "m.v").write_text(
        "module m(input go, show, output lamp); assign lamp = show & ~go; endmodule", "utf-8"
    )
    ports = tmp_path / "ports.yaml"
    ports.write_text("inputs: {go: '!go_n', show: show}\noutputs: {lamp: L1}\n", "utf-8")
    words = ["compare", str(board), str(tmp_path / "m.v"), "--ports", str(ports), "--no-proofs"]
    assert main(words) == 2
    assert "show may float" in " ".join(capsys.readouterr().err.split())
    board.write_text(
        BUTTONS.replace("R2: {", "R3: {part: resistor, value: 10k}\n  R2: {").replace(
            "show: [", "show: [R3.1, ").replace("GND: [", "GND: [R3.2, "), "utf-8",
    )  # fmt: skip
    assert main(words) == 0
    ports.write_text("inputs: {go: '!go_n', show: show}\noutputs: {lamp: '!L1'}\n", "utf-8")
    assert main(words) == 1


FLIPFLOP = """\
board: cue
parts: {U1: 74LS74}
nets:
  VCC: [U1.14, U1.10, U1.13]
  GND: [U1.7, U1.11, U1.12]
  clk: [U1.3]
  d: [U1.2]
  set_n: [U1.4]
  clear_n: [U1.1]
  q: [U1.5]
ports: {clk: in, d: in, set_n: in, clear_n: in, q: out}
"""
SET_AND_CLEAR = """
module ff(input clk, d, set_n, clear_n, output reg q);
  always @(posedge clk, negedge set_n, negedge clear_n)
    if (!clear_n) q <= 0; else if (!set_n) q <= 1; else q <= d;
endmodule
"""


def test_set_and_clear(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Function table of the 74: preset and clear both low make both outputs high; the module's
    clear wins. While they never are, the two are the same."""
    board, verilog, ports = (tmp_path / name for name in ("b.yaml", "m.sv", "ports.yaml"))
    board.write_text(FLIPFLOP, "utf-8")
    verilog.write_text(SET_AND_CLEAR, "utf-8")
    ports.write_text(
        "clock: {port: clk, net: clk}\ninputs: {d: d, set_n: set_n, clear_n: clear_n}\n"
        "outputs: {q: q}\nstorage: {q: U1.R1}\n",
        "utf-8",
    )
    words = ["compare", str(board), str(verilog), "--ports", str(ports), "--jobs", "1"]
    assert main(words) == 1
    assert "DIFFERENT: q, right after power-up" in " ".join(capsys.readouterr().out.split())
    one = 'assume:\n  one: {says: "One at most.", formula: "always (set_n || clear_n)"}\n'
    board.write_text(FLIPFLOP + one, "utf-8")
    assert main(words) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "THE SAME, in runs of any length" in told
    assert "assumed one" in told


def test_what_moves_with_the_clock(tmp_path: Path) -> None:
    """Design.md, section 4: what is taken in is what was there before the edge. A flip-flop that
    takes in the clock upside down goes high; so does the module, whose input follows the same."""
    board, verilog, ports = (tmp_path / name for name in ("b.yaml", "m.v", "ports.yaml"))
    text = FLIPFLOP.replace("{U1: 74LS74}", "{U1: 74LS74, U2: 74LS04}")
    text = text.replace("GND: [", "GND: [U2.7, U2.3, U2.5, U2.9, U2.11, U2.13, ").replace(
        "VCC: [", "VCC: [U2.14, "
    )
    text = text.replace("clk: [", "clk: [U2.1, ").replace("d: [", "d: [U2.2, ")
    board.write_text(text.replace(" d: in,", ""), "utf-8")
    verilog.write_text(
        "module m(input clk, d, set_n, clear_n, output reg q);\n"
        "always @(posedge clk, negedge clear_n) if (!clear_n) q <= 0; else q <= d | ~set_n;\n"
        "endmodule\n",
        "utf-8",
    )
    ports.write_text(
        "clock: {port: clk, net: clk}\ninputs: {d: '!clk', set_n: set_n, clear_n: clear_n}\n"
        "outputs: {q: q}\nstorage: {q: U1.R1}\n",
        "utf-8",
    )
    held = 'assume:\n  high: {says: "Never set.", formula: "always set_n"}\n'
    board.write_text(board.read_text("utf-8") + held, "utf-8")
    found = beside(board, verilog, ports, Asked(proofs=False), Means(seconds=60))
    assert found.answered is not None
    assert found.answered.fates == {"q": "same"}


@pytest.mark.parametrize(
    ("when", "status"), [("a + b < 4", 0), ("a + b >= 4", 1), ("a + b > 6", 3), ("a + c < 4", 2)]
)
def test_only_while_a_formula_holds(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], when: str, status: int
) -> None:
    """Sums of two bits each are without a carry up to 3, have one from 4 on, and end at 6."""
    words = written(tmp_path, MODULES["sum-without-carry"])
    assert main([*words, "--when", when, "--jobs", "1"]) == status
    out, err = capsys.readouterr()
    if status == 2:
        assert "nothing on this board is called 'c'" in err
    else:
        assert f"at quiet moments at which {when}: s" in " ".join(out.split())
    assert status or f"THE SAME while {when}, in runs of any length" in out


def test_markdown(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = [*written(tmp_path, MODULES["ten-steps-of-nine-alone"]), "--jobs", "1"]
    assert main([*words, "--markdown"]) == 1
    told = capsys.readouterr().out
    assert told.startswith("## ")
    assert told.splitlines()[0].endswith("module.v: not the same behaviour")
    assert "**What it does:** DIFFERENT: step, 1 step after power-up" in told
    head, line, *rows = (row for row in told.splitlines() if row.startswith("|"))
    assert head == "| step |  | step board | step Verilog |"
    assert line == "| --- | --- | --- | --- |"
    assert [row.split(" | ")[0] for row in rows] == ["| 0", "| 1"]


# exported Verilog ---------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Verilog of two boards, one in each style."""
    folder = tmp_path_factory.mktemp("exported")
    found = {name: str(folder / f"{name}.v") for name in ("chase", "ten-steps-163")}
    for (name, path), style in zip(found.items(), ("rounds", "synchronous"), strict=True):
        words = ["export", str(FOLDER / f"{name}.yaml"), "--to", "verilog", "-o", path]
        assert main([*words, "--style", style]) == 0
    return found


@pytest.mark.parametrize(
    ("board", "verilog", "status", "told"),
    [
        ("ten-steps-163", "ten-steps-163", 0, "in every period of beat"),
        ("ten-steps-161", "ten-steps-163", 1, "DIFFERENT from"),
        ("chase", "chase", 0, "THE SAME as"),
        ("chase-moved", "chase", 1, "storage after the round U1.R[2]"),
    ],
)
def test_exported(
    capsys: pytest.CaptureFixture[str],
    exported: dict[str, str],
    board: str,
    verilog: str,
    status: int,
    told: str,
) -> None:
    """Known by the boards: another chip; one input moved."""
    words = ["compare", str(FOLDER / f"{board}.yaml"), exported[verilog]]
    assert main(words) == status
    assert told in " ".join(capsys.readouterr().out.split())
    assert main([*words, "--json"]) == status
    assert json.loads(capsys.readouterr().out)["behaviour"]["verdict"] == {
        0: "same", 1: "differs", 3: "undecided",
    }[status]  # fmt: skip


def test_verilog_of_another_board(
    capsys: pytest.CaptureFixture[str], exported: dict[str, str]
) -> None:
    assert main(["compare", str(FOLDER / "quarter-175.yaml"), exported["chase"]]) == 2
    told = " ".join(capsys.readouterr().err.split())
    assert "there is no module quarter in it" in told
    assert "is exported, but chase. It is another board's" in told


def test_markdown_of_exported_verilog(
    capsys: pytest.CaptureFixture[str], exported: dict[str, str]
) -> None:
    assert main(["compare", str(FOLDER / "chase.yaml"), exported["chase"], "--markdown"]) == 0
    first, _, second, *_ = capsys.readouterr().out.splitlines()
    assert first.endswith("chase.v: the same behaviour")
    assert second.startswith("**What it does:** THE SAME as ")


def test_verilog_comes_second(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    written(tmp_path, MODULES["ring"])
    assert main(["compare", str(tmp_path / "module.v"), str(FOLDER / "chase.yaml")]) == 2
    assert "Verilog comes second" in " ".join(capsys.readouterr().err.split())


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "was not exported by breadproof"),
        (("--ports", "nosuch.yaml"), "nosuch.yaml"),
        (("--wiring",), "with Verilog go --ports"),
        (("--latency", "1"), "with Verilog go --ports"),
    ],
)
def test_bad_calls(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], told: str
) -> None:
    written(tmp_path, MODULES["ring"])
    call = ["compare", str(FOLDER / "chase.yaml"), str(tmp_path / "module.v"), *words]
    assert main(call) == 2
    assert told in " ".join(capsys.readouterr().err.split())
