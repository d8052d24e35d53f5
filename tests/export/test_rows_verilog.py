"""Every chip's data-sheet rows, run through the exported Verilog in Icarus Verilog.

One board carries one of each chip, with a port on every pin, so that one export and one simulation
serve them all: in each slot of time every chip is given the next stimulus of its own.
"""

import random
import subprocess
from dataclasses import dataclass, field

import pytest

from breadproof.export.amaranth_file import Generated, generate
from breadproof.export.lowering.chips import ChipClass
from breadproof.export.verilog import module_name, verilog
from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PartType, PinKind
from breadproof.specs.catalogue.rows import Stimulus, contents, expand
from breadproof.specs.netlist.model import Netlist
from tests.export import boards
from tests.export.test_rows import NUMBERS

ROUNDS = 3
"""Enough for one chip: the edge, the new content, and one that changes nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """What one chip is given at one time: deposits first, then inputs; and what is expected."""

    deposits: tuple[str, ...]
    stimulus: Stimulus
    starts_run: bool
    ends_row: bool


@dataclass(slots=True)
class Seat:
    """A chip on the board, with its slots and the Verilog that shows it."""

    part: PartType
    chip: ChipClass
    slots: list[Slot] = field(default_factory=list)

    @property
    def name(self) -> str:
        return f"X{self.part.number}"

    @property
    def path(self) -> str:
        return f"dut.{self.name}"

    def fill(self) -> None:
        """All runs of all tables, each from random content."""
        dice = random.Random(self.part.number)
        for table in self.part.rows:
            words = tuple(
                f"{self.path}.{memory}[{address}] = {word};"
                for memory, address, word in contents(self.part, table)
            )
            for run in expand(self.part, table):
                stored = tuple(
                    f"{self.path}.{self.chip.storage[storage.name]} = "
                    f"{dice.getrandbits(storage.width)};"
                    for storage in self.part.storage
                )
                for at, stimulus in enumerate(run):
                    last = at + 1 == len(run) or run[at + 1].span != stimulus.span
                    self.slots.append(
                        Slot(
                            deposits=() if at else words + stored,
                            stimulus=stimulus,
                            starts_run=not at,
                            ends_row=last,
                        )
                    )

    def inputs(self, stimulus: Stimulus) -> list[str]:
        lines: list[str] = []
        for name, level in stimulus.inputs:
            pin = self.part.pin(name)
            assert pin is not None
            port = f"{self.name}_{pin.number}"
            if pin.kind is PinKind.BIDIRECTIONAL:
                lines.append(f"{port}_outside = {int(level is not None)};")
            lines.append(f"{port}_in = {level or 0};")
        return lines

    def shown(self, name: str) -> str:
        """The Verilog of what is expected of: two bits (drives, level) of a pin, one of storage."""
        pin = self.part.pin(name)
        if pin is not None and pin.kind is PinKind.BIDIRECTIONAL:
            drive = self.chip.drives[name]
            return f"{{{self.path}.{drive.when}, {self.path}.{drive.level}}}"
        if pin is not None:
            # Seen on its net, where it is alone: a chip that is wires only is none in Verilog.
            net = f"dut.{self.name}_{pin.number}"
            alone = pin.kind is PinKind.OUT
            return f"{{1'b1, {net}}}" if alone else f"{{{net}_known, {net}_level}}"
        stem, _, rest = name.partition("[")
        if stem in self.chip.storage:
            width = next(s.width for s in self.part.storage if s.name == stem)
            index = "" if width == 1 else f"[{rest}"
            return f"{{1'b1, {self.path}.{self.chip.storage[stem]}{index}}}"
        return f"{{1'b1, {self.path}.{name}}}"

    def watched(self) -> list[str]:
        """Everything that any row looks at."""
        names = {name for slot in self.slots for name, _ in slot.stimulus.expect}
        return sorted(names)


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The board with one of each chip, its source, and its chips."""

    netlist: Netlist
    generated: Generated
    seats: tuple[Seat, ...]


def board_text(parts: list[PartType]) -> str:
    lines = ["board: one-of-each", "parts:"]
    nets: dict[str, list[str]] = {"GND": [], "VCC": []}
    ports: list[str] = []
    for part in parts:
        family = part.families[0].replace("TTL", "")
        printed = part.number if part.families == ("MOS",) else f"74{family}{part.number}"
        name = f"X{part.number}"
        lines.append(f"  {name}: {printed}")
        for pin in part.pins:
            here = f"{name}.{pin.number}"
            if pin.kind is PinKind.GROUND:
                nets["GND"].append(here)
            elif pin.kind is PinKind.SUPPLY:
                nets["VCC"].append(here)
            elif pin.kind.reads or pin.kind.drives:
                nets[f"{name}_{pin.number}"] = [here]
            if pin.kind.reads:
                way = "both" if pin.kind is PinKind.BIDIRECTIONAL else "in"
                ports.append(f"  {name}_{pin.number}: {way}")
    lines.append("nets:")
    lines += [f"  {net}: [{', '.join(pins)}]" for net, pins in nets.items()]
    return "\n".join([*lines, "ports:", *ports, ""])


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Table:
    parts = [Catalogue(()).part(number) for number in NUMBERS]
    netlist = boards.netlist_of(tmp_path_factory.mktemp("one_of_each"), board_text(parts))
    generated = generate(netlist)
    classes = {chip.number: chip for chip in generated.lowered.classes}
    seats = tuple(Seat(part=part, chip=classes[part.number]) for part in parts)
    for seat in seats:
        seat.fill()
    return Table(netlist=netlist, generated=generated, seats=seats)


def bench(table: Table) -> str:
    """The testbench: a line of bits for each chip in each slot."""
    inputs = [name for bits in table.generated.lowered.controls.values() for name, _ in bits]
    ticks = table.generated.lowered.cuts.ticks
    ports = ", ".join(f".{name}({name})" for name in inputs)
    lines = ["module t;", "reg tick_clk = 0;", *(f"reg {name} = 0;" for name in inputs)]
    lines.append(
        f"{module_name(table.netlist)} dut (.tick_clk(tick_clk), .tick_rst(1'b0), {ports});"
    )
    lines += ["task ticks(input integer count);", "repeat (count) begin"]
    lines += ["#1 tick_clk = 1; #1 tick_clk = 0; #1;", "end", "endtask", "initial begin"]
    for at in range(max(len(seat.slots) for seat in table.seats)):
        active = [seat for seat in table.seats if at < len(seat.slots)]
        for seat in active:
            slot = seat.slots[at]
            lines += [*slot.deposits, *seat.inputs(slot.stimulus)]
        lines.append(f"ticks({ROUNDS * ticks + ticks - 1});")
        for seat in active:
            shown = ", ".join(seat.shown(name) for name in seat.watched())
            lines.append(f'$display("{seat.part.number} %b", {{{shown}}});')
        lines.append("ticks(1);")
    return "\n".join([*lines, "end", "endmodule", ""])


@pytest.fixture(scope="module")
def printed(
    table: Table, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, list[dict[str, str]]]:
    """What Icarus shows: for each chip and slot what is watched, as H, L, Z or x."""
    folder = tmp_path_factory.mktemp("icarus")
    (folder / "board.v").write_text(verilog(table.netlist), encoding="utf-8")
    (folder / "t.v").write_text(bench(table), encoding="utf-8")
    files = [folder / "board.v", folder / "t.v"]
    subprocess.run(["iverilog", "-g2005", "-s", "t", "-o", folder / "t", *files], check=True)
    ran = subprocess.run(["vvp", "-n", folder / "t"], check=True, capture_output=True, text=True)
    watched = {seat.part.number: seat.watched() for seat in table.seats}
    found: dict[str, list[dict[str, str]]] = {number: [] for number in watched}
    words = {"11": "H", "10": "L", "00": "Z", "01": "Z"}
    for line in ran.stdout.splitlines():
        number, bits = line.split()
        pairs = [bits[at : at + 2] for at in range(0, len(bits), 2)]
        levels = [words.get(pair, "x") for pair in pairs]
        found[number].append(dict(zip(watched[number], levels, strict=True)))
    return found


@pytest.mark.needs("iverilog")
@pytest.mark.parametrize("number", NUMBERS)
def test_data_sheet_rows(
    table: Table, printed: dict[str, list[dict[str, str]]], number: str
) -> None:
    seat = next(seat for seat in table.seats if seat.part.number == number)
    assert len(printed[number]) == len(seat.slots)
    opposite = {"L": "H", "H": "L"}
    before: dict[str, str] = {}
    checked = 0
    for slot, seen in zip(seat.slots, printed[number], strict=True):
        if slot.starts_run:
            before = {}
        for name, cell in slot.stimulus.expect:
            level = seen[name]
            expected = {
                "=": before.get(name), "!": opposite.get(before.get(name, ""))
            }.get(cell, cell)  # fmt: skip
            assert level == expected, f"{name} is {level}: {slot.stimulus.span.where()}, {cell}"
            checked += 1
        if slot.ends_row:
            before = seen
    assert checked >= 8
