"""The pages of all commands as files, made once."""

from __future__ import annotations

from pathlib import Path

import pytest

from .made import PAGES


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """By command."""
    found: dict[str, Path] = {}
    for kind, make in PAGES.items():
        folder = tmp_path_factory.mktemp(kind)
        found[kind] = folder / "out.html"
        found[kind].write_text(make(folder), "utf-8")
    return found
