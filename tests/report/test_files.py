"""Files are written all or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from breadproof.specs.reading.diagnostics import BadInput
from breadproof.verify.report.files import check_folder, write_files


def test_a_folder_is_made_and_filled(tmp_path: Path) -> None:
    folder = tmp_path / "runs" / "today"
    check_folder(folder)
    assert not folder.exists()
    write_files(folder, {"a.vcd": "one\n", "b.vcd": "two\n"})
    assert {path.name: path.read_text("utf-8") for path in folder.iterdir()} == {
        "a.vcd": "one\n",
        "b.vcd": "two\n",
    }


def test_a_file_of_that_name_is_replaced(tmp_path: Path) -> None:
    (tmp_path / "a.vcd").write_text("old", "utf-8")
    write_files(tmp_path, {"a.vcd": "new"})
    assert (tmp_path / "a.vcd").read_text("utf-8") == "new"


def test_if_one_cannot_be_written_none_is(tmp_path: Path) -> None:
    (tmp_path / "a.vcd").write_text("old", "utf-8")
    (tmp_path / "b.vcd").mkdir()
    with pytest.raises(BadInput) as caught:
        write_files(tmp_path, {"a.vcd": "new", "b.vcd": "new", "c.vcd": "new"})
    assert [d.code for d in caught.value.diagnostics] == ["output-unwritable"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.vcd", "b.vcd"]
    assert (tmp_path / "a.vcd").read_text("utf-8") == "old"


def test_ctrl_c_leaves_nothing_half_written(tmp_path: Path) -> None:
    class Impatient(str):
        def encode(self, encoding: str = "utf-8", errors: str = "strict") -> bytes:
            raise KeyboardInterrupt

    (tmp_path / "a.vcd").write_text("old", "utf-8")
    with pytest.raises(KeyboardInterrupt):
        write_files(tmp_path, {"a.vcd": "new", "b.vcd": Impatient("new")})
    assert [path.name for path in tmp_path.iterdir()] == ["a.vcd"]
    assert (tmp_path / "a.vcd").read_text("utf-8") == "old"


def test_a_place_below_a_file_is_refused_early(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    with pytest.raises(BadInput) as caught:
        check_folder(tmp_path / "file" / "runs")
    assert str(caught.value) == (
        f"{tmp_path}/file/runs:1:1: error: nothing can be written to '{tmp_path}/file/runs': "
        f"'{tmp_path}/file' is no folder [output-unwritable]\n"
        "  Name a folder that you may write to, or one that is still to be made."
    )


def test_a_folder_that_may_not_be_written_to_is_refused_early(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The tests may run as a user who may write everywhere, so the system's answer is stood in for.
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    with pytest.raises(BadInput, match=f"you may not write to '{tmp_path}'"):
        check_folder(tmp_path / "runs")


def test_a_full_disk_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(BadInput, match="No space left on device"):
        write_files(tmp_path, {"a.vcd": "new"})
    assert list(tmp_path.iterdir()) == []
