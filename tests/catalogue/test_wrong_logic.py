"""What is said about wrong part files: logic, names, storage.

There is no outside source for our own texts: they are held here as they were written, after each
caret was looked at and found under the thing that is wrong.
"""

import pytest

from breadproof.specs.reading.diagnostics import BadInput
from tests.catalogue.support import changed, read

CASES = [
    pytest.param(
        """\
  Q0: "A0 & E"
""",
        "",
        ("part-logic", 19, 3),
        """\
9.yaml:19:3: error: no logic drives: Q0 [part-logic]
      Q1: {level: "R[1]", when: E}
      ^
  Write one formula for each output under 'logic'.\
""",
        id="output without logic",
    ),
    pytest.param(
        """\
  Q0: "A0 & E"
""",
        """\
  Q0: "A0 & E"
  A1: "1"
""",
        ("part-logic", 20, 3),
        """\
9.yaml:20:3: error: 'A1' is no output [part-logic]
      A1: "1"
      ^^
  Outputs: Q1, Q0.\
""",
        id="logic for an input",
    ),
    pytest.param(
        """\
  Q0: "A0 & E"
""",
        """\
  Q0: "A0 & E"
  Q[1:0]: {level: "A[1:0]", when: E}
""",
        ("part-logic", 20, 3),
        """\
9.yaml:20:3: error: 'Q0' is driven twice [part-logic]
      Q[1:0]: {level: "A[1:0]", when: E}
      ^^^^^^
  first here: 9.yaml:19:3
      Q0: "A0 & E"
      ^^
  One formula an output: join the two.
9.yaml:21:3: error: 'Q1' is driven twice [part-logic]
      Q1: {level: "R[1]", when: E}
      ^^
  first here: 9.yaml:20:3
      Q[1:0]: {level: "A[1:0]", when: E}
      ^^^^^^
  One formula an output: join the two.\
""",
        id="driven twice",
    ),
    pytest.param(
        '{level: "R[1]", when: E}',
        '"R[1]"',
        ("part-logic", 20, 7),
        """\
9.yaml:20:7: error: 'Q1' is 'three-state' and has {level: …, when: …} [part-logic]
      Q1: "R[1]"
          ^^^^^^
  'when' is true while the output drives; only what can let go has one.\
""",
        id="no when",
    ),
    pytest.param(
        '"A0 & E"',
        "{level: A0, when: E}",
        ("part-logic", 19, 7),
        """\
9.yaml:19:7: error: 'Q0' is 'out' and has one formula [part-logic]
      Q0: {level: A0, when: E}
          ^
  'when' is true while the output drives; only what can let go has one.\
""",
        id="when on out",
    ),
    pytest.param(
        '"A0 & E"',
        '"A0 & B0 & E"',
        ("part-name", 19, 13),
        """\
9.yaml:19:13: error: 'B0' is neither a pin, nor inner, nor storage [part-name]
      Q0: "A0 & B0 & E"
                ^^
  There are A0, A1, CLK, E, GND, G_n, M, Q0, Q1, R, VCC; inner names stand above their use.\
""",
        id="unknown name",
    ),
    pytest.param(
        'next: "A[1:0]"',
        'next: "A[2:1]"',
        ("part-name", 22, 37),
        """\
9.yaml:22:37: error: 'A[2]', the pin 'A2' is neither a pin, nor inner, nor storage [part-name]
      R[1:0]: {clock: rose(CLK), next: "A[2:1]"}
                                        ^^^^^^
  There are A0, A1, CLK, E, GND, G_n, M, Q0, Q1, R, VCC; inner names stand above their use.\
""",
        id="vector beyond",
    ),
    pytest.param(
        '"A0 & E"',
        '"A[0] & E"',
        ("part-name", 19, 8),
        """\
9.yaml:19:8: error: 'A' is no storage [part-name]
      Q0: "A[0] & E"
           ^^^^
  The pin is A0.\
""",
        id="index of pins",
    ),
    pytest.param(
        '"A0 & E"',
        '"A0 & Q1"',
        ("part-name", 19, 13),
        """\
9.yaml:19:13: error: 'Q1' is no input of the part (it is 'three-state') [part-name]
      Q0: "A0 & Q1"
                ^^
  Put what several outputs share under 'inner'.\
""",
        id="reads an output",
    ),
    pytest.param(
        'level: "R[1]"',
        'level: "R[2]"',
        ("part-name", 20, 16),
        """\
9.yaml:20:16: error: 'R' has no bit 2 [part-name]
      Q1: {level: "R[2]", when: E}
                   ^^^^
  Its bits are [1:0].\
""",
        id="bits of storage",
    ),
    pytest.param(
        'level: "R[1]"',
        'level: "R[2:1]"',
        ("part-name", 20, 16),
        """\
9.yaml:20:16: error: 'R' has no bits [2:1] [part-name]
      Q1: {level: "R[2:1]", when: E}
                   ^^^^^^
  Its bits are [1:0], the most significant first.\
""",
        id="range of storage",
    ),
    pytest.param(
        'level: "R[1]"',
        'level: "M"',
        ("part-name", 20, 16),
        """\
9.yaml:20:16: error: the memory 'M' has no address [part-name]
      Q1: {level: "M", when: E}
                   ^
  Write M[…].\
""",
        id="memory bare",
    ),
    pytest.param(
        '"A0 & E"',
        '"always A0"',
        ("part-name", 19, 8),
        """\
9.yaml:19:8: error: only expressions can stand here [part-name]
      Q0: "always A0"
           ^^^^^^^^^
  A part is described by levels; an edge stands only in 'clock'.\
""",
        id="temporal",
    ),
    pytest.param(
        '"A0 & E"',
        '"rose(A0)"',
        ("part-name", 19, 8),
        """\
9.yaml:19:8: error: only expressions can stand here [part-name]
      Q0: "rose(A0)"
           ^^^^^^^^
  A part is described by levels; an edge stands only in 'clock'.\
""",
        id="call",
    ),
    pytest.param(
        '"A0 & E"',
        '"A0 & & E |"',
        ("formula-syntax", 19, 18),
        """\
9.yaml:19:18: error: the formula ends too early [formula-syntax]
      Q0: "A0 & & E |"
                     ^
  Close brackets, add operands.\
""",
        id="syntax",
    ),
    pytest.param(
        "rose(CLK)",
        "CLK",
        ("part-storage", 22, 19),
        """\
9.yaml:22:19: error: a clock is an edge [part-storage]
      R[1:0]: {clock: CLK, next: "A[1:0]"}
                      ^^^
  Write rose(CLK) or fell(CLK); a latch has 'open' and 'from' instead.\
""",
        id="level clock",
    ),
    pytest.param(
        ', next: "A[1:0]"',
        "",
        ("part-field", 22, 11),
        """\
9.yaml:22:11: error: 'R' has no 'next' [part-field]
      R[1:0]: {clock: rose(CLK)}
              ^
  Write 'next: FORMULA'.\
""",
        id="no next",
    ),
    pytest.param(
        "R[1:0]: {",
        "Q[1:0]: {",
        ("part-name", 20, 16),
        """\
9.yaml:20:16: error: 'R' is neither a pin, nor inner, nor storage [part-name]
      Q1: {level: "R[1]", when: E}
                   ^^^^
  There are A0, A1, CLK, E, GND, G_n, M, Q, Q0, Q1, VCC; inner names stand above their use.
9.yaml:22:11: error: 'Q' is the name of something else already [part-storage]
      Q[1:0]: {clock: rose(CLK), next: "A[1:0]"}
              ^
  Give storage a name of its own, such as R.\
""",
        id="storage named as pins",
    ),
    pytest.param(
        "R[1:0]: {",
        "R[0:1]: {",
        ("part-name", 20, 16),
        """\
9.yaml:20:16: error: 'R' is neither a pin, nor inner, nor storage [part-name]
      Q1: {level: "R[1]", when: E}
                   ^^^^
  There are A0, A1, CLK, E, GND, G_n, M, Q0, Q1, VCC; inner names stand above their use.
9.yaml:22:3: error: 'R[0:1]' is no name of storage [part-storage]
      R[0:1]: {clock: rose(CLK), next: "A[1:0]"}
      ^^^^^^
  Write R, or R[3:0] with at most 64 bits down to 0.\
""",
        id="storage up",
    ),
    pytest.param(
        '  E: "!G_n"',
        """\
  E: "!G_n"
  A1: "!G_n"\
""",
        ("part-logic", 18, 3),
        """\
9.yaml:18:3: error: 'A1' stands for something else already [part-logic]
      A1: "!G_n"
      ^^
  Give the inner signal a name of its own.\
""",
        id="inner taken",
    ),
    pytest.param(
        "words: 4",
        "words: 4k",
        ("part-storage", 24, 14),
        """\
9.yaml:24:14: error: '4k' is no number of words [part-storage]
      M: {words: 4k, bits: 2, address: "A[1:0]"}
                 ^^
  Write a number from 1 to 1,048,576, without separators.\
""",
        id="memory size",
    ),
    pytest.param(
        'address: "A[1:0]"',
        'address: "A[1:0]", write: G_n',
        ("part-storage", 24, 6),
        """\
9.yaml:24:6: error: 'M' has only one of 'write' and 'from' [part-storage]
      M: {words: 4, bits: 2, address: "A[1:0]", write: G_n}
         ^
  A memory that is written has both; a ROM has neither.\
""",
        id="write without from",
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
