"""Wire lists as CSV (RFC 4180), as spreadsheets write them; what each row means, and errors.

The same wires written in the board file are the measure of what must come out.
"""

from __future__ import annotations

import csv
import io
import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breadproof.specs.load import load_netlist
from breadproof.specs.reading.board import read_board
from breadproof.specs.reading.diagnostics import BadInput, Problems
from tests.support.netlists import plain

BOARD = """\
board: taps
breadboards: {b1: {tie-points: 830}}
parts:
  U1: {part: 74LS00, at: b1.e5}
  TAP: push-button
nets: {sel: [U1.6]}
wires: """
LISTED = """
  - {from: VCC, to: b1.upper+, colour: red}
  - GND to U1.7
  - TAP.1 to b1.a5
  - b1.b5 to sel
"""
ROWS = [("VCC", "b1.upper+", "red"), ("GND", "U1.7", ""), ("TAP.1", "b1.a5", ""),
        ("b1.b5", "sel", "")]  # fmt: skip


def board(folder: Path, data: bytes) -> Path:
    (folder / "wires.csv").write_bytes(data)
    path = folder / "taps.yaml"
    path.write_text(f"{BOARD}wires.csv\n", "utf-8")
    return path


def check(folder: Path, data: bytes) -> None:
    """The file says what the list says."""
    listed = folder / "listed.yaml"
    listed.write_text(BOARD + LISTED, "utf-8")
    found = load_netlist(board(folder, data))
    assert plain(found) == plain(load_netlist(listed))
    assert [wire.colour for wire in found.layout.wires] == ["red", "", "", ""]


FORMS = {
    "plain": b"from,to,colour\nVCC,b1.upper+,red\nGND,U1.7,\nTAP.1,b1.a5,\nb1.b5,sel,\n",
    "semicolons, a byte order mark, CRLF":
        b"\xef\xbb\xbfFrom;To;Colour\r\nVCC;b1.upper+;red\r\nGND;U1.7;\r\n"
        b"TAP.1;b1.a5;\r\nb1.b5;sel;\r\n",
    "tabs and no end of the last line":
        b"from\tto\tcolour\nVCC\tb1.upper+\tred\nGND\tU1.7\nTAP.1\tb1.a5\nb1.b5\tsel",
    "quotes, blanks, blank rows, trailing separators":
        b'\n"From", "To","Wire Colour",,\n,,,,\nVCC, "b1.upper+",red,,\n\nGND,U1.7,,,\n'
        b'"TAP.1",b1.a5\n'
        b" b1.b5 ,\tsel ,,,\n,,\n",
    "sep= in front, other words, other order, a note with separators and lines":
        b'sep=;\r\nno;Note;End B;Color;End A\r\n1;"to the ""upper""; rail\r\n'
        b'second line";b1.upper+;red;VCC\r\n'
        b"2;;U1.7;;GND\r\n3;x;b1.a5;;TAP.1\r\n4;;sel;;b1.b5\r\n",
    "as 'breadproof wires --csv' writes them":
        b"from,to,net,color\nVCC,b1.upper+,VCC,red\nGND,U1.7,GND,\nTAP.1,b1.a5,tap,\n"
        b"b1.b5,sel,tap,\n",
    "quotes inside a value that has none around it":
        b'note,from,to,colour\n12" of it,VCC,b1.upper+,red\n"""x""",GND,U1.7,\n'
        b'a""b,TAP.1,b1.a5,\n"",b1.b5,sel,\n',
    "old line ends": b"from,to,colour\rVCC,b1.upper+,red\rGND,U1.7,\rTAP.1,b1.a5,\rb1.b5,sel,\r",
}  # fmt: skip


@pytest.mark.parametrize("form", FORMS)
def test_what_spreadsheets_make_of_it(form: str, tmp_path: Path) -> None:
    check(tmp_path, FORMS[form])


CELLS = st.text(
    st.characters(codec="utf-8", exclude_characters="\0\r\n", exclude_categories=["Cs", "Cc"])
)


@given(
    st.sampled_from(",;\t"),
    st.booleans(),
    st.lists(CELLS, min_size=4, max_size=4),
)
def test_what_python_writes(separator: str, all_quoted: bool, notes: list[str]) -> None:
    """Python's csv module writes the rows, with any note; values and places come back."""
    text = io.StringIO()
    plainly = csv.writer(text, delimiter=separator, lineterminator="\r\n")
    quoting = csv.writer(text, delimiter=separator, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    writer = quoting if all_quoted else plainly
    writer.writerow(("note", "from", "to", "colour"))
    for note, row in zip(notes, ROWS, strict=True):
        writer.writerow((note, *row))
    with tempfile.TemporaryDirectory() as folder:
        path = board(Path(folder), text.getvalue().encode("utf-8"))
        problems = Problems()
        found = read_board(path, problems)
    assert found is not None
    assert not problems.found
    assert [(w.ends[0].value, w.ends[1].value, w.colour) for w in found.wires] == ROWS
    for number, wire in enumerate(found.wires, start=2):
        for end in wire.ends:
            span = end.span
            assert (span.line, span.text[span.column - 1 :][: span.length]) == (number, end.value)


WRONG = {
    "no header": (
        b"VCC,b1.upper+\nGND,U1.7\n",
        """\
wires.csv:1:1: error: the first row is no header [wires-column]
    VCC,b1.upper+
    ^^^^^^^^^^^^^
  Write 'from,to,colour' in the first row; colour may be left out, and a note may follow.""",
    ),
    "empty": (
        b"\n,,\n",
        """\
wires.csv:1:1: error: 'wires.csv' has no header [wires-empty]
  Write 'from,to,colour' in the first row; colour may be left out, and a note may follow.""",
    ),
    "wrong columns": (
        b"from,too,color,colour\n",
        """\
wires.csv:1:1: error: there is no column 'to' [wires-column]
    from,too,color,colour
    ^^^^^^^^^^^^^^^^^^^^^
  Write 'from,to,colour' in the first row; colour may be left out, and a note may follow.
wires.csv:1:6: error: a wire list has no column 'too' [wires-column]
    from,too,color,colour
         ^^^
  Did you mean to?
wires.csv:1:16: error: a second column 'colour' [wires-column]
    from,too,color,colour
                   ^^^^^^
  first here: wires.csv:1:10
    from,too,color,colour
             ^^^^^
  A row has two ends; give each end a row of its own, or remove the column.""",
    ),
    "rows and ends, all in one run": (
        b'from;to;colour\nVCC;;red\n;"b1.a5"\nU1.99;b1.z7;\nGND;U1.7;blue;and more\n'
        b'U2.1;sel;\n;;red\n',
        """\
wires.csv:2:1: error: this wire has one end, 'VCC' [wires-row]
    VCC;;red
    ^^^
  Give both ends, or remove the row.
wires.csv:3:3: error: this wire has one end, 'b1.a5' [wires-row]
    ;"b1.a5"
      ^^^^^
  Give both ends, or remove the row.
wires.csv:4:1: error: U1 has no pin '99' [pin-missing]
    U1.99;b1.z7;
    ^^^^^
  They are A1, B1, Y1, A2, B2, Y2, GND, Y3, A3, B3, Y4, A4, B4, VCC.
wires.csv:4:7: error: 'z7' is no hole [hole-missing]
    U1.99;b1.z7;
          ^^^^^
  Holes are a1 to j63; rails are upper+, upper-, lower+, lower-.
wires.csv:5:15: error: 'and more' stands under no heading [wires-row]
    GND;U1.7;blue;and more
                  ^^^^^^^^
  Put a value that has separators in it between double quotes.
wires.csv:6:1: error: 'U2.1' is no hole, pin or net [end-unknown]
    U2.1;sel;
    ^^^^
  An end is b1.a12, b1.upper+, U1.15, or the name of a net.
wires.csv:7:1: error: this wire has no end [wires-row]
    ;;red
    ^^^^^
  Give both ends, or remove the row.""",
    ),
    "a quote that stays open": (
        b'from,to\nVCC,b1.upper+\n"GND,U1.7\nTAP.1,b1.a5\n',
        """\
wires.csv:3:1: error: this row cannot be read: unexpected end of data [wires-malformed]
    "GND,U1.7
    ^^^^^^^^^
  Each double quote that opens must close; one inside a value is doubled.""",
    ),
    "another encoding": (
        b"from,to,note\nVCC,b1.upper+,r\xf6t\n",
        """\
taps.yaml:7:8: error: 'wires.csv': the file is not UTF-8 text [wires-unreadable]
    wires: wires.csv
           ^^^^^^^^^
  Save it as UTF-8, or check that it is a text file.""",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_what_is_wrong_is_told_with_its_place(case: str, tmp_path: Path) -> None:
    data, said = WRONG[case]
    with pytest.raises(BadInput) as bad:
        load_netlist(board(tmp_path, data))
    assert str(bad.value).replace(f"{tmp_path}/", "") == said


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    path = board(tmp_path, b"from,to\n")
    (tmp_path / "wires.csv").unlink()
    with pytest.raises(BadInput) as bad:
        load_netlist(path)
    assert (
        str(bad.value).replace(f"{tmp_path}/", "")
        == """\
taps.yaml:7:8: error: 'wires.csv': there is no such file [wires-unreadable]
    wires: wires.csv
           ^^^^^^^^^
  The name is taken beside the board file."""
    )


def test_joins_of_boards_come_from_a_file_too(tmp_path: Path) -> None:
    (tmp_path / "one.yaml").write_text("board: one\nparts: {J: {part: connector, pins: 2}}\n"
                                       "nets: {a: [J.1], b: [J.2]}\n", "utf-8")  # fmt: skip
    (tmp_path / "joins.csv").write_text("from,to\nx.a,y.b\nx.J,y.J\n", "utf-8")
    path = tmp_path / "two.yaml"
    path.write_text("board: two\nboards: {x: one.yaml, y: one.yaml}\njoins: joins.csv\n", "utf-8")
    assert [len(net.pins) for net in load_netlist(path).nets] == [4]
