"""`--report` of compare and simulate: a page is written whole beside what is printed, or not."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from breadproof import cli
from tests.stimulus.boards import PAD, SCRIPT

REVISIONS = Path(__file__).resolve().parents[2] / "specs" / "boards" / "revisions"
COMPARE = ["compare", "chase.yaml", "chase-moved.yaml", "--no-proofs"]
SIMULATE = ["simulate", "pad.yaml", "--script", "script.yaml"]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    for name in ("chase", "chase-moved"):
        shutil.copy(REVISIONS / f"{name}.yaml", tmp_path)
    (tmp_path / "pad.yaml").write_text(PAD, "utf-8")
    (tmp_path / "script.yaml").write_text(SCRIPT, "utf-8")
    return tmp_path


def test_a_comparison_is_printed_and_written(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main([*COMPARE, "--report", "out.html"]) == 1
    with_page = capsys.readouterr().out
    text = Path("out.html").read_text("utf-8")
    assert text.startswith("<!doctype html>\n")
    assert "<title>chase.yaml and chase-moved.yaml: not the same machine</title>" in text
    assert cli.main(COMPARE) == 1
    plain = capsys.readouterr().out
    assert with_page.rpartition(" (")[0] == plain.rpartition(" (")[0]  # the time aside
    assert not list(Path.cwd().glob(".*.part"))


def test_a_run_is_printed_as_without_and_written(capsys: pytest.CaptureFixture[str]) -> None:
    """The page has more rows than fit a screen; the table that is printed keeps its own number."""
    script = "stimulus:\n" + "  - press: TAKE\n" * 60
    Path("script.yaml").write_text(script, "utf-8")
    assert cli.main([*SIMULATE, "--report", "out.html"]) == 0
    with_page = capsys.readouterr().out
    assert cli.main(SIMULATE) == 0
    assert capsys.readouterr().out == with_page
    assert "21 rows left out" in with_page
    text = Path("out.html").read_text("utf-8")
    assert text.count('<th scope="row">press TAKE</th>') == 60
    assert "rows left out" not in text


def test_a_long_run_has_a_column_for_each_entry_and_for_the_last_steps() -> None:
    script = "stimulus:\n" + "  - clock: {CK: 30}\n" * 8
    Path("script.yaml").write_text(script, "utf-8")
    assert cli.main([*SIMULATE, "--report", "out.html"]) == 0
    text = Path("out.html").read_text("utf-8")
    assert "A column is the end of an entry of the script; the last steps have their own." in text
    titles = text[text.index('aria-label="their levels') :].partition("</svg>")[0]
    # Seven entries of 60 steps each and the last 40 of 480; 420 is the last entry's beginning.
    for title in ("start", "60", "420", "441", "480"):
        assert f">{title}</text>" in titles
    assert ">440</text>" not in titles


@pytest.mark.parametrize("call", [COMPARE, SIMULATE])
@pytest.mark.parametrize("target", ["none/out.html", ".", "source"])
def test_what_cannot_be_written_is_told_first(
    call: list[str], target: str, capsys: pytest.CaptureFixture[str]
) -> None:
    sources = [word for word in call if word.endswith(".yaml")]
    before = {name: Path(name).read_bytes() for name in sources}
    for named in sources if target == "source" else [target]:
        assert cli.main([*call, "--report", named]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert "cannot be written" in err
    assert {name: Path(name).read_bytes() for name in sources} == before
    assert not Path("out.html").exists()


def test_a_bench_plays_nothing_to_show(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main([*SIMULATE, "--bench", "b.v", "--report", "out.html"]) == 2
    assert "--bench plays nothing" in capsys.readouterr().err
    assert not Path("b.v").exists()
