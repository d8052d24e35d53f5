"""`breadproof parts --start`: a part file to be filled in.

That the skeleton teaches enough is tested by filling it in: a quad NAND gate (function table of the
data book, from memory), and then it loads and its rows pass.
"""

from pathlib import Path

import pytest

from breadproof import cli
from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.partfile import load_part
from breadproof.specs.reading.diagnostics import BadInput

FILLED = {
    "title: ___": "title: Quad 2-input NAND gate",
    "does: ___": "does: NAND gate",
    "families: [___]": "families: [LS]",
    "source: ___": "source: data book, from memory",
    "  1: ___": "  1: A1 in",
    "  2: ___": "  2: B1 in",
    "  3: ___": "  3: Y1 out",
    **{f"  {pin}: ___": f"  {pin}: NC nc" for pin in (4, 5, 6, 8, 9, 10, 11, 12, 13)},
    "  ___: ___": '  Y1: "!(A1 & B1)"',
    "from: ___": "from: function table, data book, from memory",
    "columns: ___": "columns: A1 B1 | Y1",
    "      - ___": "      - L X | H\n      - X L | H\n      - H H | L",
}


def run(*words: object, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    status = cli.main([str(word) for word in words])
    out, err = capsys.readouterr()
    return status, out, err


def filled(text: str) -> str:
    for blank, words in FILLED.items():
        assert text.count(f"\n{blank}") + text.count(f" {blank}") >= 1, blank
        text = text.replace(blank, words, 1)
    return text


def test_the_skeleton_says_what_is_to_be_filled_in(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "999.yaml"
    status, out, err = run("parts", "--start", "74LS999", "-o", path, capsys=capsys)
    assert (status, out) == (0, "")
    assert err == f"{path}: written. Fill it in, then: breadproof parts --check {path}\n"
    assert list(tmp_path.iterdir()) == [path]
    with pytest.raises(BadInput) as bad:
        load_part(path)
    lines = path.read_text("utf-8").splitlines()
    told = [(d.code, d.message) for d in bad.value.diagnostics]
    assert told == [
        ("part-blank", "still to be filled in: 'title', 'does', 'families', 'source'"),
        ("part-blank", "still to be filled in: 'pins': 1 to 6, 8 to 13"),
        ("part-blank", "still to be filled in: 'logic': an entry"),
        ("part-blank", "still to be filled in: 'rows': from, columns, table"),
    ]
    for diagnostic in bad.value.diagnostics:
        span = diagnostic.span
        assert lines[span.line - 1][span.column - 1 :].startswith("___")


def test_the_skeleton_filled_in_is_a_part(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, text, err = run("parts", "--start", "999", "-o", "-", capsys=capsys)
    assert (status, err) == (0, "")
    assert max(len(line) for line in text.splitlines()) <= 120
    path = tmp_path / "999.yaml"
    path.write_text(filled(text), "utf-8")
    part = load_part(path)
    assert (part.number, part.package) == ("999", "DIP-14")
    status, out, err = run("parts", "--check", path, capsys=capsys)
    assert (status, err) == (0, "")
    assert f"{path}: pass  999, Quad 2-input NAND gate\n" in out


@pytest.mark.parametrize(
    ("package", "ground", "supply"), [("DIP-16", 8, 16), ("dip-20", 10, 20), ("DIP-2", 1, 2)]
)
def test_every_pin_of_the_package_has_its_line(
    package: str, ground: int, supply: int, capsys: pytest.CaptureFixture[str]
) -> None:
    _, out, _ = run("parts", "--start", "NEW-1", "--package", package, capsys=capsys)
    pins = [line.split()[:2] for line in out.partition("\npins:\n")[2].splitlines()]
    pins = pins[: pins.index([])]
    assert [number for number, _ in pins] == [f"{n}:" for n in range(1, supply + 1)]
    named = {int(number.rstrip(":")): name for number, name in pins if name != "___"}
    assert named == {ground: "GND", supply: "VCC"}
    assert 'part: "NEW-1"' in out


def test_of_a_known_number_it_is_a_copy(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "157.yaml"
    assert run("parts", "--start", "74HC157", "--output", path, capsys=capsys)[0] == 0
    text = path.read_text("utf-8")
    assert text.endswith(f"\n{Catalogue().text('157')}")
    assert text.startswith("# A copy of the part 157, to be changed.")
    assert load_part(path).logic == Catalogue().part("157").logic or load_part(path).rows


def test_a_file_that_is_there_is_left(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "999.yaml"
    path.write_text("mine", "utf-8")
    status, out, err = run("parts", "--start", "999", "-o", path, capsys=capsys)
    assert (status, out) == (2, "")
    assert err == (
        f"{path}:1:1: error: '{path}' is there already and was left as it is "
        "[output-unwritable]\n  Name another file, or give --force to replace it.\n"
    )
    assert path.read_text("utf-8") == "mine"
    assert run("parts", "--start", "999", "-o", path, "--force", capsys=capsys)[0] == 0
    assert 'part: "999"' in path.read_text("utf-8")
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--start"], "--start takes one NUMBER"),
        (["--start", "1", "2"], "--start takes one NUMBER"),
        (["--start", "a/b"], "'a/b' can name no part"),
        (["--start", "999", "--package", "DIP-15"], "'DIP-15' is no package"),
        (["--start", "999", "--package", "QFP-44"], "'QFP-44' is no package"),
        (["--start", "157", "--package", "DIP-16"], "the 157 is known, and its package with it"),
        (["--start", "999", "-o", "998.yaml"], "a part is found by its file's name"),
        (["--start", "999", "-o", "none/999.yaml"], "there is no folder 'none'"),
        (["--start", "--check", "999"], "four jobs: give one"),
        (["--package", "DIP-16", "999"], "--package goes with --start"),
        (["--force", "999"], "--force goes with --start"),
        (["-o", "x", "999"], "--output goes with --start"),
        (["--start", "999", "--json"], "--json is for lists"),
        (["--table", "999"], "--table is of all parts"),
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
    status, out, err = run("parts", *words, capsys=capsys)
    assert (status, out) == (2, "")
    assert told in err
    assert list(tmp_path.iterdir()) == []
