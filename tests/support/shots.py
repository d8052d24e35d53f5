"""Screenshots for the guide and the manual, made in Chromium, and the words that are on them.

A picture of text differs from machine to machine by its fonts, so two of them are not compared dot
by dot. Each carries the words that the page had in the place of which it was made (a text chunk of
PNG: W3C, Portable Network Graphics, third edition, 11.3.3), and those are compared with the page of
today.
"""

from __future__ import annotations

import json
import shutil
import struct
import tempfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.support.browser import Browser, browser

KEYWORD = b"Description"
_SIGNATURE = b"\x89PNG\r\n\x1a\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """From the top of the page ``page`` to the end of the first element that is ``until``."""

    page: str
    until: str
    words: str
    """The elements whose words the picture is said to show."""
    width: int = 920


SHOTS = {
    "report.png": Shot(page="lamps.html", until=".chain", words="h1, .verdict, .run h3, .chain"),
}


@contextmanager
def chromium() -> Iterator[Browser]:
    """A browser, with its files in a folder that goes with it."""
    program = shutil.which("chromium")
    if program is None:
        raise RuntimeError("chromium is not installed: apt-get install chromium")
    with (
        tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder,
        browser(program, Path(folder)) as one,
    ):
        yield one


def shoot(name: str, source: Path, target: Path) -> None:
    """Make the picture ``name`` in the folder ``target`` of a page in the folder ``source``."""
    with chromium() as page:
        shoot_with(page, SHOTS[name], source, target / name)


def shoot_with(page: Browser, shot: Shot, source: Path, target: Path) -> None:
    """The same in a browser that is there."""
    words = words_of(page, shot, source)
    script = f"document.querySelector({json.dumps(shot.until)}).getBoundingClientRect().bottom"
    height = round(page.run(script)) + 24
    page.picture(target, (0, 0, shot.width, height))
    target.write_bytes(_with_words(target.read_bytes(), words))


def words_of(page: Browser, shot: Shot, source: Path) -> str:
    """What the page says today in the places that the picture shows."""
    page.window(shot.width, 1200)
    page.open(source / shot.page)
    found = f"[...document.querySelectorAll({json.dumps(shot.words)})]"
    said = page.run(f"{found}.map(one => one.textContent).join(' ')")
    return " ".join(str(said).split())


def words_on(picture: Path) -> str:
    """The words that a picture carries; "" if it carries none."""
    for kind, data in _chunks(picture.read_bytes()):
        if kind == b"iTXt" and data.startswith(KEYWORD + b"\0"):
            return data.split(b"\0", 5)[-1].decode("utf-8")
    return ""


def size_of(picture: Path) -> tuple[int, int]:
    """Its width and height, in dots."""
    width, height = struct.unpack(">II", next(_chunks(picture.read_bytes()))[1][:8])
    return width, height


def _with_words(png: bytes, words: str) -> bytes:
    # Keyword, no compression, no language, no translated keyword, text.
    data = KEYWORD + b"\0\0\0\0\0" + words.encode()
    chunk = struct.pack(">I", len(data)) + b"iTXt" + data
    chunk += struct.pack(">I", zlib.crc32(b"iTXt" + data))
    after = len(_SIGNATURE) + 25  # the header chunk: 13 bytes and 12 around them
    return png[:after] + chunk + png[after:]


def _chunks(png: bytes) -> Iterator[tuple[bytes, bytes]]:
    """The chunks of a PNG file: kind and data (the same standard, 5.3)."""
    if not png.startswith(_SIGNATURE):
        raise ValueError("this is no PNG file")
    at = len(_SIGNATURE)
    while at < len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        yield png[at + 4 : at + 8], png[at + 8 : at + 8 + length]
        at += length + 12
