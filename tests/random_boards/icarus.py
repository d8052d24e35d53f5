"""The exported Verilog of a board in Icarus Verilog, and the second evaluator's word on it.

A Verilog simulation runs in one go and cannot be steered, so here it goes first: every net in
every round is read out, and the second evaluator has to see the same. Nets without a level are 0 in
the export, so all free levels are 0; which stable value a loop takes is Icarus' choice, and the
second evaluator checks that it is one.
"""

from __future__ import annotations

import subprocess
import tempfile
from collections import Counter
from functools import partial
from pathlib import Path
from random import Random

from breadproof.export.amaranth_file import generate
from breadproof.export.lowering.board import Lowered
from breadproof.export.verilog import CLOCK, module_name, verilog
from breadproof.specs.netlist.model import Netlist
from tests.random_boards.boards import stimuli
from tests.random_boards.running import STEPS, machine_of
from tests.rows.icarus import held_by
from tests.support.second_evaluator import NeverQuiet, NotStable, SecondBoard
from tests.support.witnesses import Disagreement, Start, Stimuli

ROUNDS = 12
"""Every step is given so many rounds; one that needs more ends the run."""

_BENCH = """
module bench;
  reg clock = 0;
  reg [{width}:0] in;
  reg [{width}:0] stimuli [0:{steps}];
  wire unsettled;
  {module} dut ({connections});
  integer step, round;
  initial begin
    $readmemb("stimuli", stimuli);
    in = stimuli[0];
    #1
{pokes}
    for (step = 0; step < {steps}; step = step + 1) begin
      in = stimuli[step];
      for (round = 0; round < {rounds}; round = round + 1) begin
        repeat ({ticks} - 1) begin #1 clock = 1; #1 clock = 0; end
        #1 $display("%b", {{unsettled, {looks}}});
        #1 clock = 1;
        #1 clock = 0;
      end
    end
  end
endmodule
"""


def _module(instance: str, source: str) -> str:
    """The text of a chip's module: other chips have pins and storage of the same names."""
    _, found, text = source.partition(f".{instance} (")
    return text.partition("\nendmodule")[0] if found else source


def _pokes(lowered: Lowered, start: Start, source: str) -> list[str]:
    """Statements that give storage and memories their content at power-up."""
    found = []
    for label, (attribute, width) in lowered.storage.items():
        value = sum(start.storage[f"{label}[{n}]"] << n for n in range(width))
        inside = _module(attribute.partition(".")[0], source)
        found.append(f"    {held_by(f'dut.{attribute}', inside)} = {width}'d{value};")
    for label, words in start.memories.items():
        attribute = lowered.memories[label]
        found += [f"    dut.{attribute}[{n}] = {word};" for n, word in enumerate(words) if word]
    return found


def run(compiler: str, netlist: Netlist, drawn: Stimuli) -> list[list[tuple[bool, dict[str, int]]]]:
    """For every step, for each of `ROUNDS` rounds: whether a loop was unsettled, and the nets."""
    lowered, source = generate(netlist).lowered, verilog(netlist)
    ports = [name for bits in lowered.controls.values() for name, _ in bits]
    order = [(c.name, bit) for c in netlist.controls for bit in range(len(c.bits))]
    widths: dict[str, dict[int, int]] = {}
    for place, (control, bit) in enumerate(order):
        name, number = lowered.controls[control][bit]
        widths.setdefault(name, {})[number] = place
    connections = [
        f".{name}({{{', '.join(f'in[{places[n]}]' for n in sorted(places, reverse=True))}}})"
        for name, places in widths.items()
    ]
    connections += [f".{CLOCK}_clk(clock)", f".{CLOCK}_rst(1'b0)"]
    ticks = lowered.cuts.ticks
    if ticks > 1:
        connections.append(".unsettled(unsettled)")
    assert len(ports) == len(order)
    controls = dict(drawn.start.controls)
    lines = []
    for change in ({}, *drawn.changes):
        controls.update(change)
        bits = [controls[name][bit] for name, bit in order]
        lines.append("".join(map(str, reversed([*bits, 0]))))
    bench = _BENCH.format(
        width=len(order),
        steps=len(lines),
        rounds=ROUNDS,
        ticks=ticks,
        module=module_name(netlist),
        connections=", ".join(connections),
        pokes="\n".join(_pokes(lowered, drawn.start, source)),
        looks=", ".join(f"dut.{attribute}" for attribute in lowered.nets),
    )
    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "board.v").write_text(source, "utf-8")
        Path(folder, "bench.v").write_text(bench, "utf-8")
        Path(folder, "stimuli").write_text("\n".join([*lines, lines[-1], ""]), "utf-8")
        build = [compiler, "-g2005", "-o", "bench", "bench.v", "board.v"]
        subprocess.run(build, cwd=folder, check=True)
        ran = subprocess.run(
            ["vvp", "-n", "bench"], cwd=folder, check=True, capture_output=True, text=True
        )
    told = ran.stdout.split()
    assert len(told) == ROUNDS * len(lines), ran.stdout[:2000]
    names = [net.name for net in netlist.nets]
    rounds = [(line[0] == "1", dict(zip(names, map(int, line[1:]), strict=True))) for line in told]
    return [rounds[n : n + ROUNDS] for n in range(0, len(rounds), ROUNDS)]


def _low(reader: str) -> int:
    return 0


def _at(chosen: list[dict[str, int]], number: int) -> dict[str, int] | None:
    return chosen[number] if number < len(chosen) else None


def check_one(compiler: str, text: str, seed: int, count: Counter[str]) -> None:
    """One board: Icarus and the second evaluator see the same, until a loop does not settle."""
    machine = machine_of(text)
    drawn = stimuli(machine, Random(seed), STEPS)
    start = drawn.start
    seen = run(compiler, machine.netlist, drawn)
    board = SecondBoard(machine.netlist, start.controls, start.storage, start.memories)
    count["boards"] += 1
    for number, rounds in enumerate(seen):
        changes = drawn.changes[number - 1] if number else {}
        count["steps"] += 1
        chosen = [nets for _, nets in rounds]
        try:
            if number:
                mine = board.step(changes, _low, partial(_at, chosen))
            else:
                mine = board.power_up(_low, partial(_at, chosen))
        except NeverQuiet:
            quiet = rounds[-1] == rounds[-2] and not any(unsettled for unsettled, _ in rounds)
            if quiet:
                raise Disagreement(f"step {number}: quiet in Icarus alone") from None
            count["not quiet"] += 1
            return
        except NotStable:
            # A loop that did not settle in its ticks shows levels that are none of its stable ones.
            if not any(unsettled for unsettled, _ in rounds):
                raise
            count["left"] += 1
            return
        if len(mine) > ROUNDS or any(unsettled for unsettled, _ in rounds):
            count["left"] += 1
            return
        for place, (_, nets) in enumerate(rounds):
            expected = mine[min(place, len(mine) - 1)].nets
            wrong = {n: (level, expected[n]) for n, level in nets.items() if level != expected[n]}
            if wrong:
                raise Disagreement(
                    f"step {number}, round {place}: Icarus and second evaluator: {wrong}"
                )
    count["whole runs"] += 1
