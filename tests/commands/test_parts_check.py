"""`breadproof parts --check`: the rows of a part file, and what they leave open.

The chips are this module's own; which rows fail follows from their function by hand.
"""

import json
from pathlib import Path

import pytest

from breadproof import cli
from breadproof.verify.report.page import PLAIN
from breadproof.verify.report.rowcheck import check_lines
from breadproof.verify.rows.checking import check_part
from tests.commands.own import BROKEN, BUFFER, folder

SELECTOR = """\
part: SEL2
title: Two selectors
does: data selector
package: DIP-14
families: [LS]
source: the workshop's own
pins:
  1: S in select
  2: A1 in
  3: B1 in
  4: Y1 out
  5: A2 in
  6: B2 in
  7: GND ground
  8: Y2 out
  9: NC nc
  10: NC nc
  11: NC nc
  12: NC nc
  13: NC nc
  14: VCC supply
logic:
  Y1: "S ? B1 : A1"
  Y2: "S ? B2 : A2"
rows:
  - from: the workshop's own table
    columns: S A# B# | Y#
    for: 1 2
    table:
      - L a X | a
      - H X b | b
"""
COUNTER = """\
part: CNT2
title: Two-bit counter
does: counter
package: DIP-8
families: [LS]
source: the workshop's own
pins:
  1: CLK in clock
  2: CLR_n in clear
  3: Q0 out
  4: GND ground
  5: Q1 out
  6: NC nc
  7: NC nc
  8: VCC supply
logic: {"Q[1:0]": R}
storage:
  R[1:0]: {clock: rose(CLK), next: "R + 2'd1", clear: "!CLR_n"}
rows:
  - from: the workshop's own table
    columns: CLR_n CLK | Q[1:0]
    table:
      - L X | h0
      - H ^ | h1
      - H ^ | h2
      - H v | =
      - H ^ | h3
      - H ^ | h0
"""


def check(
    at: Path, number: str, text: str, capsys: pytest.CaptureFixture[str], *words: str
) -> tuple[int, str, str]:
    path = at / f"{number}.yaml"
    path.write_text(text, "utf-8")
    status = cli.main(["parts", "--check", str(path), *words])
    out, err = capsys.readouterr()
    return status, out.replace(f"{at}/", ""), err.replace(f"{at}/", "")


@pytest.mark.parametrize(("number", "text"), [("SEL2", SELECTOR), ("CNT2", COUNTER)])
def test_rows_that_come_true(
    number: str, text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out, err = check(tmp_path, number, text, capsys)
    assert (status, err) == (0, "")
    assert out.startswith(f"{number}.yaml: pass  {number}, Two")
    assert "gap" not in out
    assert "run through the Machine and in Amaranth's simulator" in " ".join(out.split())
    assert out.endswith("\nparts: all passed.\n")


def test_the_whole_text_of_a_row_that_fails(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = SELECTOR.replace("S ? B2 : A2", "S ? B2 : B2")
    status, out, err = check(tmp_path, "SEL2", text, capsys)
    assert (status, err) == (1, "")
    assert out == (
        "SEL2.yaml: FAIL  SEL2, Two selectors\n"
        "  FAIL  the workshop's own table: 2 rows, 2 runs  (SEL2.yaml:30)\n"
        "        SEL2.yaml:30:17: Y2 is to be high (H), and is low (L)\n"
        "          columns  S A# B# | Y#\n"
        "          row      L a X | a\n"
        "          set      S=L A2=H B2=L\n"
        "  gap   A2: no row comes out otherwise while it is held low or high\n"
        "        Add rows of the data sheet that tell what A2 do; what no row looks at is "
        "unchecked.\n"
        "  from  the workshop's own\n"
        "\n"
        "1 file with 2 rows, run through the Machine and in Amaranth's simulator, X cells filled "
        "in several\nways. The equations are held against these rows and nothing else: check the "
        "rows against the data\nsheet.\n"
        "parts: 1 file failed.\n"
    )


def test_the_cell_is_the_place(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The third row is to say h2; the row after it holds that, so it fails on."""
    text = COUNTER.replace("H ^ | h2", "H  ^ |   h1")
    status, out, _ = check(tmp_path, "CNT2", text, capsys, "--json")
    assert status == 1
    (part,) = json.loads(out)["parts"]
    failures = part["tables"][0]["failures"]
    row = text.splitlines().index("      - H  ^ |   h1") + 1
    assert {(f["line"], f["column"], f["name"]) for f in failures} == {
        (row, 18, "Q1"),
        (row, 18, "Q0"),
    }
    by_name = {f["name"]: f for f in failures}
    assert (by_name["Q1"]["expected"], by_name["Q1"]["seen"]) == ("L", "H")
    assert by_name["Q0"]["ways"] == ["Machine", "Amaranth"]
    assert (part["verdict"], json.loads(out)["verdict"]) == ("fail", "fail")


@pytest.mark.parametrize(
    ("number", "text", "gap"),
    [
        # No row has the select high, so B is never seen to matter.
        ("SEL2", SELECTOR.replace("      - H X b | b\n", ""), "B1: no row comes out otherwise"),
        ("SEL2", SELECTOR.replace("- H X b | b", "- H X H | H"), "B1: no row comes out otherwise"),
        # The rows stop before the second bit is high.
        ("CNT2", COUNTER[: COUNTER.index("      - H ^ | h2")], "Q1: no row expects it high"),
        # The clear is never taken away again, so that the clock does nothing.
        ("CNT2", COUNTER[: COUNTER.index("      - H ^ | h1")], "CLK: no row comes out otherwise"),
    ],
)
def test_gaps_fail(
    number: str, text: str, gap: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out, _ = check(tmp_path, number, text, capsys)
    assert status == 1
    assert f"  gap   {gap}" in out


@pytest.mark.parametrize("number", ["9", "BUF1", "74"])
def test_variants_of_own_chips(
    number: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One that inverts in HC, whatever the number looks like; then its rows are not turned."""
    text = BUFFER.replace("part: BUF1", f'part: "{number}"').replace("[LS]", "[LS, HC]")
    variant = """\
variants:
  - families: [HC]
    title: One inverter
    logic: {Y: "!A"}
    rows:
      - from: the workshop's own table
        columns: A | Y
        table: [L | H, H | L]
"""
    status, out, err = check(tmp_path, number, text + variant, capsys)
    assert (status, err) == (0, "")
    assert f"  pass  the workshop's own table: 2 rows, 1 run  ({number}.yaml:12)\n" in out
    assert f"  pass  as HC: the workshop's own table: 2 rows, 1 run  ({number}.yaml:20)\n" in out
    wrong = variant.replace("L | H, H | L", "L | L, H | H")
    status, out, _ = check(tmp_path, number, text + wrong, capsys)
    assert status == 1
    assert out.count("  FAIL  ") == 1
    assert "  FAIL  as HC: " in out


def test_a_memory_that_is_programmed_needs_no_row_for_its_write_pin(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of a ROM with a word in its rows, on which the program runs them."""
    text = """\
part: ROM4
title: Four words of one bit
does: memory
package: DIP-8
families: [MOS]
source: the workshop's own
pins:
  1: A0 in address
  2: A1 in address
  3: WE_n in write
  4: GND ground
  5: Q out
  6: NC nc
  7: NC nc
  8: VCC supply
logic: {Q: "M[A[1:0]]"}
memory:
  M: {words: 4, bits: 1, address: "A[1:0]", program: "!WE_n"}
rows:
  - from: the workshop's own table
    columns: A[1:0] WE_n M[0] M[1] M[2] M[3] | Q
    table:
      - h0 H H L L H | H
      - h1 H H L L H | L
      - h2 H H L L H | L
      - h3 H H L L H | H
"""
    status, out, err = check(tmp_path, "ROM4", text, capsys)
    assert (status, err) == (0, "")
    less = text.replace("      - h3 H H L L H | H\n", "").replace("      - h1 H H L L H | L\n", "")
    status, out, _ = check(tmp_path, "ROM4", less, capsys)
    assert status == 1
    assert "  gap   A0: no row comes out otherwise while it is held low\n" in out
    assert "WE_n:" not in out


def test_a_chip_that_does_not_become_quiet(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A latch of its own inverse, open while E is high."""
    text = BUFFER.replace("{Y: A}", '{Y: L}\nstorage: {L: {open: A, from: "!L"}}')
    status, out, _ = check(tmp_path, "BUF1", text, capsys)
    assert status == 1
    assert "rounds" in out


def test_files_that_cannot_be_read_are_told_beside_the_others(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    good = folder(tmp_path / "own", BUF1=BUFFER)
    (good / "BUF2.yaml").write_text(BROKEN.replace("BUF1", "BUF2"), "utf-8")
    assert cli.main(["parts", "--check", str(good)]) == 2
    out, err = capsys.readouterr()
    assert "BUF1.yaml: pass" in out
    assert f"{good}/BUF2.yaml:8:12: error: 'B' is neither a pin" in err
    (good / "BUF2.yaml").unlink()
    assert cli.main(["parts", "--check", str(good), str(good / "BUF1.yaml")]) == 0
    assert capsys.readouterr().out.count("BUF1.yaml: pass") == 1


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "--check takes part files, or a folder of them."),
        (["none.yaml"], "none.yaml:1:1: error: there is no such file"),
        (["."], "there is no part file in this folder"),
    ],
)
def test_wrong_calls(
    words: list[str],
    told: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert cli.main(["parts", "--check", *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert told in err


def test_a_way_that_stands_alone_is_named(tmp_path: Path) -> None:
    """Should the two ways ever differ, which of them failed is said."""
    path = folder(tmp_path / "own", BUF1=BUFFER.replace("H | H", "H | L")) / "BUF1.yaml"
    found = check_part(path)
    (failure,) = found.tables[0].failures
    assert failure.ways == ("Machine", "Amaranth")
    text = "\n".join(check_lines(found, PLAIN))
    assert "only in" not in text
