"""The guide, played: its files written, its edits made, its commands run, one after another.

What the fences of `specs/guide/*.md` mean (CommonMark 0.31, 4.5: the info string is free):

- ``yaml NAME``: the reader saves this as NAME.
- ``diff NAME``: the reader changes NAME: lines with ``-`` go, lines with ``+`` come; what stands
  there is found by its text, which must be there once; a line ``...`` parts two changes.
- ``console`` or ``console exit=1``: each line that begins with ``$`` is run, and must end with that
  status (0 if none is given); what follows it is what the reader sees. There a line ``...`` stands
  for any number of lines, and durations for any duration.
- ``text NAME``: lines of the file NAME, which a command has written; ``...`` as above.
- a command in running text, such as `breadproof parts quad nand`: it is run, and must pass; FOLDER
  stands for a folder. A command without anything behind its name is only spoken of.
- a link such as ``[lamps.yaml](lamps-2.yaml)``: lamps.yaml is now, byte for byte, that file.
- a picture such as ``![...](lamps.svg)``: a command has written a drawing of that name, with the
  same words in it. A picture ``.png`` is a screenshot (`tests/support/shots.py`).

``python -m tests.support.guide`` plays it, writes what the commands print into the blocks that
leave nothing out, and makes the pictures; it tells which other blocks are out of date.
"""

from __future__ import annotations

import io
import itertools
import os
import re
import shlex
import sys
import tempfile
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

from markdown_it import MarkdownIt

from breadproof.cli import main
from tests.support.shots import shoot

GUIDE = Path(__file__).parents[2] / "specs" / "guide"
GAP = "..."
_DURATION = re.compile(r"\b\d+(\.\d+)? s\b")


class Wrong(AssertionError):
    """What the guide shows is not what is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A fence or a link; ``line`` counts from 0, and is that of the fence's first line."""

    chapter: str
    line: int
    kind: str
    """``yaml``, ``diff``, ``console``, ``text``, ``link``, ``picture`` or ``said``."""
    argument: str
    text: str


def chapters() -> list[Path]:
    """The chapters in the order of reading: their names begin with a number."""
    found = [path for path in GUIDE.glob("*.md") if path.stem[0].isdecimal()]
    return sorted(found, key=lambda path: int(path.stem.partition("-")[0]))


def blocks(chapter: Path) -> Iterator[Block]:
    """What is to be played of a chapter."""
    for token in MarkdownIt("commonmark").parse(chapter.read_text("utf-8")):
        line = token.map[0] if token.map else 0
        if token.type == "fence":
            kind, _, argument = token.info.partition(" ")
            yield Block(
                chapter=chapter.stem, line=line, kind=kind, argument=argument, text=token.content
            )
        children = token.children or []
        for child, after in itertools.zip_longest(children, children[1:]):
            if child.type == "link_open" and str(child.attrGet("href")).endswith(".yaml"):
                kind, argument, text = "link", str(child.attrGet("href")), after.content
            elif child.type == "image":
                kind, argument, text = "picture", str(child.attrGet("src")), child.content
            elif child.type == "code_inline" and child.content.count(" ") > 1:
                kind, _, argument = child.content.partition(" ")
                kind, text = "said" if kind == "breadproof" else "", ""
            else:
                continue
            yield Block(chapter=chapter.stem, line=line, kind=kind, argument=argument, text=text)


def commands(block: Block) -> list[tuple[str, str]]:
    """The commands of a block, each with what is shown after it."""
    if block.kind == "said":
        words = block.argument.replace("FOLDER", "folder")
        # What waits for a file to be saved is played elsewhere (`tests/commands/test_watch`).
        return [] if words.startswith("watch ") else [(f"breadproof {words}", GAP)]
    found: list[tuple[str, list[str]]] = []
    for line in block.text.splitlines():
        if line.startswith("$ "):
            found.append((line[2:], []))
        elif found:
            found[-1][1].append(line)
        else:
            raise Wrong(f"{block.chapter}:{block.line + 1}: a console block begins with '$ '")
    return [(command, "\n".join(shown).strip("\n")) for command, shown in found]


def run(command: str) -> tuple[int, str]:
    """A command's exit status, and what it prints, both streams in one as on a terminal."""
    words = shlex.split(command)
    if words[0] == "cp":
        _, old, new = words
        Path(new).write_bytes(Path(old).read_bytes())
        return 0, ""
    if words[0] != "breadproof":
        raise Wrong(f"the guide runs breadproof and cp alone, not '{command}'")
    screen = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True)
    with redirect_stdout(screen), redirect_stderr(screen):
        status = main(words[1:])
        screen.flush()
    screen.seek(0)
    return status, screen.read().strip("\n")


def shows(shown: str, printed: str) -> bool:
    """Whether ``shown`` is ``printed``, but for gaps and durations."""
    pattern = "".join(
        r"(?:.*\n)*?" if line.strip() == GAP else re.escape(line) + r"\n"
        for line in _steady(shown).splitlines()
    )
    lines = "".join(f"{line}\n" for line in _steady(printed).splitlines())
    return re.fullmatch(pattern, lines) is not None


def _steady(text: str) -> str:
    lines = (_DURATION.sub("# s", line).rstrip() for line in text.strip("\n").splitlines())
    return "\n".join(lines)


def edited(old: str, diff: str) -> str:
    """A text after the changes of a ``diff`` block."""
    for change in re.split(rf"^{re.escape(GAP)}\n", diff, flags=re.MULTILINE):
        lines = change.splitlines(keepends=True)
        if odd := [line for line in lines if line[0] not in " -+\n"]:
            raise Wrong(f"a line of a change begins with a blank, - or +: {odd[0]!r}")
        before = "".join(line[1:] or "\n" for line in lines if line[0] != "+")
        after = "".join(line[1:] or "\n" for line in lines if line[0] != "-")
        if old.count(before) != 1:
            raise Wrong(f"this stands {old.count(before)} times in the file:\n{before}")
        old = old.replace(before, after)
    return old


def prepare(block: Block, folder: Path) -> None:
    """Do what a block that is no command asks for, or look whether it is right.

    Raises:
        Wrong: it is not.
    """
    name = folder / block.argument
    match block.kind:
        case "yaml" if block.argument:
            name.write_text(block.text, "utf-8")
        case "diff":
            name.write_text(edited(name.read_text("utf-8"), block.text), "utf-8")
        case "text" if block.argument:
            if not shows(f"{GAP}\n{block.text}\n{GAP}", name.read_text("utf-8")):
                raise Wrong(f"{block.argument} does not have these lines:\n{block.text}")
        case "link":
            _same(folder / block.text, GUIDE / block.argument)
        case "picture" if name.suffix == ".svg":
            # How a board is drawn may become better; the one in the guide stays true.
            if _words_in(name) != _words_in(GUIDE / block.argument):
                raise Wrong(f"{block.argument} has other words in it than in the guide")
        case _:
            pass


def _same(theirs: Path, ours: Path) -> None:
    if theirs.read_bytes() != ours.read_bytes():
        raise Wrong(f"{theirs.name} is not {ours.name}")


def _words_in(drawing: Path) -> list[str]:
    return sorted(" ".join(ElementTree.parse(drawing).getroot().itertext()).split())


def status_of(block: Block) -> int:
    """The exit status that a console block announces."""
    return int(block.argument.partition("exit=")[2] or 0)


def _refresh(place: Path) -> Iterator[str]:
    """Play it all in a folder, and mend the chapters and pictures; what is to be mended by hand."""
    for chapter in chapters():
        text = chapter.read_text("utf-8")
        for block in blocks(chapter):
            if block.kind == "picture" and (place / block.argument).exists():
                (GUIDE / block.argument).write_bytes((place / block.argument).read_bytes())
            elif block.kind == "picture":
                shoot(block.argument, place, GUIDE)
            if block.kind != "console":
                for command, _ in commands(block) if block.kind == "said" else ():
                    if run(command)[0] != 0:
                        yield f"{chapter.name}: {command} does not pass"
                prepare(block, place)
                continue
            fresh: list[str] = []
            for command, shown in commands(block):
                status, printed = run(command)
                if status != status_of(block):
                    raise Wrong(f"{chapter.name}: {command}: exit status {status}\n{printed}")
                fits, elided = shows(shown, printed), GAP in shown.splitlines()
                if elided and not fits:
                    yield f"{chapter.name}: {command} prints\n{printed}"
                now = shown if fits or elided else _steady(printed).replace("# s", "0.02 s")
                fresh += [f"$ {command}", *([now] if now else [])]
            text = text.replace(f"{block.text}```", "\n".join(fresh) + "\n```", 1)
        chapter.write_text(text, "utf-8")


def _main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        os.environ["XDG_CACHE_HOME"] = f"{folder}/.cache"
        stale = list(_refresh(Path(folder)))
    sys.stdout.write("".join(f"== {one}\n" for one in stale))
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(_main())
