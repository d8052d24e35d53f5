"""What is said about wrong `switches:` of part files.

There is no outside source for our own texts: they are held here as they were written, after each
caret was looked at and found under the thing that is wrong.
"""

import pytest

from breadproof.specs.reading.diagnostics import BadInput
from tests.catalogue.support import read

PART = """\
part: "9"
title: Analogue switch
does: analogue switch
package: DIP-6
families: [HC]
source: made up for this test
pins:
  1: Y passive
  2: Z passive
  3: E in enable
  4: S in select
  5: GND ground
  6: VCC supply
switches:
  - {joins: [Y, Z], when: "E & S"}
rows:
  - from: made up
    columns: E S Y | Z
    table:
      - H H a | a
      - L X X | Z
      - H L X | Z
"""
SWITCH = '  - {joins: [Y, Z], when: "E & S"}\n'

CASES = [
    pytest.param(
        SWITCH,
        '  Y: "E"\n',
        """\
9.yaml:15:3: error: 'switches' is to be a list [part-switch]
      Y: "E"
      ^
  Write '- {joins: [Y1, Z1], when: "E1"}'.\
""",
        id="no list",
    ),
    pytest.param(
        "joins: [Y, Z]",
        "joins: [Y]",
        """\
9.yaml:15:13: error: a switch joins two pins [part-switch]
      - {joins: [Y], when: "E & S"}
                ^
  Write '- {joins: [Y1, Z1], when: "E1"}'.\
""",
        id="one pin",
    ),
    pytest.param(
        "joins: [Y, Z]",
        "joins: [Y, Y]",
        """\
9.yaml:15:13: error: a switch joins two pins [part-switch]
      - {joins: [Y, Y], when: "E & S"}
                ^
  Write '- {joins: [Y1, Z1], when: "E1"}'.\
""",
        id="a pin with itself",
    ),
    pytest.param(
        "joins: [Y, Z]",
        "joins: [Y, S]",
        """\
9.yaml:15:17: error: 'S' is no passive pin [part-switch]
      - {joins: [Y, S], when: "E & S"}
                    ^
  The two sides of a switch are pins like '2: Y1 passive'.\
""",
        id="not passive",
    ),
    pytest.param(
        ', when: "E & S"',
        "",
        """\
9.yaml:15:5: error: a switch has no 'when' [part-field]
      - {joins: [Y, Z]}
        ^
  Write 'when: FORMULA'.\
""",
        id="never said when",
    ),
    pytest.param(
        '"E & S"',
        '"E & Y"',
        """\
9.yaml:15:32: error: 'Y' is no input of the part (it is 'passive') [part-name]
      - {joins: [Y, Z], when: "E & Y"}
                                   ^
  Put what several outputs share under 'inner'.\
""",
        id="closed by what it passes",
    ),
    pytest.param(
        SWITCH,
        SWITCH + '  - {joins: [Z, Y], when: "E"}\n',
        """\
9.yaml:16:5: error: 'Z' and 'Y' are joined twice [part-switch]
      - {joins: [Z, Y], when: "E"}
        ^
  first here: 9.yaml:15:5
      - {joins: [Y, Z], when: "E & S"}
        ^
  One switch a pair of pins: join the two conditions with |.\
""",
        id="twice",
    ),
    pytest.param(
        "when:",
        "if:",
        """\
9.yaml:15:5: error: a switch has no 'when' [part-field]
      - {joins: [Y, Z], if: "E & S"}
        ^
  Write 'when: FORMULA'.
9.yaml:15:21: error: a switch has no entry 'if' [part-key]
      - {joins: [Y, Z], if: "E & S"}
                        ^^
  It may have: joins, when.\
""",
        id="other key",
    ),
    pytest.param(
        "E S Y | Z",
        "E S Q | Z",
        """\
9.yaml:18:18: error: the part has no pin 'Q' [part-row]
        columns: E S Q | Z
                     ^
  D[7:0] stands for the pins D7 to D0.\
""",
        id="column of no pin",
    ),
]


@pytest.mark.parametrize(("old", "new", "text"), CASES)
def test_wrong_switches_are_refused(old: str, new: str, text: str) -> None:
    assert PART.count(old) == 1
    with pytest.raises(BadInput) as caught:
        read(PART.replace(old, new))
    assert str(caught.value) == text


def test_a_passive_pin_without_a_switch_is_no_column() -> None:
    """Timing pins are passive, too, and nobody can say what is seen there."""
    text = PART.replace("  4: S in select\n", "  4: RC passive\n").replace("E & S", "E")
    with pytest.raises(BadInput, match="'RC' is no input"):
        read(text.replace("E S Y | Z", "E RC Y | Z"))


def test_the_right_one_is_read() -> None:
    part = read(PART)
    (switch,) = part.switches
    assert switch.joins == ("Y", "Z")
    assert switch.when.text.value == "E & S"
    assert part.switch_pins == {"Y", "Z"}
