"""Board files that cannot be understood, through the real command: what is said, and status 2.

Each text names file, line and column, the place with a caret, and the way out. Nothing goes to
standard output, nothing is written, and nobody sees a traceback.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from breadproof import cli

BOARD = """\
board: two-keys
parts:
  U1: 74LS08
  KEY: {part: push-button}
nets:
  VCC: [U1.14]
  GND: [U1.7, KEY.1]
  key: [KEY.2, U1.1]
  both: [U1.3]
"""
QUOTE = (
    "  Check indentation, colons and brackets here; quote a formula that has ': ' or ' #' in it, "
    "begins with ! { [ & * or %, or has [ ] or , inside braces.\n"
)
EMPTY = (
    "  A board file starts with 'board: NAME', a script with 'stimulus:', a target with 'target: "
    "NAME'; 'breadproof manual' has a page about each.\n"
)
EXTRA = "  Write the value out; if this is a formula, put it in quotes.\n"
DEEP = "  A board file needs five levels; check that this is the right file.\n"

CASES = {
    "empty": ("", f"b.yaml:1:1: error: the file is empty [file-empty]\n{EMPTY}"),
    "only a comment": (
        "\n# nothing\n",
        f"b.yaml:1:1: error: the file is empty [file-empty]\n{EMPTY}",
    ),
    "a list": (
        "- a\n- b\n",
        "b.yaml:1:1: error: this is no board file [board-shape]\n    - a\n    ^\n"
        "  A board file starts with 'board: NAME', then 'parts:' and 'nets:'.\n",
    ),
    "not YAML": (
        "board: [two-keys\nparts: {\n",
        "b.yaml:2:6: error: this is not YAML: a ',' or the ']' of a list is missing here "
        "[not-yaml]\n"
        "    parts: {\n"
        "         ^\n"
        "  the list begins here: b.yaml:1:8\n"
        "    board: [two-keys\n"
        "           ^\n"
        f"{QUOTE}",
    ),
    "a range inside braces": (
        f"{BOARD}ports: {{q[1:0]: out}}\n",
        "b.yaml:10:10: error: this is not YAML: a ',' or the '}' of a table is missing here "
        "[not-yaml]\n"
        "    ports: {q[1:0]: out}\n"
        "             ^\n"
        "  the table begins here: b.yaml:10:8\n"
        "    ports: {q[1:0]: out}\n"
        "           ^\n"
        '  In braces and brackets a name like this is quoted: "q[1:0]".\n',
    ),
    "a tab": (
        f"{BOARD}\tzero: [U1.2]\n",
        "b.yaml:10:1: error: this is not YAML: a tab stands here [not-yaml]\n"
        "     zero: [U1.2]\n"
        "    ^\n"
        "  Indent with blanks.\n",
    ),
    "a blank too many": (
        BOARD.replace("  key: [", "   key: ["),
        "b.yaml:8:4: error: this is not YAML: this line does not fit in with those above "
        "[not-yaml]\n"
        "       key: [KEY.2, U1.1]\n"
        "       ^\n"
        "  those begin here: b.yaml:6:3\n"
        "      VCC: [U1.14]\n"
        "      ^\n"
        "  Lines of one level begin in the same column; those of a list begin with '- '.\n",
    ),
    "a colon too few": (
        BOARD.replace("key: [", "key ["),
        "b.yaml:8:3: error: this is not YAML: a ':' is missing in this line [not-yaml]\n"
        "      key [KEY.2, U1.1]\n"
        "      ^\n"
        "  Write 'name: value'.\n",
    ),
    "no blank behind a colon": (
        BOARD.replace("U1: 74LS08", "U1:74LS08"),
        "b.yaml:4:6: error: this is not YAML: this ': ' stands in a line that goes on with the one "
        "above [not-yaml]\n"
        "      KEY: {part: push-button}\n"
        "         ^\n"
        "  the line above: b.yaml:3:3\n"
        "      U1:74LS08\n"
        "      ^\n"
        "  Write 'name: value' above, too, and begin lines of one level in the same column.\n",
    ),
    "a colon too many": (
        f"{BOARD}assert:\n  a: {{formula: x}}\n  b: never: key\n",
        "b.yaml:12:11: error: this is not YAML: a second ': ' stands in this line [not-yaml]\n"
        "      b: never: key\n"
        "              ^\n"
        f"{QUOTE}",
    ),
    "half a formula in quotes": (
        f'{BOARD}assert:\n  a: "key" -> both\n',
        "b.yaml:11:12: error: this is not YAML: something stands behind a value that has ended "
        "[not-yaml]\n"
        '      a: "key" -> both\n'
        "               ^\n"
        "  Put the whole value in quotes.\n",
    ),
    "half a formula in quotes, and an anchor": (
        f'{BOARD}assert:\n  a: "key" && both\n',
        "b.yaml:11:12: error: this is not YAML: '&' begins something else in YAML [not-yaml]\n"
        '      a: "key" && both\n'
        "               ^\n"
        "  Put the whole value in quotes.\n",
    ),
    "a quotation mark too few": (
        f'{BOARD}assert:\n  a: "never key\n',
        "b.yaml:11:6: error: this is not YAML: this quotation mark is not closed [not-yaml]\n"
        '      a: "never key\n'
        "         ^\n"
        "  Close it.\n",
    ),
    "a bracket too many": (
        BOARD.replace("both: [U1.3]", "both: [U1.3]]"),
        "b.yaml:9:15: error: this is not YAML: this ']' closes nothing [not-yaml]\n"
        "      both: [U1.3]]\n"
        "                  ^\n"
        "  Remove it, or open what it closes.\n",
    ),
    "a value that begins with a sign of YAML's": (
        f"{BOARD}assert:\n  a: @both\n",
        "b.yaml:11:6: error: this is not YAML: no value begins with '@' [not-yaml]\n"
        "      a: @both\n"
        "         ^\n"
        "  Put it in quotes.\n",
    ),
    "the file ends in a list": (
        "board: [",
        "b.yaml:1:9: error: this is not YAML: the file ends inside brackets [not-yaml]\n"
        "    board: [\n"
        "            ^\n"
        "  Close them.\n",
    ),
    "two documents": (
        f"{BOARD}---\n{BOARD}",
        "b.yaml:10:1: error: a second YAML document begins here [yaml-documents]\n"
        "    ---\n"
        "    ^\n"
        "  One file is one board: remove the '---'.\n",
    ),
    "anchors and aliases": (
        "a: &a [x, x]\nb: [*a, *a]\n",
        "b.yaml:1:4: error: an anchor (&a) is not used in board files [yaml-extra]\n"
        "    a: &a [x, x]\n"
        "       ^^^^\n"
        f"{EXTRA}"
        "b.yaml:2:5: error: an alias (*a) is not used in board files [yaml-extra]\n"
        "    b: [*a, *a]\n"
        "        ^^\n"
        f"{EXTRA}"
        "b.yaml:2:9: error: an alias (*a) is not used in board files [yaml-extra]\n"
        "    b: [*a, *a]\n"
        "            ^^\n"
        f"{EXTRA}",
    ),
    "a tag": (
        "board: !!python/name:os.system x\n",
        "b.yaml:1:8: error: a tag (tag:yaml.org,2002:python/name:os.system) is not used in board "
        "files [yaml-extra]\n"
        "    board: !!python/name:os.system x\n"
        "           ^^^^^^^^^^^^^^^^^^^^^^^^^\n"
        f"{EXTRA}",
    ),
    "nested deeply": (
        f"parts:\n {'[' * 45}{']' * 45}\n",
        # Column 42: the table itself and 40 brackets enclose what is one too many.
        "b.yaml:2:42: error: nested deeper than 40 levels or more than 200,000 values "
        "[yaml-too-large]\n"
        f"     {'[' * 45}{']' * 45}\n"
        f"    {' ' * 41}^\n"
        f"{DEEP}",
    ),
    "half a surrogate pair": (
        'board: "\\uD800"\n',
        "b.yaml:1:8: error: half of a surrogate pair is no character [not-utf8]\n"
        '    board: "\\uD800"\n'
        "           ^^^^^^^^\n"
        "  Write the character itself, or its whole \\U escape.\n",
    ),
    "a key twice": (
        f"{BOARD}parts:\n  U2: 74LS08\n",
        "b.yaml:10:1: error: 'parts' stands here twice [key-twice]\n"
        "    parts:\n"
        "    ^^^^^\n"
        "  first here: b.yaml:2:1\n"
        "    parts:\n"
        "    ^^^^^\n"
        "  Join the two, or rename one; nothing is silently dropped.\n",
    ),
    "a part twice": (
        BOARD.replace("  KEY: {", "  U1: 74LS00\n  KEY: {"),
        "b.yaml:4:3: error: 'U1' stands here twice [key-twice]\n"
        "      U1: 74LS00\n"
        "      ^^\n"
        "  first here: b.yaml:3:3\n"
        "      U1: 74LS08\n"
        "      ^^\n"
        "  Join the two, or rename one; nothing is silently dropped.\n",
    ),
    "an unknown part": (
        BOARD.replace("74LS08", "push-buton"),
        "b.yaml:3:7: error: no part 'push-buton' is known [part-unknown]\n"
        "      U1: push-buton\n"
        "          ^^^^^^^^^^\n"
        "  Did you mean push-button?\n",
    ),
    "a pin in two nets": (
        f"{BOARD}  extra: [U1.3, U1.4]\n",
        "b.yaml:10:11: error: U1.3 is in two nets, 'both' and 'extra' [pin-twice]\n"
        "      extra: [U1.3, U1.4]\n"
        "              ^^^^\n"
        "  first here: b.yaml:9:10\n"
        "      both: [U1.3]\n"
        "             ^^^^\n"
        "  A pin is in one net: remove one, or join the two nets into one.\n",
    ),
    "rows of unequal width": (
        f"{BOARD}  d[3:0]:\n    - U1.[4, 5, 6]\n    - U1.[8, 9, 10, 11]\n",
        "b.yaml:11:7: error: this row has 3 pins, 'd[3:0]' is 4 nets wide [row-width]\n"
        "        - U1.[4, 5, 6]\n"
        "          ^^^^^^^^^^^^\n"
        "  Give 4 pins, most significant first; one row a chip.\n",
    ),
    "a row of far too many pins": (
        f'{BOARD}  e: ["U1.A[9999:0]"]\n',
        "b.yaml:10:7: error: 'U1.A[9999:0]' is no pin [pin-malformed]\n"
        '      e: ["U1.A[9999:0]"]\n'
        "          ^^^^^^^^^^^^^^\n"
        "  A pin is PART.NUMBER or PART.NAME, such as U3.18; several are U3.[9, 8, 7].\n",
    ),
    "names that are nearly right": (
        f'{BOARD}assert:\n  a: "always (Key)"\n  b: never (U1.Y == 0)\n  c: never (both -> key)\n',
        "b.yaml:11:15: error: nothing on this board is called 'Key' [formula-meaning]\n"
        '      a: "always (Key)"\n'
        "                  ^^^\n"
        "  Did you mean KEY or key?\n"
        "b.yaml:12:13: error: U1 has no pin or storage 'Y' [formula-meaning]\n"
        "      b: never (U1.Y == 0)\n"
        "                ^^^^\n"
        "  Several pins are written U1.Y[4:1].\n"
        "b.yaml:13:13: error: '->' stands under never [formula-meaning]\n"
        "      c: never (both -> key)\n"
        "                ^^^^^^^^^^^\n"
        "  Only a level may stand there: !(both) || (key).\n",
    ),
    "three formulas, all told at once": (
        f'{BOARD}assert:\n  one: {{says: x, formula: "always (both == == key)"}}\n'
        '  two: "always (bath)"\n  three: "always (key +"\n',
        "b.yaml:11:44: error: '==' cannot stand here [formula-syntax]\n"
        '      one: {says: x, formula: "always (both == == key)"}\n'
        "                                               ^^\n"
        "  Look just before this place for a missing operator, operand or bracket.\n"
        "b.yaml:12:17: error: nothing on this board is called 'bath' [formula-meaning]\n"
        '      two: "always (bath)"\n'
        "                    ^^^^\n"
        "  Did you mean both?\n"
        "b.yaml:13:24: error: the formula ends too early [formula-syntax]\n"
        '      three: "always (key +"\n'
        "                           ^\n"
        "  Close brackets, add operands.\n",
    ),
    "missing contents": (
        BOARD.replace("  KEY: {", "  U9: {part: 28C16, contents: no-such.hex}\n  KEY: {"),
        "b.yaml:4:31: error: 'no-such.hex': there is no such file [contents-unreadable]\n"
        "      U9: {part: 28C16, contents: no-such.hex}\n"
        "                                  ^^^^^^^^^^^\n"
        "  The name is taken beside the board file.\n",
    ),
    "a HEX file with a wrong checksum": (
        BOARD.replace("  KEY: {", "  U9: {part: 28C16, contents: sum.hex}\n  KEY: {"),
        "b.yaml:4:31: error: 'sum.hex' is no sound Intel HEX file: Record at line 1 has invalid "
        "checksum [contents-hex]\n"
        "      U9: {part: 28C16, contents: sum.hex}\n"
        "                                  ^^^^^^^\n"
        "  Write the file again from the tool that made it; each line carries a checksum.\n",
    ),
    "a HEX file that breaks off": (
        BOARD.replace("  KEY: {", "  U9: {part: 28C16, contents: half.hex}\n  KEY: {"),
        "b.yaml:4:31: error: 'half.hex' is no sound Intel HEX file: it has no record that ends it "
        "(:00000001FF), so that some may be missing [contents-hex]\n"
        "      U9: {part: 28C16, contents: half.hex}\n"
        "                                  ^^^^^^^^\n"
        "  Write the file again from the tool that made it; each line carries a checksum.\n",
    ),
    "a table of numbers": (
        BOARD.replace("  KEY: {", "  U9: {part: 28C16, contents: table.txt}\n  KEY: {"),
        "b.yaml:4:31: error: 'table.txt' is text, and each of its letters would be taken for a "
        "byte [contents-text]\n"
        "      U9: {part: 28C16, contents: table.txt}\n"
        "                                  ^^^^^^^^^\n"
        "  Intel HEX is in a file that ends in .hex; raw bytes that look like text are in one that "
        "ends in .bin; a few words stand in the board file: 'contents: [0x3F, 0x06]'.\n",
    ),
    "contents that are no words": (
        BOARD.replace(
            "  KEY: {", f"  U9: {{part: 28C16, contents: [0x1FF, 7, {'9' * 50}]}}\n  KEY: {{"
        ),
        "b.yaml:4:32: error: this is no word of 8 bits [contents-word]\n"
        f"      U9: {{part: 28C16, contents: [0x1FF, 7, {'9' * 50}]}}\n"
        "                                   ^^^^^\n"
        "  Write 0x00 to 0xFF, or a decimal number.\n"
        "b.yaml:4:42: error: this is no word of 8 bits [contents-word]\n"
        f"      U9: {{part: 28C16, contents: [0x1FF, 7, {'9' * 50}]}}\n"
        f"{' ' * 45}{'^' * 50}\n"
        "  Write 0x00 to 0xFF, or a decimal number.\n",
    ),
}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    # The record's checksum is F2 (the two's complement of 04+00+00+00+01+02+03+04); F3 is wrong.
    (tmp_path / "sum.hex").write_text(":0400000001020304F3\n:00000001FF\n", "ascii")
    (tmp_path / "half.hex").write_text(":0400000001020304F2\n", "ascii")
    (tmp_path / "table.txt").write_text("04 48 03 6C\n", "ascii")
    return tmp_path


def verify(*words: str, capsys: pytest.CaptureFixture[str]) -> str:
    """What the command says, which must end with status 2, say nothing else and write nothing."""
    before = sorted(Path().rglob("*"))
    assert cli.main(["verify", *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "Traceback" not in err
    assert sorted(Path().rglob("*")) == before
    return err


@pytest.mark.parametrize("case", CASES)
def test_what_is_wrong_with_a_file(
    case: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text, expected = CASES[case]
    (folder / "b.yaml").write_text(text, "utf-8")
    assert verify("b.yaml", "--trace-dir", "runs", capsys=capsys) == expected


def test_the_record_s_checksum_is_all_that_was_wrong(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """F2 instead of F3: the file is read, so that the case above tests the checksum alone."""
    (folder / "sum.hex").write_text(":0400000001020304F2\n:00000001FF\n", "ascii")
    (folder / "b.yaml").write_text(CASES["a HEX file with a wrong checksum"][0], "utf-8")
    assert cli.main(["verify", "b.yaml"]) != 2
    assert "contents" not in capsys.readouterr().err


def test_a_bomb_of_aliases_is_told_briefly(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = ["a0: &a0 [x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 20)}]" for n in range(1, 30)]
    (folder / "b.yaml").write_text("\n".join(lines), "utf-8")
    err = verify("b.yaml", capsys=capsys)
    assert err.startswith("b.yaml:1:5: error: an anchor (&a0) is not used in board files ")
    assert err.count("error: ") == 51


def test_a_file_of_ten_megabytes_is_not_read(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "b.yaml").write_bytes(b"board: x\n#" + b"x" * 10_000_000)
    assert verify("b.yaml", capsys=capsys) == (
        "b.yaml:1:1: error: the file is larger than 4,000,000 bytes [file-unreadable]\n"
        "  Split the machine into several boards, or check that this is the right file.\n"
    )


@pytest.mark.parametrize("data", [bytes(range(256)), "board: x\n".encode("utf-16")])
def test_a_file_that_is_no_text(
    data: bytes, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "b.yaml").write_bytes(data)
    line = data[: data.index(b"\xff") if b"\xff\xfe" in data else 0x80].count(b"\n") + 1
    assert verify("b.yaml", capsys=capsys) == (
        f"b.yaml:{line}:1: error: the file is not UTF-8 text [not-utf8]\n"
        "  Save it as UTF-8, or check that it is a text file.\n"
    )


def test_no_file_and_a_folder(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert verify("none.yaml", capsys=capsys) == (
        "none.yaml:1:1: error: there is no such file [file-unreadable]\n"
        "  Check the path; it is taken as you typed it.\n"
    )
    assert verify(".", capsys=capsys) == (
        ".:1:1: error: this is a folder, not a file [file-unreadable]\n  Name a file inside it.\n"
    )


def test_traces_that_cannot_be_written(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "b.yaml").write_text(BOARD, "utf-8")
    assert verify("b.yaml", "--trace-dir", "sum.hex/runs", capsys=capsys) == (
        "sum.hex/runs:1:1: error: nothing can be written to 'sum.hex/runs': 'sum.hex' is no "
        "folder [output-unwritable]\n"
        "  Name a folder that you may write to, or one that is still to be made.\n"
    )


def test_a_process_says_it_on_stderr_alone(folder: Path) -> None:
    (folder / "b.yaml").write_text(CASES["a pin in two nets"][0], "utf-8")
    words = [sys.executable, "-m", "breadproof", "verify", "b.yaml"]
    run = subprocess.run(words, capture_output=True, text=True, check=False)
    assert (run.returncode, run.stdout, run.stderr) == (2, "", CASES["a pin in two nets"][1])
