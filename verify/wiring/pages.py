"""A rule's page, with a board that fires it and one that does not."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """``text`` is Markdown; ``fires`` and ``quiet`` are board files as text."""

    code: str
    text: str
    fires: str
    quiet: str


def load_page(code: str) -> Page:
    """The page of a rule that is in the registry.

    Raises:
        FileNotFoundError: there is no such page; every rule has one.
    """
    folder = files("breadproof.verify") / "rules"
    text, fires, quiet = (
        (folder / f"{code}{ending}").read_text("utf-8")
        for ending in (".md", ".fires.yaml", ".quiet.yaml")
    )
    return Page(code=code, text=text, fires=fires, quiet=quiet)
