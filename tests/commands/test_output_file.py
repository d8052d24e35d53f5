"""The one file that a command writes: whole, or not at all, and never over another by accident."""

import os
from pathlib import Path

import pytest

from breadproof.output_file import write
from breadproof.specs.reading.diagnostics import BadInput


def no_links(*_: object) -> None:
    raise OSError(95, "Operation not supported")


@pytest.mark.parametrize("links", [True, False])
def test_a_file_that_is_there_is_left(
    links: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether the file system has hard links or not."""
    if not links:
        monkeypatch.setattr(os, "link", no_links)
    path = tmp_path / "a.yaml"
    write(path, "one", replace=False)
    with pytest.raises(BadInput, match="is there already and was left as it is"):
        write(path, "two", replace=False)
    assert path.read_text("utf-8") == "one"
    write(path, "three")
    assert path.read_text("utf-8") == "three"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("replace", [True, False])
def test_what_cannot_be_written_leaves_nothing(replace: bool, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="cannot be written: ") as bad:
        write(tmp_path / "none" / "a.yaml", "one", replace=replace)
    (told,) = bad.value.diagnostics
    assert told.hint == "Name a file in a folder that you may write to."  # whatever option named it
    assert list(tmp_path.iterdir()) == []
