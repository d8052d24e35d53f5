"""What is said about wrong part files: entries and pins.

There is no outside source for our own texts: they are held here as they were written, after each
caret was looked at and found under the thing that is wrong.
"""

import pytest

from breadproof.specs.reading.diagnostics import BadInput
from tests.catalogue.support import changed, read

CASES = [
    pytest.param(
        "does: gate",
        "doe: gate",
        ("part-field", 1, 1),
        """\
9.yaml:1:1: error: the part has no 'does' [part-field]
    part: "9"
    ^
  Write 'does: …'.
9.yaml:3:1: error: the part file 9.yaml has no entry 'doe' [part-key]
    doe: gate
    ^^^
  Did you mean does?\
""",
        id="unknown entry",
    ),
    pytest.param(
        "families: [LS]",
        "families: [LX, LS]",
        ("part-field", 5, 12),
        """\
9.yaml:5:12: error: there is no family 'LX' [part-field]
    families: [LX, LS]
               ^^
  Known: TTL, S, LS, ALS, AS, F, HC, HCT, AC, ACT, AHC, AHCT, LVC, 4000B, MOS.\
""",
        id="unknown family",
    ),
    pytest.param(
        "source: made",
        """\
output-class: bus
source: made\
""",
        ("part-field", 6, 15),
        """\
9.yaml:6:15: error: there is no class of outputs 'bus' [part-field]
    output-class: bus
                  ^^^
  Known: ordinary, three-state, bus-output, bus-driver, buffer, pull-down-15, driver-15, \
driver-30.\
""",
        id="output class",
    ),
    pytest.param(
        "1: A1 in",
        "1: A1 inn",
        ("part-pin", 8, 9),
        """\
9.yaml:8:9: error: 'inn' is no kind of pin [part-pin]
      1: A1 inn
            ^^^
  Did you mean in?\
""",
        id="bad kind",
    ),
    pytest.param(
        "in enable",
        "in enabled",
        ("part-pin", 10, 13),
        """\
9.yaml:10:13: error: 'enabled' is no role of a pin [part-pin]
      3: G_n in enabled
                ^^^^^^^
  Did you mean enable?\
""",
        id="bad role",
    ),
    pytest.param(
        "Q0 out",
        "Q0 out enable",
        ("part-pin", 14, 13),
        """\
9.yaml:14:13: error: only an input has a role, this is 'out' [part-pin]
      7: Q0 out enable
                ^^^^^^
  Leave the role out.\
""",
        id="role of an output",
    ),
    pytest.param(
        "1: A1 in",
        "1: A1",
        ("part-pin", 8, 6),
        """\
9.yaml:8:6: error: a pin is NAME kind [role] [part-pin]
      1: A1
         ^^
  Write: 1: S in select\
""",
        id="pin without kind",
    ),
    pytest.param(
        "1: A1 in",
        "1: 1A in",
        ("part-pin", 8, 6),
        """\
9.yaml:8:6: error: '1A' cannot stand in a formula [part-pin]
      1: 1A in
         ^^
  A name begins with a letter: A11 for the book's 1A1.
9.yaml:22:37: error: 'A[1]', the pin 'A1' is neither a pin, nor inner, nor storage [part-name]
      R[1:0]: {clock: rose(CLK), next: "A[1:0]"}
                                        ^^^^^^
  There are 1A, A0, CLK, E, GND, G_n, M, Q0, Q1, R, VCC; inner names stand above their use.
9.yaml:24:36: error: 'A[1]', the pin 'A1' is neither a pin, nor inner, nor storage [part-name]
      M: {words: 4, bits: 2, address: "A[1:0]"}
                                       ^^^^^^
  There are 1A, A0, CLK, E, GND, G_n, M, Q0, Q1, R, VCC; inner names stand above their use.
9.yaml:27:18: error: the part has no pin 'A1' [part-row]
        columns: G_n A[1:0] CLK | Q0 Q1 R[1:0]
                     ^^^^^^
  D[7:0] stands for the pins D7 to D0.\
""",
        id="name begins with a digit",
    ),
    pytest.param(
        "2: A0 in",
        "2: A1 in",
        ("part-pin", 9, 6),
        """\
9.yaml:9:6: error: two pins are called 'A1' [part-pin]
      2: A1 in
         ^^^^^
  first here: 9.yaml:8:6
      1: A1 in
         ^^^^^
  Each pin has its own name.
9.yaml:19:8: error: 'A0' is neither a pin, nor inner, nor storage [part-name]
      Q0: "A0 & E"
           ^^
  There are A1, CLK, E, GND, G_n, M, Q0, Q1, R, VCC; inner names stand above their use.
9.yaml:22:37: error: 'A[0]', the pin 'A0' is neither a pin, nor inner, nor storage [part-name]
      R[1:0]: {clock: rose(CLK), next: "A[1:0]"}
                                        ^^^^^^
  There are A1, CLK, E, GND, G_n, M, Q0, Q1, R, VCC; inner names stand above their use.
9.yaml:24:36: error: 'A[0]', the pin 'A0' is neither a pin, nor inner, nor storage [part-name]
      M: {words: 4, bits: 2, address: "A[1:0]"}
                                       ^^^^^^
  There are A1, CLK, E, GND, G_n, M, Q0, Q1, R, VCC; inner names stand above their use.
9.yaml:27:18: error: the part has no pin 'A0' [part-row]
        columns: G_n A[1:0] CLK | Q0 Q1 R[1:0]
                     ^^^^^^
  D[7:0] stands for the pins D7 to D0.\
""",
        id="name twice",
    ),
    pytest.param(
        "8: VCC supply",
        "9: VCC supply",
        ("part-pin", 8, 3),
        """\
9.yaml:8:3: error: of the DIP-8 these pins are missing: 8 [part-pin]
      1: A1 in
      ^
  A pin without function is 'NC nc'.
9.yaml:15:3: error: a DIP-8 has no pin '9' [part-pin]
      9: VCC supply
      ^
  Its pins are 1 to 8.\
""",
        id="beyond the package",
    ),
    pytest.param(
        "4: GND ground",
        "4: NC nc",
        ("part-pin", 8, 3),
        """\
9.yaml:8:3: error: the part has no ground pin [part-pin]
      1: A1 in
      ^
  Add it.\
""",
        id="no ground",
    ),
    pytest.param(
        "DIP-8",
        "eight pins",
        ("part-pin", 8, 3),
        """\
9.yaml:8:3: error: 'eight pins' is no package [part-pin]
      1: A1 in
      ^
  Write DIP-16.\
""",
        id="package",
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
