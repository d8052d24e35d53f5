"""Commands under test keep nothing in the user's own folders."""

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where answers are kept: a folder of the test's own."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return tmp_path / "cache" / "breadproof"
