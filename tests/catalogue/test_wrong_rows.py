"""What is said about wrong part files: rows.

There is no outside source for our own texts: they are held here as they were written, after each
caret was looked at and found under the thing that is wrong.
"""

import pytest

from breadproof.specs.reading.diagnostics import BadInput
from tests.catalogue.support import changed, read

CASES = [
    pytest.param(
        """\
rows:
  - from: made up
    columns: G_n A[1:0] CLK | Q0 Q1 R[1:0]
    table:
      - L h3 ^ | H H h3
      - H X H | L Z =
""",
        "",
        ("part-row", 1, 1),
        """\
9.yaml:1:1: error: a part without rows is not known [part-row]
    part: "9"
    ^
  Write the rows of the data sheet's function table under 'rows'.\
""",
        id="no rows",
    ),
    pytest.param(
        "L h3 ^ | H H h3",
        "L h3 ^ | H H",
        ("part-row", 29, 9),
        """\
9.yaml:29:9: error: the row has 3 | 2 cells, the columns are 3 | 3 [part-row]
          - L h3 ^ | H H
            ^^^^^^^^^^^^
  One cell a column, and one | between inputs and outputs.\
""",
        id="cells",
    ),
    pytest.param(
        "CLK | Q0",
        "CLK Q0",
        ("part-row", 27, 14),
        """\
9.yaml:27:14: error: the columns are inputs, one |, outputs [part-row]
        columns: G_n A[1:0] CLK Q0 Q1 R[1:0]
                 ^^^^^^^^^^^^^^^^^^^^^^^^^^^
  Write: A1 B1 | Y1\
""",
        id="no bar",
    ),
    pytest.param(
        "L h3 ^ | H H h3",
        "L h3 ^ | H Q h3",
        ("part-row", 29, 20),
        """\
9.yaml:29:20: error: 'Q' is no cell [part-row]
          - L h3 ^ | H Q h3
                       ^
  Write H L X Z = !, h3F, d9, one of a b c e f g, or ~a.\
""",
        id="illegal cell",
    ),
    pytest.param(
        "L h3 ^ | H H h3",
        "L h4 ^ | H H h3",
        ("part-row", 29, 11),
        """\
9.yaml:29:11: error: 'h4' does not fit in 2 bits [part-row]
          - L h4 ^ | H H h3
              ^^
  The largest is h3.\
""",
        id="too large",
    ),
    pytest.param(
        "L h3 ^ | H H h3",
        "L H ^ | H H h3",
        ("part-row", 29, 11),
        """\
9.yaml:29:11: error: 'H' is one level, the column has 2 [part-row]
          - L H ^ | H H h3
              ^
  Write a number: h0.\
""",
        id="one level",
    ),
    pytest.param(
        "L h3 ^ | H H h3",
        "L ^ ^ | H H h3",
        ("part-row", 29, 11),
        """\
9.yaml:29:11: error: an edge is of one pin, not of a vector [part-row]
          - L ^ ^ | H H h3
              ^
  Give the clock its own column.\
""",
        id="edge vector",
    ),
    pytest.param(
        "L h3 ^ | H H h3",
        "^ h3 ^ | H H h3",
        ("part-row", 29, 14),
        """\
9.yaml:29:14: error: a row has at most one edge [part-row]
          - ^ h3 ^ | H H h3
                 ^
  Make it two rows.\
""",
        id="two edges",
    ),
    pytest.param(
        "L h3 ^ | H H h3",
        "L h3 ^ | = H h3",
        ("part-row", 29, 18),
        """\
9.yaml:29:18: error: nothing is before the first row [part-row]
          - L h3 ^ | = H h3
                     ^
  Begin with a load or clear.\
""",
        id="= first",
    ),
    pytest.param(
        "L h3 ^ | H H h3",
        "L h3 ^ | a H h3",
        ("part-row", 29, 18),
        """\
9.yaml:29:18: error: 'a' stands in no input of the row [part-row]
          - L h3 ^ | a H h3
                     ^
  A variable gets its value left of |.\
""",
        id="free variable",
    ),
    pytest.param(
        "L h3 ^ | H H h3",
        "L a ^ | a H h3",
        ("part-row", 29, 17),
        """\
9.yaml:29:17: error: 'a' has 2 bits in this row, the column has 1 [part-row]
          - L a ^ | a H h3
                    ^
  Use another letter, or a number.\
""",
        id="variable width",
    ),
    pytest.param(
        "L h3 ^ | H H h3",
        "L h3 ^ | Z H h3",
        ("part-row", 29, 18),
        """\
9.yaml:29:18: error: 'Q0' always has a level [part-row]
          - L h3 ^ | Z H h3
                     ^
  Z is for what can let go.\
""",
        id="Z of out",
    ),
    pytest.param(
        "L h3 ^ | H H h3",
        "L Z ^ | H H h3",
        ("part-row", 29, 11),
        """\
9.yaml:29:11: error: 'A1' must be driven [part-row]
          - L Z ^ | H H h3
              ^
  Z is for bidirectional pins.\
""",
        id="input open",
    ),
    pytest.param(
        "CLK | Q0",
        "CLC | Q0",
        ("part-row", 27, 25),
        """\
9.yaml:27:25: error: the part has no pin 'CLC' [part-row]
        columns: G_n A[1:0] CLC | Q0 Q1 R[1:0]
                            ^^^
  Did you mean VCC or CLK?\
""",
        id="column no pin",
    ),
    pytest.param(
        "G_n A[1:0] CLK |",
        "Q0 A[1:0] CLK |",
        ("part-row", 27, 14),
        """\
9.yaml:27:14: error: 'Q0' is no input [part-row]
        columns: Q0 A[1:0] CLK | Q0 Q1 R[1:0]
                 ^^
  Columns left of | are inputs.\
""",
        id="column output",
    ),
    pytest.param(
        "| Q0 Q1",
        "| A0 Q1",
        ("part-row", 27, 31),
        """\
9.yaml:27:31: error: 'A0' is no output [part-row]
        columns: G_n A[1:0] CLK | A0 Q1 R[1:0]
                                  ^^
  Columns right of | are outputs or storage.\
""",
        id="column input",
    ),
    pytest.param(
        "| Q0 Q1",
        "| Q1 Q1",
        ("part-row", 27, 34),
        """\
9.yaml:27:34: error: 'Q1' stands here twice [part-row]
        columns: G_n A[1:0] CLK | Q1 Q1 R[1:0]
                                     ^^
  One column a pin on each side of |.\
""",
        id="column twice",
    ),
    pytest.param(
        "    table:",
        """\
    for: 1 2
    table:\
""",
        ("part-row", 27, 14),
        """\
9.yaml:27:14: error: '#' in the columns and 'for' go together [part-row]
        columns: G_n A[1:0] CLK | Q0 Q1 R[1:0]
                 ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  Write 'for: 1 2 3 4' for columns such as A#.\
""",
        id="for without #",
    ),
    pytest.param(
        "| Q0 Q1 R[1:0]",
        "| Q0 Q1 M[4]",
        ("part-row", 27, 37),
        """\
9.yaml:27:37: error: 'M' has no word 4 [part-row]
        columns: G_n A[1:0] CLK | Q0 Q1 M[4]
                                        ^^^^
  Its last is 3.\
""",
        id="rom word",
    ),
]


@pytest.mark.parametrize(("old", "new", "place", "text"), CASES)
def test_a_wrong_part_file_is_refused(
    old: str, new: str, place: tuple[str, int, int], text: str
) -> None:
    with pytest.raises(BadInput) as caught:
        read(changed(old, new))
    first = caught.value.diagnostics[0]
    assert (first.code, first.span.line, first.span.column) == place
    assert str(caught.value) == text
