"""The third way: the exported Verilog in Icarus Verilog, one simulation a chip for all its rows.

Pins are looked at through the ports of the exported module. Of a three-state pin a second look is
taken with a high put on its net from outside: a pin that has let go follows, one that drives fights
and reads low, since the choice made in the export for a net without a level is 0; a pin that an
analogue switch joins to one that is driven shows the same. A bidirectional
pin is read by the chip as well, so there the chip's own outputs are looked at by their hierarchical
names, and so are registers, latches and words.
"""

from __future__ import annotations

import re
import subprocess
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from breadproof.export.amaranth_file import generate
from breadproof.export.lowering.board import Lowered
from breadproof.export.verilog import CLOCK, verilog
from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.machine.machine import Machine
from breadproof.specs.reading.diagnostics import Span
from breadproof.verify.rows.boards import Placed
from breadproof.verify.rows.judging import MAX_ROUNDS, PinSeen, Trial
from breadproof.verify.rows.ways import DRAWN, controls_of, word_bit

BENCH = """
module bench;
  reg clock = 0, poke;
  reg [{ports} - 1:0] port;
  reg [{content} - 1:0] held;
  reg [{ports} + {content}:0] stimuli [0:{steps} - 1];
  wire {wires};
  rows dut ({connections});
  integer step, word, seed;
  initial begin
    seed = 7400;
    $readmemb("stimuli", stimuli);
    for (step = 0; step < {steps}; step = step + 1) begin
      {{poke, held, port}} = stimuli[step];
      if (poke) begin
        {pokes}
      end
      repeat ({ticks}) begin
        #1 clock = 1;
        #1 clock = 0;
      end
      #1 $write("%b", {{{looks}}});
      port = port | {probing};
      #1 $display("%b", {{{probes}}});
    end
  end
endmodule
"""
LETS_GO = (PinKind.THREE_STATE, PinKind.OPEN_COLLECTOR)


def held_by(target: str, source: str) -> str:
    """The register behind ``dut.U1.L``: where an output is just that, the output is written as the
    register, and the storage as a wire from it."""
    place, _, name = target.rpartition(".")
    name, bracket, bit = name.partition("[")
    found = re.search(rf"^  assign {re.escape(name)} = (\w+);$", source, re.MULTILINE)
    return f"{place}.{found[1]}{bracket}{bit}" if found else target


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """A board of chips, and what is exported of it."""

    machine: Machine
    lowered: Lowered
    source: str


def exported(machine: Machine) -> Exported:
    """The board as Verilog."""
    netlist = machine.netlist
    return Exported(machine=machine, lowered=generate(netlist).lowered, source=verilog(netlist))


class Rig:
    """The test bench of one chip: its ports and what is looked at.

    Other chips may be on its board, of which it is the only one whose ports move.
    """

    def __init__(self, chip: Placed, board: Exported, trials: tuple[Trial, ...]) -> None:
        self.chip = chip
        self.source = board.source
        self.netlist = board.machine.netlist
        self.stores = [store for store in board.machine.stores if store.part == chip.name]
        self.memories = [memory for memory in board.machine.memories if memory.part == chip.name]
        self.lowered = board.lowered
        self.kinds = {pin.name: pin.kind for pin in chip.part.pins}
        self.looping = self.lowered.cuts.ticks > 1
        self.ports = [
            (control.name, name)
            for control in self.netlist.controls
            for name, _ in self.lowered.controls[control.name]
        ]
        self.looks = list(
            dict.fromkeys(look for t in trials for name in t.watched() for look in self.of(name))
        )
        self.looks += ["unsettled"] if self.looping else []
        self.lets_go = {name for name, kind in self.kinds.items() if kind in LETS_GO}
        self.lets_go |= chip.part.switch_pins
        self.probes = [self.net(name) for name in self.kinds if name in self.lets_go]

    def net(self, pin: str) -> str:
        """The port that shows a pin's net."""
        return f"{self.chip.net(pin)}_out"

    def of(self, name: str) -> tuple[str, ...]:
        """The Verilog expressions that show a pin (net, then level and drive) or a bit."""
        here = f"{self.chip.name}.{name}"
        word = word_bit(name)
        if word is not None:
            memory = self.lowered.memories[f"{self.chip.name}.{word[0]}"]
            return (f"dut.{memory}[{word[1]}][{word[2]}]",)
        if name not in self.kinds:
            unit, _, bit = here.rstrip("]").partition("[")
            attribute, width = self.lowered.storage[unit]
            return (f"dut.{attribute}[{bit}]" if width > 1 else f"dut.{attribute}",)
        if not self.kinds[name].both_ways:
            return (self.net(name),)
        pin = self.chip.part.pin(name)
        assert pin is not None
        level, drives = self.lowered.drives[f"{self.chip.name}.{pin.number}"]
        shown = "1'b0" if level == "0" else f"dut.{level}"  # what only pulls low
        return (self.net(name), shown, f"dut.{drives}")

    def stimuli(self, trials: tuple[Trial, ...]) -> list[str]:
        """A line a step, as `BENCH` reads it: whether content is poked, the content, the ports."""
        lines: list[str] = []
        for trial in trials:
            dice = trial.dice()
            levels = trial.idle(dice)
            controls = controls_of(self.chip, self.netlist, levels, dice)
            for place, stimulus in enumerate((None, *trial.run)):
                if stimulus is not None:
                    inputs = dict(stimulus.inputs)
                    controls |= controls_of(self.chip, self.netlist, inputs, dice)
                bits = [
                    bit
                    for control in self.netlist.controls
                    for bit in controls.get(control.name, (0,) * len(control.bits))
                ]
                poke = "0" if place else "1"
                stores = trial.drawn([store.label for store in self.stores], dice)
                held = "".join(map(str, reversed(stores.values()))) or "0"
                lines.append(poke + held + "".join(map(str, reversed(bits))))
        return lines

    @property
    def content(self) -> int:
        """Bits of registers and latches; 1 if there are none, so that no vector is empty."""
        return len(self.stores) or 1

    def pokes(self) -> list[str]:
        """Statements that put any content into all storage and every memory that is written."""
        found = []
        _, _, after = self.source.partition(f"module \\rows.{self.chip.name} ")
        module = after.partition("endmodule")[0]
        for place, store in enumerate(self.stores):
            (target,) = self.of(f"{store.storage}[{store.bit}]")
            found.append(f"{held_by(target, module)} = held[{place}];")
        for unit in self.memories:
            if unit.label not in self.lowered.writes:
                continue
            memory, words = self.lowered.memories[unit.label], unit.words
            loop = f"for (word = 0; word < {min(words, DRAWN)}; word = word + 1)"
            at = "word" if words <= DRAWN else f"$unsigned($random(seed)) % {words}"
            found.append(f"{loop} dut.{memory}[{at}] = $random(seed);")
        return found

    def bench(self, steps: int) -> str:
        """The test bench as Verilog."""
        outside = [
            self.net(pin.name)
            for pin in self.chip.part.pins
            if pin.kind.drives or pin.name in self.lets_go
        ]
        wires = [*outside, "unsettled"]
        connections = [f".{name}(port[{place}])" for place, (_, name) in enumerate(self.ports)]
        connections += [f".{name}({name})" for name in outside]
        connections += [".unsettled(unsettled)"] if self.looping else []
        if f"{CLOCK}_clk" in self.source:
            connections += [f".{CLOCK}_clk(clock)", f".{CLOCK}_rst(1'b0)"]
        probed = [control for control, _ in self.ports]
        mask = "".join("01"[f"{name}_out" in self.probes] for name in reversed(probed))
        return BENCH.format(
            ports=len(self.ports),
            content=self.content,
            steps=steps,
            wires=", ".join(wires),
            connections=", ".join(connections),
            ticks=MAX_ROUNDS * self.lowered.cuts.ticks,
            pokes="\n        ".join(self.pokes()),
            looks=", ".join(self.looks),
            probing=f"{len(probed)}'b{mask}",
            probes=", ".join(self.probes) or "1'b0",
        )

    def run(self, iverilog: str, trials: tuple[Trial, ...]) -> list[dict[str, str]]:
        """What every step shows, by expression; a probed one under its name and a "+"."""
        stimuli = self.stimuli(trials)
        with tempfile.TemporaryDirectory() as folder:
            Path(folder, "rows.v").write_text(self.source, "utf-8")
            Path(folder, "bench.v").write_text(self.bench(len(stimuli)), "utf-8")
            Path(folder, "stimuli").write_text("\n".join([*stimuli, ""]), "utf-8")
            build = [iverilog, "-g2005", "-o", "bench", "bench.v", "rows.v"]
            subprocess.run(build, cwd=folder, check=True)
            run = ["vvp", "-n", "bench"]
            ran = subprocess.run(run, cwd=folder, check=True, capture_output=True, text=True)
        lines = ran.stdout.split()
        assert len(lines) == len(stimuli), ran.stdout[:2000]
        names = [*self.looks, *(f"{name}+" for name in self.probes)]
        return [dict(zip(names, line, strict=False)) for line in lines]


class OnIcarus:
    """A chip in Icarus Verilog, on which all its runs were made; here they are played back.

    Like `OnBench` it runs on from one run to the next, with other content.
    """

    def __init__(
        self, iverilog: str, chip: Placed, board: Exported, trials: tuple[Trial, ...]
    ) -> None:
        self.rig = Rig(chip, board, trials)
        self.steps = self.rig.run(iverilog, trials)
        self.starts: dict[tuple[Span, int], int] = {}
        place = 0
        for trial in trials:
            self.starts[trial.key] = place
            place += 1 + len(trial.run)
        assert place == len(self.steps)
        self.place = 0
        self.now: dict[str, str] = {}
        self.outside: dict[str, int | None] = {}

    def start(self, trial: Trial) -> None:
        self.place = self.starts[trial.key]
        self.outside = {}
        self.apply({})

    def apply(self, inputs: Mapping[str, int | None]) -> None:
        self.outside.update(inputs)
        self.now = self.steps[self.place]
        self.place += 1
        assert self.now.get("unsettled", "0") == "0"

    def see(self, name: str) -> str:
        rig = self.rig
        shown = [self.now[look] for look in rig.of(name)]
        if not set(shown) <= {"0", "1"}:
            return f"Icarus shows {' '.join(shown)}"
        levels = [int(level) for level in shown]
        if name not in rig.kinds:
            return "LH"[levels[0]]
        net, level, drives = levels[0], levels[0], 1
        if rig.kinds[name].both_ways:
            _, level, drives = levels
        elif name in rig.lets_go:
            follows = self.now[f"{rig.net(name)}+"]
            if f"{net}{follows}" not in ("00", "10", "01"):
                return f"net {net}, with a high from outside {follows}"
            drives = 1 - int(follows)
        return PinSeen(
            drives=bool(drives), level=level, net=net, outside=self.outside.get(name)
        ).letter()
