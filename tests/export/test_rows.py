"""Every chip's data-sheet rows, run through its Amaranth class in Amaranth's simulator.

The rows are those of the part files, written from the data books' tables. Each chip stands alone on
a board whose ports are its pins.
"""

import random
from pathlib import Path

import pytest

from breadproof.export.simulate import Bench
from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PartType, PinKind
from breadproof.specs.catalogue.rows import Run, contents, expand
from tests.export import boards

NUMBERS = sorted(
    path.stem for path in (Path(__file__).parents[2] / "specs" / "parts").glob("*.yaml")
)


def lone(folder: Path, part: PartType, number: str) -> Bench:
    """The chip with a port on every pin that is read or driven."""
    family = part.families[0].replace("TTL", "")
    printed = number if part.families == ("MOS",) else f"74{family}{number}"
    lines = ["board: lone", "parts:", f"  U1: {printed}", "nets:"]
    ports: list[str] = []
    for pin in part.pins:
        if pin.kind is PinKind.GROUND:
            lines.append(f"  GND: [U1.{pin.number}]")
        elif pin.kind is PinKind.SUPPLY:
            lines.append(f"  VCC: [U1.{pin.number}]")
        elif pin.kind.reads or pin.kind.drives:
            lines.append(f"  p{pin.number}: [U1.{pin.number}]")
            way = "both" if pin.kind is PinKind.BIDIRECTIONAL else "in" if pin.kind.reads else "out"
            ports.append(f"  p{pin.number}: {way}")
    return Bench(boards.netlist_of(folder, "\n".join([*lines, "ports:", *ports, ""])))


def set_pins(
    bench: Bench, part: PartType, inputs: tuple[tuple[str, int | None], ...]
) -> dict[str, tuple[int, ...]]:
    controls: dict[str, tuple[int, ...]] = {}
    for name, level in inputs:
        pin = part.pin(name)
        assert pin is not None
        both = pin.kind is PinKind.BIDIRECTIONAL
        driven = (0, 0) if level is None else (1, level)
        controls[f"p{pin.number}"] = driven if both else driven[1:]
    return controls


def observed(bench: Bench, part: PartType) -> dict[str, str]:
    """What can be expected: pins by name, storage bits; 'Z' where a pin drives nothing."""
    drives = bench.drives()
    found = {
        pin.name: "LH"[drives[f"U1.{pin.number}"].level]
        if drives[f"U1.{pin.number}"].drives
        else "Z"
        for pin in part.pins
        if pin.kind.drives
    }
    stored = bench.storage().items()
    return found | {label.partition(".")[2]: "LH"[level] for label, level in stored}


def level_of(bench: Bench, part: PartType, seen: dict[str, str], name: str) -> str:
    """A pin, storage bit, or bit of a memory word (``M[5][3]``)."""
    if name in seen:
        return seen[name]
    if f"{name}[0]" in seen:
        return seen[f"{name}[0]"]
    memory, address, bit = name.replace("]", "").split("[")
    return "LH"[bench.word(f"U1.{memory}", int(address)) >> int(bit) & 1]


def run_rows(bench: Bench, part: PartType, run: Run, before: dict[str, str]) -> int:
    checked = 0
    for stimulus, following in zip(run, (*run[1:], None), strict=True):
        bench.step(set_pins(bench, part, stimulus.inputs))
        seen = observed(bench, part)
        for name, cell in stimulus.expect:
            level = level_of(bench, part, seen, name)
            wanted = {"=": before.get(name), "!": {"L": "H", "H": "L"}.get(before.get(name, ""))}
            expected = wanted.get(cell, cell)
            assert level == expected, f"{name} is {level}: {stimulus.span.where()}, {cell}"
            checked += 1
        if following is None or following.span != stimulus.span:
            before = seen
    return checked


@pytest.mark.parametrize("number", NUMBERS)
def test_data_sheet_rows(tmp_path: Path, number: str) -> None:
    part = Catalogue(()).part(number)
    bench = lone(tmp_path, part, number)
    dice = random.Random(number)
    checked = 0
    for table in part.rows:
        for memory, address, word in contents(part, table):
            bench.set_words(f"U1.{memory}", {address: word})
        for run in expand(part, table):
            bench.set_storage({label: dice.getrandbits(1) for label in bench.stores})
            checked += run_rows(bench, part, run, observed(bench, part))
    assert checked >= 8
