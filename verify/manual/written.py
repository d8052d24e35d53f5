"""Pages written by hand: `specs/manual/`, and the chapters of the guide, `specs/guide/`."""

from __future__ import annotations

import re
from importlib.resources import files
from importlib.resources.abc import Traversable

from breadproof.specs.schemas.files import SCHEMAS
from breadproof.verify.manual.formats import PLACE, keys_of, printed
from breadproof.verify.manual.page import Group, Page

FORMATS = ("board", "part", "target", "script", "mapping", "wire-list", "ports", "json")
MEANINGS = ("verdicts", "formulas")
CONTENTS = "guide"
"""What the contents of the guide are called."""


def format_pages() -> list[Page]:
    """A page for each kind of file that is read, and one for what is printed with ``--json``.

    A kind that has a schema, and no text by hand, has a page of its keys.
    """
    others = [kind for kind in SCHEMAS if kind not in FORMATS]
    texts = {name: _format(name) for name in FORMATS}
    texts |= {kind: f"# The {kind} file\n\n{PLACE}\n" for kind in others}
    return [_with_keys(_made(name, "format", text)) for name, text in texts.items()]


def meaning_pages() -> list[Page]:
    """What verdicts claim, and what formulas say."""
    return [_page(name, "meaning") for name in MEANINGS]


def guide_pages() -> list[Page]:
    """The contents, and the chapters in their order."""
    texts = {
        file.name.removesuffix(".md"): file.read_text("utf-8")
        for file in _folder("guide").iterdir()
        if file.name.endswith(".md")
    }
    contents = texts.pop("README")
    order = sorted(texts, key=lambda name: int(name.partition("-")[0]))
    pages = [_made(CONTENTS, "guide", contents), *(_made(n, "guide", texts[n]) for n in order)]
    return [_renamed(page) for page in pages]


def guide_files() -> dict[str, bytes]:
    """The board files and pictures that lie beside the chapters."""
    return {
        file.name: file.read_bytes()
        for file in sorted(_folder("guide").iterdir(), key=lambda file: file.name)
        if file.is_file() and not file.name.endswith((".md", ".py", ".pyc"))
    }


def introduction() -> str:
    """The text of the page about the program as a whole."""
    return (_folder("manual") / "breadproof.md").read_text("utf-8")


def _format(name: str) -> str:
    if name != "part":
        return (_folder("manual") / f"{name}.md").read_text("utf-8")
    # What is said of part files lies beside them.
    return f"{(_folder('parts') / 'README.md').read_text('utf-8')}\n## Keys\n\n{PLACE}\n"


def _folder(name: str) -> Traversable:
    return files("breadproof.specs") / name


def _page(name: str, group: Group) -> Page:
    return _made(name, group, (_folder("manual") / f"{name}.md").read_text("utf-8"))


def _made(name: str, group: Group, text: str) -> Page:
    says = text.partition("\n")[0].removeprefix("# ")
    return Page(name=name, group=group, says=says, text=text)


def _renamed(page: Page) -> Page:
    """Links to the contents by the name that they have here."""
    text = page.text.replace("](README.md)", f"]({CONTENTS}.md)")
    return Page(name=page.name, group=page.group, says=page.says, text=text)


def _with_keys(page: Page) -> Page:
    if PLACE not in page.text:
        return page
    if page.name in SCHEMAS:
        made = keys_of(page.name)
    else:
        made = "\n".join(f"## {name}\n\n{text}" for name, text in printed())
        # Their definitions are one level below.
        made = re.sub(r"^### ", "#### ", made, flags=re.MULTILINE)
    return Page(
        name=page.name,
        group=page.group,
        says=page.says,
        text=page.text.replace(PLACE, made.rstrip()),
    )
