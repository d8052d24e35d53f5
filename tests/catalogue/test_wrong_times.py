"""What is said about wrong `times:` of part files.

There is no outside source for our own texts: they are held here as they were written, after each
caret was looked at and found under the thing that is wrong.
"""

import pytest

from breadproof.specs.reading.diagnostics import BadInput
from tests.catalogue.timesupport import WITH_TIMES, changed_times, read_with_times, times_in

CASES = [
    pytest.param(
        "  LS:\n",
        "  HC:\n",
        """\
9.yaml:32:3: error: the part is in no family 'HC' [part-time]
      HC:
      ^^
  It is in: LS.\
""",
        id="family that the part is not in",
    ),
    pytest.param(
        "  LS:\n",
        "  LS-:\n",
        """\
9.yaml:32:3: error: the part is in no family 'LS-' [part-time]
      LS-:
      ^^^
  Did you mean LS?\
""",
        id="dash without a grade",
    ),
    pytest.param(
        "      A* to Q0: plh",
        "      A* Q0: plh",
        """\
9.yaml:35:7: error: 'to' is to stand once between the pins [part-time]
          A* Q0: plh 15 phl 14.5
          ^^^^^
  Write A to Y.\
""",
        id="no to",
    ),
    pytest.param(
        "      A* to Q0: plh",
        "      A* to Q7: plh",
        """\
9.yaml:35:13: error: the part has no pin 'Q7' [part-time]
          A* to Q7: plh 15 phl 14.5
                ^^
  Its pins: A1, A0, G_n, GND, CLK, Q1, Q0, VCC.\
""",
        id="no such pin",
    ),
    pytest.param(
        "      A* to Q0: plh",
        "      B* to Q0: plh",
        """\
9.yaml:35:7: error: the part has no pin 'B*' [part-time]
          B* to Q0: plh 15 phl 14.5
          ^^
  Its pins: A1, A0, G_n, GND, CLK, Q1, Q0, VCC.\
""",
        id="no such pins",
    ),
    pytest.param(
        "      A* to Q0: plh",
        "      A[2:0] to Q0: plh",
        """\
9.yaml:35:7: error: the part has no pin 'A2' [part-time]
          A[2:0] to Q0: plh 15 phl 14.5
          ^^^^^^
  Its pins: A1, A0, G_n, GND, CLK, Q1, Q0, VCC.\
""",
        id="vector too wide",
    ),
    pytest.param(
        "      A* to Q0: plh",
        "      Q1 to Q0: plh",
        """\
9.yaml:35:7: error: 'Q1' is no input [part-time]
          Q1 to Q0: plh 15 phl 14.5
          ^^
  Write one of: A1, A0, G_n, CLK.\
""",
        id="from an output",
    ),
    pytest.param(
        "      A* to Q0: plh",
        "      A* to CLK: plh",
        """\
9.yaml:35:13: error: 'CLK' is no output [part-time]
          A* to CLK: plh 15 phl 14.5
                ^^^
  Write one of: Q1, Q0.\
""",
        id="to an input",
    ),
    pytest.param(
        "plh 15 phl 14.5",
        "plh 15 phl",
        """\
9.yaml:35:17: error: each delay is a word and a number [part-time]
          A* to Q0: plh 15 phl
                    ^^^^^^^^^^
  Words: plh, phl, pzh, pzl, phz, plz, pd, en, dis; each with its number: pd 15.\
""",
        id="word without number",
    ),
    pytest.param(
        "plh 15 phl 14.5",
        "plh 15 fall 14.5",
        """\
9.yaml:35:24: error: 'fall' is no delay [part-time]
          A* to Q0: plh 15 fall 14.5
                           ^^^^
  Words: plh, phl, pzh, pzl, phz, plz, pd, en, dis; each with its number: pd 15.\
""",
        id="no such delay",
    ),
    pytest.param(
        "plh 15 phl 14.5",
        "plh 15 phl 14.5ns",
        """\
9.yaml:35:28: error: '14.5ns' is no number of ns or MHz [part-time]
          A* to Q0: plh 15 phl 14.5ns
                               ^^^^^^
  Write digits, such as 25 or 7.5, without a unit.\
""",
        id="unit",
    ),
    pytest.param(
        "plh 15 phl 14.5",
        "plh 15 pd 14.5",
        """\
9.yaml:35:17: error: t_plh is given twice [part-time]
          A* to Q0: plh 15 pd 14.5
                    ^^^^^^^^^^^^^^
  Keep the longer.\
""",
        id="edge twice in a line",
    ),
    pytest.param(
        "plh 15 phl 14.5",
        "en 15",
        """\
9.yaml:35:17: error: 'Q0' is 'out' and has no enable or disable time [part-time]
          A* to Q0: en 15
                    ^^^^^
  Write plh and phl, or pd for both.\
""",
        id="enable of a push-pull output",
    ),
    pytest.param(
        "      CLK to Q1:",
        "      A0 to Q0 Q1:",
        """\
9.yaml:36:7: error: t_plh from 'A0' to 'Q0' is given twice [part-time]
          A0 to Q0 Q1: pd 27
          ^^^^^^^^^^^
  Keep the one that is worse for the builder.\
""",
        id="pair twice",
    ),
    pytest.param(
        "A# before CLK rise: 20",
        "A# before CLK: 20",
        """\
9.yaml:39:7: error: the edge is not named [part-time]
          A# before CLK: 20
          ^^^^^^^^^^^^^
  End with rise or fall: D before CLK rise.\
""",
        id="no edge",
    ),
    pytest.param(
        "A# before CLK rise: 20",
        "A# after CLK rise: 20",
        """\
9.yaml:39:7: error: 'before' is to stand once between the pins [part-time]
          A# after CLK rise: 20
          ^^^^^^^^^^^^^^^^^
  Write D before CLK rise.\
""",
        id="not before",
    ),
    pytest.param(
        "A# before CLK rise: 20",
        "A# A0 before CLK rise: 20",
        """\
9.yaml:39:7: error: the setup time of 'A0' is given twice [part-time]
          A# A0 before CLK rise: 20
          ^^^^^^^^^^^^^^^^^^^^^
  Keep the one that is worse for the builder.\
""",
        id="setup twice",
    ),
    pytest.param(
        "A# before CLK rise: 20",
        "A# before Q0 rise: 20",
        """\
9.yaml:39:17: error: 'Q0' is no input [part-time]
          A# before Q0 rise: 20
                    ^^
  Write one of: A1, A0, G_n, CLK.\
""",
        id="about an output",
    ),
    pytest.param(
        "A# before CLK rise: 20",
        "A# before CLK rise: -20",
        """\
9.yaml:39:27: error: '-20' is no number of ns or MHz [part-time]
          A# before CLK rise: -20
                              ^^^
  Write digits, such as 25 or 7.5, without a unit.\
""",
        id="negative",
    ),
    pytest.param(
        "A# before CLK rise: 20",
        "A# before Q# rise: 20",
        """\
9.yaml:39:17: error: 'Q0' is no input [part-time]
          A# before Q# rise: 20
                    ^^
  Write one of: A1, A0, G_n, CLK.\
""",
        id="# of an output",
    ),
    pytest.param(
        "CLK high low: 25",
        "CLK: 25",
        """\
9.yaml:43:7: error: a width is of a pin that is high or low [part-time]
          CLK: 25
          ^^^
  Write CLK high low: 20.\
""",
        id="width of no level",
    ),
    pytest.param(
        "CLK high low: 25",
        "CLK high high: 25",
        """\
9.yaml:43:7: error: the width of 'CLK' high is given twice [part-time]
          CLK high high: 25
          ^^^^^^^^^^^^^
  Keep the one that is worse for the builder.\
""",
        id="width twice",
    ),
    pytest.param(
        "      CLK: 25\n",
        "      Q0: 25\n",
        """\
9.yaml:46:7: error: 'Q0' is no input [part-time]
          Q0: 25
          ^^
  Write one of: A1, A0, G_n, CLK.\
""",
        id="clock at an output",
    ),
    pytest.param(
        "      CLK: 25\n",
        "      CLK: [25]\n",
        """\
9.yaml:46:7: error: an entry of 'clock' is one line [part-time]
          CLK: [25]
          ^^^
  Write: CLK: 25\
""",
        id="a list",
    ),
    pytest.param(
        "    setup:\n",
        "    set-up:\n",
        """\
9.yaml:38:5: error: 'times' of LS has no entry 'set-up' [part-key]
        set-up:
        ^^^^^^
  Did you mean setup?\
""",
        id="no such entry",
    ),
    pytest.param(
        "    source: made up for this test\n    delays",
        "    delays",
        """\
9.yaml:33:5: error: 'times' of LS has no 'source' [part-field]
        delays:
        ^
  Write 'source: …'.\
""",
        id="no source",
    ),
    pytest.param(
        "    clock:\n      CLK: 25\n",
        "    clock: 25\n",
        """\
9.yaml:45:12: error: 'clock' is to be a mapping [part-time]
        clock: 25
               ^^
  Write 'CLK: 25' lines.\
""",
        id="no mapping",
    ),
]


@pytest.mark.parametrize(("old", "new", "text"), CASES)
def test_wrong_times_are_refused(old: str, new: str, text: str) -> None:
    with pytest.raises(BadInput) as caught:
        times_in(changed_times(old, new))
    assert str(caught.value) == text


def test_numbers_must_be_the_same_all_over_a_line() -> None:
    text = WITH_TIMES.replace("G_n", "B1").replace("A# before", "A# B# before")
    with pytest.raises(BadInput) as caught:
        times_in(text)
    assert (
        str(caught.value)
        == """\
9.yaml:39:10: error: 'B#' runs over 1, the one before over 0, 1 [part-time]
          A# B# before CLK rise: 20
             ^^
  '#' is the same number in every name; write '*' for any number.\
"""
    )


def test_a_family_without_times_is_to_be_left_out() -> None:
    with pytest.raises(BadInput) as caught:
        times_in(WITH_TIMES[: WITH_TIMES.index("    delays:")])
    assert (
        str(caught.value)
        == """\
9.yaml:32:3: error: no time is given for LS [part-time]
      LS:
      ^^
  Leave the family out: what is not known is not there.\
"""
    )


def test_times_without_families() -> None:
    with pytest.raises(BadInput) as caught:
        times_in(WITH_TIMES[: WITH_TIMES.index("  LS:")])
    assert (
        str(caught.value)
        == """\
9.yaml:31:7: error: 'times' is to be a mapping by family [part-time]
    times:
          ^
  Write 'LS:' below it, and under that 'source:' and 'delays:'.\
"""
    )


def test_a_second_section_is_refused_when_the_part_is_read() -> None:
    with pytest.raises(BadInput) as caught:
        read_with_times(WITH_TIMES + "times: {LS: {source: a, clock: {CLK: 25}}}\n")
    assert "9.yaml:47:8: error: 'times' is to begin a line, once [part-time]" in str(caught.value)


def test_wrong_times_do_not_stop_a_part_from_being_read() -> None:
    """What needs no times does not read them."""
    part = read_with_times(changed_times("A* to Q0", "A* to Q7"))
    assert part.number == "9"
