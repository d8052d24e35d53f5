"""What schemas are built of.

In the project's files every plain scalar is a text, but an editor that reads YAML sees numbers and
booleans in some of them: a text is therefore any of the three. Patterns are those of ECMA 262 that
Python's `re` reads alike.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

Schema = dict[str, Any]

DIALECT = "https://json-schema.org/draft/2020-12/schema"
SCALARS = ["string", "number", "boolean"]
NAME = "[A-Za-z_][A-Za-z0-9_]*"


def text(says: str, pattern: str = "") -> Schema:
    """A scalar that is not empty. A pattern is held only against what an editor sees as text."""
    held: Schema = {"pattern": f"^{pattern}$"} if pattern else {"minLength": 1}
    return {"description": says, "type": SCALARS, **held}


def one_of(says: str, words: Iterable[str]) -> Schema:
    """One of some words; "true", "false" and numbers may also stand without quotes."""
    found: list[Any] = []
    for word in words:
        found.append(word)
        if word in ("true", "false"):
            found.append(word == "true")
        elif word.isdecimal() and str(int(word)) == word:
            found.append(int(word))
    return {"description": says, "enum": found}


def listed(says: str, item: Schema, least: int = 0, most: int | None = None) -> Schema:
    """A list."""
    held: Schema = {"minItems": least} if least else {}
    held |= {} if most is None else {"maxItems": most}
    return {"description": says, "type": "array", "items": item, **held}


def names(says: str, body: Schema, pattern: str = NAME, *, empty: bool = False) -> Schema:
    """A mapping whose keys are names; with ``empty`` it may be left out after its colon."""
    return {
        "description": says,
        "type": ["object", "null"] if empty else "object",
        "propertyNames": {"pattern": f"^{pattern}$"},
        "additionalProperties": body,
    }


def table(
    says: str, keys: Sequence[str], bodies: Mapping[str, Schema], required: Sequence[str] = ()
) -> Schema:
    """A mapping with these keys and no others, in the reader's order.

    Raises:
        ValueError: the reader knows other keys than are described here.
    """
    if set(keys) != set(bodies) or not set(required) <= set(keys):
        odd = sorted(set(keys) ^ set(bodies) | set(required) - set(keys))
        raise ValueError(f"{says} the reader and this schema differ in {', '.join(odd)}")
    return {
        "description": says,
        "type": "object",
        "properties": {key: bodies[key] for key in keys},
        "additionalProperties": False,
        **({"required": list(required)} if required else {}),
    }


def ref(name: str) -> Schema:
    """A definition of the same schema."""
    return {"$ref": f"#/$defs/{name}"}


def either(*schemas: Schema) -> Schema:
    """Any of some forms."""
    return {"anyOf": list(schemas)}


def document(title: str, body: Schema, defs: Mapping[str, Schema]) -> Schema:
    """A whole schema."""
    return {"$schema": DIALECT, "title": title, **body, "$defs": dict(defs)}
