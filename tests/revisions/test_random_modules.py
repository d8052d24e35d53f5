"""Random boards beside random Verilog: told apart, or proved to be the same, as ABC does it with
two boards. `tests.long` has more of them."""

from __future__ import annotations

from pathlib import Path
from random import Random

from breadproof.verify.revisions.beside import Asked, beside
from breadproof.verify.revisions.verdicts import Means
from tests.revisions.agreement import different_ports
from tests.revisions.pairs import INPUTS, Sketch, miswired, rewritten
from tests.revisions.test_latency import without_memory

OPERATORS = {"NAND": "~(%s & %s)", "AND": "%s & %s", "OR": "%s | %s", "XOR": "%s ^ %s"}


def verilog(sketch: Sketch, *, structural: bool) -> str:
    """The same circuit as a module: gates as primitives or expressions, flip-flops as one always
    block."""
    shown = dict.fromkeys(sketch.shown)
    lines = [f"module sketch(input beat, clear_n, {', '.join(INPUTS)},"]
    lines += [f"  output {', '.join(f'{net}_out' for net in shown)});", "  reg [3:0] q;"]
    lines += [f"  wire q{k} = q[{k}];" for k in range(4)]
    for gate in sketch.gates:
        if structural:
            lines.append(
                f"  wire {gate.name}; {gate.kind.lower()}({gate.name}, {gate.a}, {gate.b});"
            )
        else:
            lines.append(f"  wire {gate.name} = {OPERATORS[gate.kind] % (gate.a, gate.b)};")
    data = ", ".join(reversed(sketch.data))
    lines.append("  always @(posedge beat or negedge clear_n)")
    lines.append(f"    if (!clear_n) q <= 0; else q <= {{{data}}};")
    lines += [f"  assign {net}_out = {net};" for net in shown]
    return "\n".join([*lines, "endmodule", ""])


def agree(folder: Path, seed: int, abc: str) -> bool:
    """Whether a board and a module are told apart: the same to both programs."""
    random = Random(seed)
    first = without_memory(random)
    second = (rewritten if seed % 2 else miswired)(first, random)
    old, new, module, ports = (
        folder / name for name in ("old.yaml", "new.yaml", "module.v", "ports.yaml")
    )
    old.write_text(first.text("old"), "utf-8")
    new.write_text(second.text("new"), "utf-8")
    module.write_text(verilog(second, structural=seed % 4 < 2), "utf-8")
    used = [name for name in INPUTS if f"{name}: in" in first.text("old")]
    inputs = ", ".join(f"{name}: {name}" for name in ("clear_n", *used))
    text = module.read_text("utf-8")
    for name in INPUTS:
        if name not in used:
            text = text.replace(f", {name}", "", 1)
    module.write_text(text, "utf-8")
    outputs = ", ".join(f"{net}_out: {net}" for net in dict.fromkeys(first.shown))
    ports.write_text(
        f"clock: {{port: beat, net: beat}}\ninputs: {{{inputs}}}\noutputs: {{{outputs}}}\n"
        "storage: {q: U1.R}\n",
        "utf-8",
    )
    told = different_ports(folder, old, new, "old.U1.R == new.U1.R", abc)
    found = beside(old, module, ports, Asked(proofs=False), Means(seconds=60))
    assert found.answered is not None
    fates = {n.removesuffix("_out"): fate for n, fate in found.answered.fates.items()}
    seen = {name for name, fate in fates.items() if fate == "differs"}
    assert seen <= told
    assert bool(seen) == bool(told)
    assert seen or set(fates.values()) == {"same"}
    assert told.isdisjoint(name for name, fate in fates.items() if fate == "same")
    assert not seed % 2 or not told
    return bool(told)


def test_random_modules(tmp_path: Path, berkeley_abc: str) -> None:
    assert sum(agree(tmp_path, 300 + seed, berkeley_abc) for seed in range(6)) >= 1
