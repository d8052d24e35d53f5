"""Everything that can be asked about has a page, and each page says all of it.

What is to be said is taken from where it is decided: the parsers' own help, the schemas, the
readers' keys, the grammar. A command, option, rule, key or operator that comes without a page fails
here.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any, get_args

import pytest
from click.testing import CliRunner

from breadproof import cli
from breadproof.specs.edif import mapping
from breadproof.specs.load import load_machine
from breadproof.specs.machine.boardscope import FUNCTIONS
from breadproof.specs.netlist.devices import OPTIONS
from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.portmap import read_portmap
from breadproof.specs.reading.script import read_script
from breadproof.specs.reading.wirefile import COLUMNS, read_wire_file
from breadproof.specs.reading.yamltree import Text
from breadproof.specs.schemas.files import SCHEMAS, shipped
from breadproof.specs.target.read import read_target
from breadproof.verify.manual import reading, shelf
from breadproof.verify.manual.page import Page
from breadproof.verify.prove.verdict import BoardVerdict, Verdict
from breadproof.verify.verify_board import verify_board
from breadproof.verify.wiring.registry import RULES
from tests.manual.made import pages, text_of
from tests.support.guide import GUIDE

GRAMMAR = (files("breadproof.specs.formula") / "grammar.lark").read_text("utf-8")


# -------------------------------------------------------------------------- commands


@pytest.mark.parametrize("name", cli.COMMANDS)
def test_a_command_s_page_has_all_that_its_help_has(name: str) -> None:
    """The help is laid out by click; every word of it is on the page, in whatever lines."""
    told = CliRunner().invoke(cli.group, [name, "--help"], terminal_width=100).output
    page = text_of(name)
    options = re.findall(r"^  (-.*?)(?:  |$)", told, re.MULTILINE)
    assert len(options) >= 1
    assert [one for one in options if f"`{one.strip()}`" not in page] == []
    # Choices that are long are broken in two by the help's layout, and so is nothing else.
    words = Counter(re.findall(r"[\w.:/@&'*+-]+", told.replace("Usage:", "")))
    there = Counter(re.findall(r"[\w.:/@&'*+-]+", page))
    headings = {"Options:", "Example:", "Examples:", "Exit", "status:"}
    lacking = {word for word in words if word not in there and word not in headings}
    assert {word for word in lacking if word.strip(":") not in page} == set()


@pytest.mark.parametrize("name", cli.COMMANDS)
def test_a_command_s_page_ends_with_its_statuses_and_shows_how_it_is_used(name: str) -> None:
    text = text_of(name)
    assert re.search(r"\n## Exit status\n\n\d", text)
    synopsis, *shown = re.findall(r"^```text\n(.*?)^```$", text, re.DOTALL | re.MULTILINE)
    assert synopsis.startswith(f"breadproof {name}")
    assert any(f"breadproof {name} " in block or f"breadproof {name}\n" in block for block in shown)


def test_the_page_of_the_program_has_all_commands_and_all_statuses() -> None:
    text = text_of("breadproof")
    for name, entry in cli.COMMANDS.items():
        assert f"| [{name}]({name}.md) | {entry.help} |" in text
    statuses = set(map(int, re.findall(r"^\| (\d+) \|", text, re.MULTILINE)))
    # 141 is what a shell reports where the reader went away: no command answers so.
    assert statuses == {*cli.Status} - {cli.Status.READER_GONE}
    for variable in re.findall(r'environ(?:\.get)?[\[(]"([A-Z_]+)"', _source_of_front()):
        if not variable.startswith(("_", "COMP_")):
            assert f"`{variable}`" in text, variable


def _source_of_front() -> str:
    front = Path(cli.__file__).parent
    return "".join(file.read_text("utf-8") for file in front.glob("*.py"))


# ----------------------------------------------------------------------------- rules


def test_every_rule_has_its_page_and_both_its_boards() -> None:
    for rule in RULES:
        text = text_of(rule.code)
        assert text.startswith(f"# {rule.code}: {rule.title}\n")
        for board in ("fires", "quiet"):
            file = files("breadproof.verify.rules") / f"{rule.code}.{board}.yaml"
            assert file.read_text("utf-8").strip() in text


# ----------------------------------------------------------------------------- files


def _keys(schema: Any) -> Iterator[str]:
    """Every key that a schema allows, wherever."""
    if isinstance(schema, dict):
        yield from schema.get("properties", {})
        for value in schema.values():
            yield from _keys(value)
    elif isinstance(schema, list):
        for value in schema:
            yield from _keys(value)


@pytest.mark.parametrize("kind", SCHEMAS)
def test_every_key_of_a_file_is_on_its_page(kind: str) -> None:
    text = text_of(kind)
    keys = set(_keys(json.loads(shipped(kind))))
    assert {key for key in keys if f"`{key}`" not in text} == set()


def test_every_key_that_is_printed_is_on_the_page_about_json() -> None:
    text = text_of("json")
    schemas = list(Path(str(files("breadproof.verify"))).rglob("*.schema.json"))
    assert {"verify.schema.json", "compare.schema.json"} <= {file.name for file in schemas}
    for file in schemas:
        name = file.name.removesuffix(".schema.json")
        part = text.partition(f"\n## {name}\n")[2].partition("\n## ")[0]
        keys = set(_keys(json.loads(file.read_text("utf-8"))))
        assert {key for key in keys if f"`{key}`" not in part} == set(), name


def test_the_pages_without_a_schema_have_the_readers_keys() -> None:
    assert [k for k in (*mapping.KEYS, *mapping.OWN) if f"`{k}`" not in text_of("mapping")] == []
    assert [k for k in COLUMNS if k and f"| `{k}` |" not in text_of("wire-list")] == []
    for device in OPTIONS:
        assert re.search(rf"^\| [^|]*`{device}`", text_of("board"), re.MULTILINE), device


# -------------------------------------------------------------------------- meanings


def test_every_verdict_and_every_kind_of_check_is_told_of() -> None:
    text = text_of("verdicts")
    verdicts = {*get_args(Verdict), *get_args(BoardVerdict)}
    assert [one for one in verdicts if f"`{one}`" not in text] == []
    for check in ("quiet", "fights:", "floats:", "glitch:", "race:", "float:", "known:", "dead:"):
        assert f"`{check}" in text


def test_every_function_and_every_operator_over_time_is_told_of() -> None:
    text = text_of("formulas")
    assert [name for name in FUNCTIONS if f"`{name}(" not in text] == []
    words = set(re.findall(r'"([a-z]+)"', GRAMMAR)) | {"until!", "before!", "eventually!"}
    assert len(words) >= 8
    spans = " ".join(re.findall(r"`([^`]+)`", text))
    assert [word for word in words if not re.search(rf"(?<![\w!]){word}(?![\w!])", spans)] == []


# -------------------------------------------------------------------------- examples


def _examples(name: str) -> list[str]:
    return re.findall(r"^```yaml\n(.*?)^```$", text_of(name), re.DOTALL | re.MULTILINE)


@pytest.mark.parametrize("name", ["board", "formulas"])
def test_the_boards_that_pages_show_pass(name: str, tmp_path: Path) -> None:
    (board,) = _examples(name)
    (tmp_path / "board.yaml").write_text(board, "utf-8")
    report = verify_board(tmp_path / "board.yaml")
    assert report.verdict == "pass"
    assert [f.code for f in report.wiring if f.severity.value != "note"] == []


def test_the_other_files_that_pages_show_are_read_without_a_complaint(tmp_path: Path) -> None:
    problems = Problems()
    for name in ("target", "script", "mapping"):
        (tmp_path / f"{name}.yaml").write_text(_examples(name)[0], "utf-8")
    target = read_target(tmp_path / "target.yaml", problems)
    read_script(tmp_path / "script.yaml", problems)
    here = Span(file="board.yaml", line=1, column=1)
    (tmp_path / "ports.yaml").write_text(_examples("ports")[0], "utf-8")
    assert len(read_portmap(tmp_path / "ports.yaml").outputs) == 2
    mapping.read_mapping(tmp_path / "mapping.yaml", here, problems)
    assert target is not None
    controls = load_machine(GUIDE / "store-3.yaml").netlist.controls
    # What a bouncing contact does is the world's choice, and at no pin.
    own = [control.name for control in controls if "/" not in control.name]
    parts = {name.partition("[")[0] for name in own}
    assert {wiring.name.value for wiring in target.controls} == parts
    wires = re.findall(r"^```csv\n(.*?)^```$", text_of("wire-list"), re.DOTALL | re.MULTILINE)
    (tmp_path / "wires.csv").write_text(wires[0], "utf-8")
    assert len(read_wire_file(Text(value="wires.csv", span=here), tmp_path, problems)) == 3
    assert problems.found == []


# ----------------------------------------------------------------------------- links


@pytest.mark.parametrize("page", pages(), ids=lambda page: page.name)
def test_links_lead_to_pages_or_to_files_of_the_guide(page: Page) -> None:
    names = {f"{one.name}.md" for one in pages()}
    beside = {file.name for file in GUIDE.iterdir()}
    assert [one for one in reading.links(page.text) if one not in names | beside] == []
    assert page.text.startswith("# ")
    assert page.text.count("\n# ") == sum(
        line.startswith("# ") for line in _inside_fences(page.text)
    )


def test_no_option_and_no_key_is_broken_in_two() -> None:
    for page in pages():
        for token in reading.tokens(page.text):
            codes = [one.content for one in token.children or () if one.type == "code_inline"]
            assert [code for code in codes if re.search(r"\w- \w", code)] == [], page.name


def _inside_fences(text: str) -> Iterator[str]:
    fence = ""
    for line in text.splitlines():
        mark = line[:3] if line[:3] in ("```", "~~~") else ""
        if mark and fence in ("", mark):
            fence = "" if fence else mark
        elif fence:
            yield line


def test_names_are_unique_and_are_what_completion_offers() -> None:
    names = [page.name for page in pages()]
    assert len(set(names)) == len(names)
    assert sorted(shelf.all_names(cli.COMMANDS)) == sorted(names)
    with pytest.raises(ValueError, match="called verify"):
        shelf.all_pages([Page(name="verify", group="command", says="", text="")] * 2)
