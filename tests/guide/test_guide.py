"""The guide: every command in it is run, in its order, in a fresh folder, and prints what is shown.

What is expected is the guide itself, as a reader sees it; the files of each stage lie beside it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from breadproof.cli import COMMANDS
from tests.support import guide, shots
from tests.support.guide import GUIDE, Block, Wrong

BLOCKS = [block for chapter in guide.chapters() for block in guide.blocks(chapter)]


def _wrong(block: Block, folder: Path) -> Iterator[str]:
    where = f"{block.chapter}.md:{block.line + 1}"
    if block.kind not in ("console", "said"):
        try:
            guide.prepare(block, folder)
        except (Wrong, OSError) as error:
            yield f"{where}: {error}"
        return
    for command, shown in guide.commands(block):
        status, printed = guide.run(command)
        if status != guide.status_of(block):
            yield f"{where}: {command}: exit status {status}\n{printed}"
        if not guide.shows(shown, printed):
            yield f"{where}: {command} prints\n{printed}"


@pytest.mark.needs("chromium")
def test_whoever_follows_the_guide_sees_what_it_shows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "boards"
    folder.mkdir()
    monkeypatch.chdir(folder)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.delenv("COLUMNS", raising=False)
    wrong: list[str] = []
    for block in BLOCKS:
        wrong += _wrong(block, folder)
        if block.kind == "picture" and block.argument in shots.SHOTS:
            wrong += _stale(block.argument, folder)
    assert "\n\n".join(wrong) == "", "python -m tests.support.guide mends what can be mended"


def _stale(name: str, folder: Path) -> Iterator[str]:
    with shots.chromium() as page:
        if shots.words_on(GUIDE / name) != shots.words_of(page, shots.SHOTS[name], folder):
            yield f"{name} shows a page of other words"
        shots.shoot_with(page, shots.SHOTS[name], folder, folder / name)
    width, height = shots.size_of(folder / name)
    drawn, high = shots.size_of(GUIDE / name)
    if width != drawn or abs(height - high) > 0.2 * height:
        yield f"{name} has {drawn} x {high} dots, not {width} x {height}"


def test_the_guide_goes_all_the_way() -> None:
    """The stations that it was asked for, each with the command that gets there."""
    run = [line for block in BLOCKS if block.kind == "console" for line, _ in guide.commands(block)]
    stations = [
        "start lamps --chip",
        "check lamps",
        "verify lamps",
        "picture lamps",
        "wires lamps",
        "verify store",
        "simulate store",
        "compare store",
        "export store.yaml --to verilog",
        "export store.yaml --to bitstream",
    ]
    found = [next(n for n, line in enumerate(run) if word in line) for word in stations]
    assert found == sorted(found)


def test_each_chapter_leads_to_the_next_and_all_links_lead_somewhere() -> None:
    names = [path.name for path in guide.chapters()]
    assert [int(name.partition("-")[0]) for name in names] == list(range(1, len(names) + 1))
    texts = {path.name: path.read_text("utf-8") for path in GUIDE.glob("*.md")}
    for name, text in texts.items():
        for target in re.findall(r"\]\(([^)]+)\)", text):
            assert (GUIDE / target).is_file(), f"{name}: {target}"
    for name, after in zip(names, [*names[1:], None], strict=True):
        last = texts[name].strip().splitlines()[-1]
        assert "[Contents](README.md)" in last
        assert after is None or f"]({after})" in last
    assert re.findall(r"\]\((\d[^)]+)\)", texts["README.md"]) == names


def test_no_file_beside_the_guide_is_left_over() -> None:
    used = {block.argument for block in BLOCKS if block.kind in ("link", "picture")}
    there = {path.name for path in GUIDE.iterdir() if path.suffix not in (".md", ".py")}
    assert there - {"__pycache__"} == used


def test_commands_in_running_text_are_commands() -> None:
    for path in GUIDE.glob("*.md"):
        for word in re.findall(r"`breadproof ([a-z]+)", path.read_text("utf-8")):
            assert word in COMMANDS, f"{path.name}: breadproof {word}"


# ------------------------------------------------------------ the player's own rules


@pytest.mark.parametrize(
    ("shown", "printed", "fits"),
    [
        ("a\nb", "a\nb", True),
        ("a\nb", "a\nc", False),
        ("a", "a\nb", False),
        ("a\n...", "a\nb\nc", True),
        ("a\n...\nc", "a\nc", True),
        ("a\n...\nc", "b\nc", False),
        ("proved; 0.02 s", "proved; 1.31 s", True),
        ("proved; 0.02 s", "proved; 1.31 ms", False),
        ("3 s", "3 steps", False),
        ("a.c", "abc", False),
    ],
)
def test_only_gaps_and_durations_are_let_pass(shown: str, printed: str, fits: bool) -> None:
    assert guide.shows(shown, printed) is fits


def test_a_change_must_find_its_place_once() -> None:
    assert guide.edited("a\nb\nc\n", " a\n-b\n+d\n") == "a\nd\nc\n"
    assert guide.edited("a\nb\n", "-a\n+x\n...\n b\n+c\n") == "x\nb\nc\n"
    for old, diff in [("a\na\n", "-a\n+b\n"), ("b\n", "-a\n+b\n"), ("a\n", "a\n+b\n")]:
        with pytest.raises(Wrong):
            guide.edited(old, diff)


def test_a_file_that_is_not_what_the_guide_says_is_told(tmp_path: Path) -> None:
    (tmp_path / "lamps.yaml").write_text("board: lamps\n", "utf-8")
    link = Block(chapter="1", line=0, kind="link", argument="lamps-1.yaml", text="lamps.yaml")
    with pytest.raises(Wrong, match=r"lamps\.yaml is not lamps-1\.yaml"):
        guide.prepare(link, tmp_path)
