"""Man pages, as mandoc reads them: a reader of roff that is not ours, and finds fault easily."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner

from breadproof import cli
from breadproof.verify.manual.man import man_files, man_page
from breadproof.verify.manual.page import Page
from tests.manual.made import pages

pytestmark = pytest.mark.needs("mandoc")

# A page has no date of its own: it is made when somebody asks for it, and the same again later.
LET_PASS = 'missing date, using ""'


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("man")
    for name, text in man_files(list(pages())).items():
        (folder / name).write_text(text, "ascii")
    return folder


def _complaints(files: list[Path]) -> list[str]:
    run = subprocess.run(
        ["mandoc", "-Tlint", "-Wwarning", *map(str, files)],
        capture_output=True,
        text=True,
        check=False,
    )
    return [line for line in (run.stdout + run.stderr).splitlines() if LET_PASS not in line]


def _read(file: Path) -> str:
    """A page as it is read, without overstrikes."""
    run = ["mandoc", "-Tascii", "-Owidth=120", str(file)]
    shown = subprocess.run(run, capture_output=True, text=True, check=True).stdout
    return re.sub(".\b", "", shown)


def test_mandoc_finds_nothing_to_complain_of(folder: Path) -> None:
    files = sorted(folder.iterdir())
    assert len(files) == len(pages())
    assert _complaints(files) == []


def test_mandoc_would_complain(tmp_path: Path) -> None:
    (tmp_path / "x.1").write_text('.TH X 1 "" "" ""\n.SH NAME\nx \\- y\n.PP\n.PP\n.XX\n', "ascii")
    assert len(_complaints([tmp_path / "x.1"])) >= 2


@pytest.mark.parametrize("name", cli.COMMANDS)
def test_a_page_can_be_read_and_has_its_options(name: str, folder: Path) -> None:
    text = _read(folder / f"breadproof-{name}.1")
    heads = re.findall(r"^[A-Z][A-Z ]+$", text, re.MULTILINE)
    assert heads[:4] == ["NAME", "SYNOPSIS", "DESCRIPTION", "OPTIONS"]
    assert heads[-1] == "SEE ALSO"
    assert f"breadproof-{name} - {cli.COMMANDS[name].help.rstrip('.')}" in " ".join(text.split())
    told = CliRunner().invoke(cli.group, [name, "--help"], terminal_width=100).output
    for option in re.findall(r"--[a-z-]+", told.partition("Options:")[2].partition("\n\n")[0]):
        assert option in text


def test_every_page_that_is_named_is_there(folder: Path) -> None:
    there = {file.name for file in folder.iterdir()}
    named = set()
    for file in folder.iterdir():
        found = re.findall(r"(breadproof[\w-]*)\\fR\((\d)\)", file.read_text("ascii"))
        named |= {f"{name}.{section}" for name, section in found}
    assert len(named) > len(cli.COMMANDS)
    assert named <= there


def test_the_name_line_is_what_whatis_reads(folder: Path) -> None:
    """man(7): the section NAME has the name, a dash and one line; apropos and whatis index it."""
    for file in folder.iterdir():
        lines = file.read_text("ascii").splitlines()
        place = lines.index(".SH NAME")
        assert re.fullmatch(rf"{re.escape(file.stem)} \\- \S.*", lines[place + 1])
        assert lines[place + 2].startswith(".SH")


def test_nothing_of_a_text_is_taken_for_a_request(tmp_path: Path) -> None:
    text = (
        "# x\n\n.so /etc/passwd\n'quoted\n\n```text\n.TH evil\n\\fB \\*(xx 'a' `b` ~ ^\n```\n\n"
        "- .one\n  1. 'two\n\n| a | b |\n| --- | --- |\n| .c | \N{DEGREE SIGN}\\| |\n"
    )
    page = Page(name="x", group="meaning", says='says "this" \\ that', text=text)
    (tmp_path / "x.7").write_text(man_page(page), "ascii")
    assert _complaints([tmp_path / "x.7"]) == []
    shown = _read(tmp_path / "x.7")
    for part in (".so /etc/passwd", "'quoted", ".TH evil", "\\fB \\*(xx 'a' `b` ~ ^", ".one"):
        assert part in shown
    assert 'says "this" \\ that' in shown
