"""The schemas as texts, made anew and as they ship."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from importlib.resources import files
from types import MappingProxyType

from breadproof.specs.schemas.boards import board_schema
from breadproof.specs.schemas.parts import part_schema
from breadproof.specs.schemas.pieces import Schema
from breadproof.specs.schemas.ports import ports_schema
from breadproof.specs.schemas.scripts import script_schema
from breadproof.specs.schemas.targets import target_schema

SCHEMAS: Mapping[str, Callable[[], Schema]] = MappingProxyType(
    {
        "part": part_schema,
        "board": board_schema,
        "target": target_schema,
        "script": script_schema,
        "ports": ports_schema,
    }
)


def generated(kind: str) -> str:
    """The schema of a kind of file, made from the readers' keys now."""
    return json.dumps(SCHEMAS[kind](), indent=1, ensure_ascii=False) + "\n"


def shipped(kind: str) -> str:
    """The schema of a kind of file, as it ships."""
    name = f"{kind}.schema.json"
    return files("breadproof.specs.schemas").joinpath(name).read_text("utf-8")
