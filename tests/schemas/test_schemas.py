"""The shipped schemas are those of the readers, and `jsonschema` (another program) agrees on files.

A schema must never refuse what its reader takes: an editor would call a good file wrong. It refuses
what structure alone tells to be wrong; the rest is the reader's.
"""

import json
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from breadproof import cli
from breadproof.specs.catalogue.partfile import parse_part
from breadproof.specs.load import load_netlist
from breadproof.specs.reading.diagnostics import BadInput, Problems
from breadproof.specs.reading.portmap import read_portmap
from breadproof.specs.reading.script import read_script
from breadproof.specs.reading.yamltree import parse_tree
from breadproof.specs.schemas.files import SCHEMAS, generated, shipped
from breadproof.specs.schemas.pieces import table, text
from breadproof.specs.target.read import read_target
from tests.catalogue.support import PART
from tests.commands.own import BOARD, BUFFER

ROOT = Path(__file__).resolve().parents[2]
PARTS = sorted((ROOT / "specs" / "parts").glob("*.yaml"))
TARGETS = sorted((ROOT / "specs" / "targets").glob("*.yaml"))
PORTS_FILES = sorted((ROOT / "specs" / "boards" / "verilog").glob("*.yaml"))
SCRIPTS = sorted((ROOT / "specs" / "boards" / "scripts").glob("*.yaml"))
BOARDS = [
    path
    for folder in (ROOT / "specs" / "boards", ROOT / "verify" / "rules")
    for path in sorted(folder.rglob("*.yaml"))
    if path.name not in ("corpus.yaml", "pairs.yaml")
    and path.parent.name not in ("scripts", "verilog")
]


@cache
def validator(kind: str) -> Any:
    schema = json.loads(shipped(kind))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def keyed(value: Any) -> Any:
    """JSON has only texts for keys, and what is left out is null."""
    if isinstance(value, dict):
        return {str(key): keyed(item) for key, item in value.items()}
    if isinstance(value, list):
        return [keyed(item) for item in value]
    return None if value == "" else value


def seen(text: str) -> Iterator[Any]:
    """A file as an editor may see it: every scalar a text, or numbers and booleans as such."""
    yield keyed(yaml.load(text, Loader=yaml.CBaseLoader))
    yield keyed(yaml.load(text, Loader=yaml.CSafeLoader))


def problems(kind: str, text: str) -> list[str]:
    return [
        f"{list(error.absolute_path)}: {error.message}"
        for tree in seen(text)
        for error in validator(kind).iter_errors(tree)
    ]


def part_is_read(text: str, folder: Path) -> bool:
    try:
        parse_part(parse_tree(text, "9.yaml"), folder / "9.yaml")
    except BadInput:
        return False
    return True


def board_is_read(text: str, folder: Path) -> bool:
    own = folder / "own"
    own.mkdir(exist_ok=True)
    (own / "BUF1.yaml").write_text(BUFFER, "utf-8")
    path = folder / "board.yaml"
    path.write_text(text, "utf-8")
    try:
        load_netlist(path, (own,))
    except BadInput:
        return False
    return True


def target_is_read(text: str, folder: Path) -> bool:
    path = folder / "target.yaml"
    path.write_text(text, "utf-8")
    problems = Problems()
    return read_target(path, problems) is not None and not problems.found


def script_is_read(text: str, folder: Path) -> bool:
    path = folder / "script.yaml"
    path.write_text(text, "utf-8")
    problems = Problems()
    try:
        read_script(path, problems)
    except BadInput:
        return False
    return not problems.found


def ports_are_read(text: str, folder: Path) -> bool:
    path = folder / "ports.yaml"
    path.write_text(text, "utf-8")
    try:
        read_portmap(path)
    except BadInput:
        return False
    return True


READ: dict[str, Callable[[str, Path], bool]] = {
    "part": part_is_read,
    "board": board_is_read,
    "target": target_is_read,
    "script": script_is_read,
    "ports": ports_are_read,
}


@pytest.mark.parametrize("kind", SCHEMAS)
def test_the_shipped_schema_is_up_to_date(kind: str) -> None:
    """If not: breadproof schema KIND --fresh > specs/schemas/KIND.schema.json"""
    assert shipped(kind) == generated(kind)


@pytest.mark.parametrize("kind", SCHEMAS)
def test_the_command_prints_it(kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["schema", kind]) == 0
    assert json.loads(capsys.readouterr().out)["$schema"].endswith("/draft/2020-12/schema")
    assert cli.main(["schema", kind, "--fresh"]) == 0
    assert capsys.readouterr().out == generated(kind)


def test_no_other_schema(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["schema", "chip"]) == 2
    assert "'chip' is not one of" in capsys.readouterr().err


@pytest.mark.parametrize("path", PARTS, ids=lambda path: path.stem)
def test_part_files_that_ship(path: Path) -> None:
    assert problems("part", path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", TARGETS, ids=lambda path: path.stem)
def test_target_files_that_ship(path: Path) -> None:
    assert problems("target", path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", BOARDS, ids=lambda path: path.stem)
def test_board_files_that_ship(path: Path) -> None:
    assert problems("board", path.read_text("utf-8")) == []


BROKEN = {
    "part": [
        ("part:", "prt:"),
        ("title: Gate and register\n", ""),
        ("title: Gate and register", "title:"),
        ("package: DIP-8", "package: eight"),
        ("families: [LS]", "families: [LX]"),
        ("families: [LS]", "families: LS"),
        ("source: made up for this test\n", ""),
        ("1: A1 in", "1: A1 inn"),
        ("1: A1 in", "1: A1"),
        ("3: G_n in enable", "3: G_n in enabling"),
        ("1: A1 in", "one: A1 in"),
        ("inner:\n  E:", "inner:\n  1E:"),
        ("level:", "lvl:"),
        (", when: E}", "}"),
        ("clock: rose(CLK)", "clock: CLK"),
        ("clock: rose(CLK), ", ""),
        ("R[1:0]:", "R[1:1]:"),
        ("next:", "then:"),
        ("words: 4", "words: four"),
        ("bits: 2, ", ""),
        ("columns: G_n A[1:0] CLK |", "columns: G_n A[1:0] CLK"),
        ("  - from: made up\n    columns", "  - columns"),
        ("- L h3 ^ | H H h3", "- L h3 ^ H H h3"),
        ("rows:", "row:"),
    ],
    "board": [
        ("board: own\n", ""),
        ("board: own", "board:"),
        ("parts:", "part:"),
        ("U1: BUF1", "U1: {prt: BUF1}"),
        ("U1: BUF1", "1U: BUF1"),
        ("U1: BUF1", "U1: [BUF1]"),
        ("U1: BUF1", "U1: {part: resistor, values: 10k}"),
        ("U1: BUF1", "U1: {part: BUF1, value: 10k}"),
        ("a: [U1.1]", "a: [U1]"),
        ("a: [U1.1]", "a: {U1: 1}"),
        ("a: [U1.1]", "a-b: [U1.1]"),
        ("a: in", "a: inn"),
        ("ports: {a: in, y: out}", "ports: [a, y]"),
        ("says:", "say:"),
        (", formula:", ", frmula:"),
        ("half:", "1half:"),
        ("assert:", "asert:"),
        ("board: own", "board: own\nbreadboards: {b1: {points: 830}}"),
        ("board: own", "board: own\nbreadboards: {b1: {tie-points: 830, rails: broken}}"),
        ("board: own", "board: own\nwires: [a12 j30]"),
        ("board: own", "board: own\nwires: [{from: a12}]"),
        ("board: own", "board: own\ntogether: some"),
        ("board: own", "board: own\naccept: [{code: edge-slow, pin: U1.1}]"),
        ("board: own", "board: own\naccept: [{code: edge-slow, pins: U1.1, because: known}]"),
        ("board: own", "board: own\nreset: yes"),
    ],
    "target": [
        ("target: own\n", ""),
        ("target: own", "target:"),
        ("device: hx1k", "devise: hx1k"),
        ("clock: {pin: 21", "clock: {pins: 21"),
        ("clock: {pin: 21, frequency: 12 MHz}", "clock: 21"),
        ("{load: 1, ", "{"),
        ("inputs: 8", "input: 8"),
        ("panel: {", "1panel: {"),
        ("active: high", "active: hi"),
        ("pull: none", "pull: weak"),
        ("pull: none", "pul: none"),
        ("L1: 3", "L1: {pin: 3, pull: up}"),
        ("L1: 3", "L 1: 3"),
        ("L1: 3", "L1: []"),
        ("clock: divider", "clock: divided"),
        ("outside: {pin: 9", "outside: {pen: 9"),
    ],
    "script": [
        ("stimulus:", "stimuli:"),
        ("drive: {MODE: SHOW, d: 8'hA5}", "drive: MODE"),
        ("drive:", "drives:"),
        ("[A, B]", "[A, {b: 1}]"),
        ("clk: 12", "clk: twelve"),
        ("until:", "till:"),
        ("most: 9}", "times: 9}"),
        ("name: clk, ", ""),
        ("says:", "say:"),
        (", formula: b", ""),
        ("times: 3, ", ""),
        ("stimulus: [{press: A}]", "stimulus: {press: A}"),
    ],
    "ports": [
        ("outputs:", "output:"),
        ("port: clk", "pin: clk"),
        (", net: beat", ""),
        ("{port: clk, net: beat}", "clk"),
        ("step: 'step[3:0]'", "step: []"),
        ("lamps: [L2, L1]", "lamps: {L2: L1}"),
        ("idle: '!run'", "idle: '?run'"),
        ("speed: fast", "2speed: fast"),
        ("{step: U1.R}", "[U1.R]"),
    ],
}
PORTS = """
module: chaser
clock: {port: clk, net: beat}
inputs: {rst_n: clear_n, speed: fast}
outputs: {step: 'step[3:0]', lamps: [L2, L1], idle: '!run'}
storage: {step: U1.R}
"""
SCRIPT = """
stimulus:
  - drive: {MODE: SHOW, d: 8'hA5}
  - press: STORE
  - press: [A, B]
  - clock: {clk: 12}
  - clock: {name: clk, times: 5}
  - clock: {until: "done", name: clk, most: 9}
  - check: "a && b"
  - check: {bus: 8'hA5, "U3.R[2:0]": 4}
  - check: {says: This, formula: b}
  - repeat: {times: 3, stimulus: [{press: A}]}
"""
TARGET = """
target: own
device: hx1k
package: tq144
clock: {pin: 21, frequency: 12 MHz}
chains:
  panel: {load: 1, clock: 2, data: 4, inputs: 8}
controls:
  A: {pin: 7, active: high, pull: none, debounce: 5 ms}
  SW: [panel.1, panel.2]
  B: {fixed: open}
lamps:
  L1: 3
ports:
  tempo: {clock: divider, frequency: 2 Hz}
  bus[1:0]: {pins: [10, 11], outside: {pin: 9, active: low}}
"""
WHOLE = {"part": PART, "board": BOARD, "target": TARGET, "script": SCRIPT, "ports": PORTS}


def test_a_part_that_stands_on_a_breadboard() -> None:
    placed = BOARD.replace("U1: BUF1", "U1: {part: BUF1, at: b1.e5, rotated: true}")
    placed = placed.replace("parts:", "breadboards: {b1: {tie-points: 830}}\nparts:")
    placed = placed.replace("nets:", "wires: [b1.a1 to b1.a2, {from: U1.1, to: GND}]\nnets:")
    assert problems("board", placed) == []


@pytest.mark.parametrize("kind", SCHEMAS)
def test_the_files_of_this_test_are_right(kind: str, tmp_path: Path) -> None:
    assert READ[kind](WHOLE[kind], tmp_path)
    assert problems(kind, WHOLE[kind]) == []


@pytest.mark.parametrize(
    ("kind", "old", "new"), [(kind, *pair) for kind, pairs in BROKEN.items() for pair in pairs]
)
def test_what_structure_tells_is_refused(kind: str, old: str, new: str, tmp_path: Path) -> None:
    """By the schema, however the scalars are seen, and, of course, by the reader."""
    assert old in WHOLE[kind]
    broken = WHOLE[kind].replace(old, new, 1)
    for tree in seen(broken):
        assert list(validator(kind).iter_errors(tree))
    assert not READ[kind](broken, tmp_path)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("kind", SCHEMAS)
def test_what_a_reader_takes_is_not_refused(kind: str, seed: int, tmp_path: Path) -> None:
    """Random changes, most of them mistakes; of the others the schema has nothing to say."""
    dice = Random(seed)
    files = {
        "part": PARTS,
        "board": BOARDS,
        "target": TARGETS,
        "script": SCRIPTS,
        "ports": PORTS_FILES,
    }[kind]
    texts = [WHOLE[kind], *(path.read_text("utf-8") for path in files)]
    texts = [text for text in texts if len(text) < 3000]
    taken = 0
    for _ in range(150):
        lines = dice.choice(texts).splitlines(keepends=True)
        for _ in range(dice.randint(1, 2)):
            at = dice.randrange(len(lines))
            match dice.randrange(4):
                case 0:
                    del lines[at]
                    lines = lines or ["\n"]
                case 1:
                    lines[at] = lines[at].replace(dice.choice("aeinU12"), dice.choice("x9_ "), 1)
                case 2:
                    lines.insert(at, dice.choice(lines))
                case _:
                    word, _, _ = lines[at].partition(":")
                    lines[at] = f"{word}: {dice.choice(('x', '12', 'true', '[a]', '{a: b}'))}\n"
        text = "".join(lines)
        if READ[kind](text, tmp_path):
            taken += 1
            assert problems(kind, text) == [], text
    assert taken > 5


def test_a_key_that_is_not_described_is_noticed() -> None:
    """So no reader's key can be forgotten here."""
    with pytest.raises(ValueError, match="differ in b"):
        table("A table:", ("a", "b"), {"a": text("x")})
    with pytest.raises(ValueError, match="differ in c"):
        table("A table:", ("a",), {"a": text("x"), "c": text("x")})
    with pytest.raises(ValueError, match="differ in z"):
        table("A table:", ("a",), {"a": text("x")}, ("z",))
