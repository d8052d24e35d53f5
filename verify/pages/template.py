"""Pages from templates: escaped throughout, with the style sheet and the script inside."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from breadproof.verify.pictures.colours import styled
from breadproof.verify.pictures.svg import clean


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


def page(
    template: str, values: Mapping[str, object], *sheets: str, scripts: tuple[str, ...] = ()
) -> str:
    """A template filled in; ``sheets`` are style sheets with ``$names`` of colours."""
    own = _shipped("page.css")
    style = Markup("\n".join(styled(sheet) for sheet in (own, *sheets)))
    script = Markup("\n".join((_shipped("page.js"), *scripts)))
    text = _environment().get_template(template).render(**values, style=style, script=script)
    return re.sub(r"\n\s*\n+", "\n", text).strip() + "\n"


def _shipped(name: str) -> str:
    return files("breadproof.verify.pages").joinpath(name).read_text("utf-8")
