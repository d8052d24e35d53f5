"""Pages from templates: escaped throughout, with the style sheets and scripts inside."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from breadproof.verify.pictures import waves
from breadproof.verify.pictures.boardpicture import board_script, board_sheet
from breadproof.verify.pictures.colours import styled
from breadproof.verify.pictures.svg import clean


@dataclass(frozen=True, slots=True)
class Section:
    """An entry of a page's contents; ``told`` is what there is in it, in few words."""

    id: str
    title: str
    told: str = ""


@dataclass(slots=True)
class Names:
    """What things are called in the address of a page, different for each."""

    known: dict[str, str] = field(default_factory=dict)

    def of(self, name: str) -> str:
        """The name in the page of something that is called so (``glitch:U9.21``)."""
        if name not in self.known:
            plain = re.sub(r"[^\w.-]", "-", name)
            taken = set(self.known.values())
            free = (one for k in range(len(taken) + 1) if (one := f"{plain}{'-' * k}"))
            self.known[name] = next(one for one in free if one not in taken)
        return self.known[name]


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("breadproof.verify.pages", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_printable,
    )


def _printable(value: object) -> object:
    """Text without what HTML cannot hold; drawings are made of clean text already."""
    return clean(value) if isinstance(value, str) and not isinstance(value, Markup) else value


def page(template: str, values: Mapping[str, object]) -> str:
    """A template filled in, with what all pages have."""
    sheets = (_shipped("page.css"), waves.SHEET, board_sheet())
    style = Markup("\n".join(styled(sheet) for sheet in sheets))
    script = Markup("\n".join((_shipped("page.js"), board_script())))
    text = _environment().get_template(template).render(**values, style=style, script=script)
    return re.sub(r"\n\s*\n+", "\n", text).strip() + "\n"


def _shipped(name: str) -> str:
    return files("breadproof.verify.pages").joinpath(name).read_text("utf-8")
