"""Pages about files: what is written by hand, and the keys, from the schemas of the readers."""

from __future__ import annotations

import json
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

from breadproof.specs.schemas.files import shipped
from breadproof.verify.manual.page import item, paragraph

Schema = dict[str, Any]

PLACE = "<!-- keys -->"
"""Where the keys come in a page that is written by hand."""


def keys_of(kind: str) -> str:
    """The keys of a kind of file (``board``), as Markdown."""
    return keys(json.loads(shipped(kind)))


def keys(schema: Schema) -> str:
    """What a schema says of the keys, those of its definitions after it."""
    whole = "properties" in schema
    forms = [schema] if whole else schema.get("anyOf", [schema])
    text = "\nor\n\n".join("".join(f"{line}\n" for line in _inside(one, 0)) for one in forms)
    for name, body in schema.get("$defs", {}).items():
        text += f"\n### {name}\n\n{_defined(body).strip()}\n"
    return text


def printed() -> Iterator[tuple[str, str]]:
    """The name of each schema of something that is printed, and what its page says of it."""
    ending = ".schema.json"
    folders = (one for one in files("breadproof.verify").iterdir() if one.is_dir())
    found = {file.name: file for one in folders for file in one.iterdir()}
    for name in sorted(name for name in found if name.endswith(ending)):
        schema = json.loads(found[name].read_text("utf-8"))
        title = schema.get("title", "").rstrip(".")
        yield name.removesuffix(ending), f"{paragraph(f'{title}.')}\n{keys(schema)}"


# ------------------------------------------------------------------------------- forms


def _defined(body: Schema) -> str:
    says = body.get("description", "")
    form = "" if "properties" in body else f"{_form(body).capitalize()}."
    text = paragraph(f"{says} {form}") + "\n" if says or form else ""
    return text + "".join(f"{line}\n" for line in _inside(body, 0))


def _table(body: Schema, depth: int) -> Iterator[str]:
    """An item for each key."""
    required = body.get("required", [])
    for key, value in body.get("properties", {}).items():
        must = ", required" if key in required else ""
        says = _says(value)
        yield item(f"`{key}` ({_form(value)}{must}){f': {says}' if says else ''}", depth)
        yield from _inside(value, depth + 1)


def _says(body: Schema) -> str:
    """What it is for; of several forms, of the first that says it."""
    if "description" in body or "anyOf" not in body:
        return str(body.get("description", ""))
    return next((says for one in body["anyOf"] if (says := _says(one))), "")


def _inside(body: Schema, depth: int) -> Iterator[str]:
    """The keys of tables in it, at any depth."""
    if "properties" in body:
        yield from _table(body, depth)
    elif "anyOf" in body or "oneOf" in body:
        for one in body.get("anyOf") or body["oneOf"]:
            if "properties" in one and "part" in one["properties"]:
                yield from _device(one, depth)
            else:
                yield from _inside(one, depth)
    elif "allOf" in body:
        for one in body["allOf"]:
            yield from _inside(one, depth)
    elif isinstance(body.get("items"), dict):
        yield from _inside(body["items"], depth)
    elif isinstance(body.get("additionalProperties"), dict):
        yield from _inside(body["additionalProperties"], depth)


def _device(body: Schema, depth: int) -> Iterator[str]:
    """A part's options in one line: what they mean is told in the text."""
    part = body["properties"]["part"]
    options = ", ".join(f"`{key}`" for key in body["properties"] if key != "part")
    what = f"`part: {part['const']}`" if "const" in part else "`part` (a chip)"
    yield item(f"{what}: {options}", depth)


def _form(body: Schema) -> str:
    """What may be written, in few words."""
    if "$ref" in body:
        return str(body["$ref"]).rpartition("/")[2]
    if "const" in body:
        return f"`{_scalar(body['const'])}`"
    if "enum" in body:
        words = dict.fromkeys(f"`{_scalar(one)}`" for one in body["enum"])
        return " or ".join(words) if len(words) < 4 else f"one of {', '.join(words)}"
    if "anyOf" in body or "oneOf" in body:
        forms = dict.fromkeys(_form(one) for one in body.get("anyOf") or body["oneOf"])
        forms.pop("nothing", None)
        return ", or ".join(forms)
    return _typed(body)


def _typed(body: Schema) -> str:
    kinds = body.get("type", "object")
    kinds = [kinds] if isinstance(kinds, str) else kinds
    if "array" in kinds:
        if not isinstance(body.get("items"), dict):
            return "list"
        each = _form(body["items"])
        return f"list, each {each}" if ", or" in each else f"list of {each}"
    if "object" in kinds:
        if isinstance(body.get("additionalProperties"), dict):
            return f"names, each with {_form(body['additionalProperties'])}"
        return "table"
    if kinds == ["null"]:
        return "nothing"
    if "string" in kinds:
        return "text, or nothing" if "null" in kinds else "text"
    return " or ".join(kinds)


def _scalar(value: object) -> str:
    return value if isinstance(value, str) else json.dumps(value)
