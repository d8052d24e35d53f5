"""The table of all parts beside the part files is the one that the command makes."""

from pathlib import Path

import pytest

from breadproof import cli
from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.parttimes import read_times
from breadproof.verify.report.parttable import table_text

TABLE = Path(__file__).resolve().parents[2] / "specs" / "parts" / "TABLE.md"


def test_the_table_is_up_to_date(capsys: pytest.CaptureFixture[str]) -> None:
    """If not: breadproof parts --table > specs/parts/TABLE.md"""
    assert cli.main(["parts", "--table"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert out.splitlines() == TABLE.read_text("utf-8").splitlines()


def test_the_table_has_every_part() -> None:
    """Counted in another way: by the files, and the lines of rows in them."""
    lines = [line for line in TABLE.read_text("utf-8").splitlines() if line.startswith("| ")][2:]
    cells = {line.split(" | ")[0].removeprefix("| "): line.split(" | ") for line in lines}
    files = {path.stem for path in TABLE.parent.glob("*.yaml")}
    assert set(cells) == files
    for number in ("157", "6116", "74"):
        text = (TABLE.parent / f"{number}.yaml").read_text("utf-8")
        rows = [line for line in text.splitlines() if line.startswith("      - ")]
        assert cells[number][3] == str(len(rows))
    assert "LS" in cells["157"][4].split(", ")


def test_cells_stay_cells() -> None:
    part = Catalogue().part("157")
    (line,) = [line for line in table_text([part]).splitlines() if line.startswith("| 157 ")]
    assert line.count(" | ") == 5
    assert len(read_times(part)) == len(line.split(" | ")[4].split(", "))
