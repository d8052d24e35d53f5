"""The command `breadproof parts`. Pin-outs and functions are the data book's, from memory."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from breadproof import cli
from breadproof.specs.catalogue.catalogue import Catalogue
from tests.commands.own import BUFFER, folder

SELECTOR = """\
157  Quad 2-line to 1-line data selector

                +------\\__/------+
  (select) S -> |1             16| == VCC
          A1 -> |2             15| <- G_n (enable)
          B1 -> |3             14| <- A4
          Y1 <- |4             13| <- B4
          A2 -> |5             12| -> Y4
          B2 -> |6             11| <- A3
          Y2 <- |7             10| <- B3
         GND == |8              9| -> Y3
                +----------------+

  -> in;  <- out;  == supply and ground

function
  Y1 = !G_n & !S & A1 | !G_n & S & B1
  Y2 = !G_n & !S & A2 | !G_n & S & B2
  Y3 = !G_n & !S & A3 | !G_n & S & B3
  Y4 = !G_n & !S & A4 | !G_n & S & B4

"""


def parts(*words: str, capsys: pytest.CaptureFixture[str]) -> str:
    assert cli.main(["parts", *words]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


@pytest.mark.parametrize("printed", ["157", "74LS157", "74hc157", "SN74LS157N"])
def test_a_chip_is_drawn_whatever_is_printed_on_it(
    printed: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert parts(printed, capsys=capsys).startswith(SELECTOR)


def test_the_page_tells_what_is_known(capsys: pytest.CaptureFixture[str]) -> None:
    """Families, and where rows, times and the rest come from: as the part file says."""
    out = parts("157", capsys=capsys).removeprefix(SELECTOR)
    known = {line[:10].strip(): line[10:] for line in out.splitlines() if line[:1] != " "}
    assert list(known) == ["families", "rows", "times", "source", "left out"]
    assert known["families"] == (
        "74157, 74LS157, 74ALS157, 74AS157, 74F157, 74S157, 74HC157, 74HCT157, 74AC157, 74ACT157,"
    )
    assert known["rows"].startswith("5 rows, written from the source; run by the tests of this")
    assert "\n          5 rows: function table of the data book, from memory\n" in out
    assert "LS (data book, 5 V, 25" in " ".join(out.split())
    assert known["source"] == (
        "pin-out, logic diagram and function table of the data book, from memory"
    )
    assert known["left out"].startswith("levels only")


@pytest.mark.parametrize(
    ("number", "told"),
    [
        ("74", "no metastable levels"),
        ("74", "at power-up it may hold anything"),
        ("6116", "at power-up it may hold anything"),
        ("28C16", "programming and erasing"),
        ("03", "an open collector only pulls low"),
        ("423", "at any time, but not at once"),
    ],
)
def test_the_page_tells_what_the_model_leaves_out(
    number: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    out = " ".join(parts(number, capsys=capsys).partition("left out")[2].split())
    assert told in out
    assert told not in " ".join(parts("00", capsys=capsys).split())


def test_three_state_outputs_and_both_ways_have_arrows_of_their_own(
    capsys: pytest.CaptureFixture[str],
) -> None:
    buffer = parts("125", capsys=capsys)
    assert "             Y1 <z |3             12| <- A4\n" in buffer
    assert "            GND == |7              8| z> Y3\n" in buffer
    assert "  -> in;  <z out, three-state;  == supply and ground\n" in buffer
    assert "  Y1 = A1 while !G1_n\n" in buffer
    memory = parts("6116", capsys=capsys)
    assert "           IO0 <> |9             16| <> IO6\n" in memory
    assert "  (address) A4 -> |4             21| <- WE_n (write)\n" in memory
    assert (
        "  M: 2,048 words of 8 bits, addressed by A[10:0], written with IO[7:0] while "
        "!CS_n & !WE_n\n"
    ) in memory
    assert "families" not in memory


def test_storage_is_told_in_words(capsys: pytest.CaptureFixture[str]) -> None:
    flop = parts("74", capsys=capsys)
    assert (
        "  R1: register, on the rising edge of CLK1 takes D1\n"
        "      cleared while !CLR1_n\n"
        "      preset while !PRE1_n\n"
    ) in flop
    assert "  L[7:0]: latch, follows D[7:0] while LE\n" in parts("373", capsys=capsys)
    assert "loaded with " in parts("165", capsys=capsys)
    assert "read only: the board gives its contents" in parts("28C16", capsys=capsys)


def test_what_is_no_chip_is_shown_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert parts("spdt", capsys=capsys) == (
        "spdt  change-over switch\n"
        "\n"
        "    1\n"
        "    2  common\n"
        "    3\n"
        "\n"
        "source    common practice\n"
        "options   positions, makes-before-breaks\n"
    )
    assert parts("led-bar", capsys=capsys).endswith("options   ways, colour; drawn with 8\n")


def test_the_list_has_every_part_under_what_it_does(capsys: pytest.CaptureFixture[str]) -> None:
    out = parts(capsys=capsys)
    catalogue = Catalogue()
    lines = out.splitlines()
    for number in catalogue.numbers():
        part = catalogue.part(number)
        entry = lines.index(f"  {number:<18}{part.title}")
        heading = next(line for line in reversed(lines[:entry]) if not line.startswith(" "))
        assert heading == part.does
    headings = [line for line in lines if not line.startswith(" ")]
    assert headings[:-1] == sorted(headings[:-1], key=str.lower)
    assert "  push-button       push-button, closed while pressed" in lines


def test_words_look_for_parts(capsys: pytest.CaptureFixture[str]) -> None:
    out = parts("octal", "three-state", "register", capsys=capsys)
    lines = [line for line in out.splitlines() if line.startswith(" ")]
    assert "  374               Octal D-type flip-flop, three-state" in lines
    assert "  574               Octal D-type flip-flop, three-state" in lines
    assert "  273               Octal D-type flip-flop with clear" not in lines
    found = json.loads(parts("mux", "--json", capsys=capsys))["parts"]
    assert "157" in [part["number"] for part in found]
    assert "jumper" in parts("jumper", capsys=capsys)
    assert "supervisor" in parts("reset", "supervisor", capsys=capsys)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (
            ["pushbutton"],
            "Invalid value for WORD: no part is 'pushbutton'. Did you mean push-button?\n"
            "'breadproof parts' lists them all.",
        ),
        (
            ["regster"],
            "Invalid value for WORD: no part is 'regster'. Did you mean register?\n"
            "'breadproof parts' lists them all.",
        ),
        (
            ["8-bit", "adder"],
            "Invalid value for WORD: no part is '8-bit adder'.\n"
            "Nearest, without '8-bit':\n"
            "  83                4-bit binary full adder with fast carry\n"
            "  183               Dual carry-save full adder\n"
            "  283               4-bit binary full adder with fast carry\n"
            "'breadproof parts' lists them all.",
        ),
    ],
)
def test_what_is_not_there_is_the_caller_s_mistake(
    words: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["parts", *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.endswith(f"Error: {told}\n")


def test_a_number_that_is_not_known_can_be_begun(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["parts", "74LS1570"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    told = "Invalid value for NUMBER: there is no part '74LS1570' in the catalogue. Did you mean "
    assert f"Error: {told}" in err
    assert " 74LS157" in err
    assert err.endswith("'breadproof parts --start 74LS1570' begins a part file of your own.\n")


def test_json(capsys: pytest.CaptureFixture[str]) -> None:
    one = json.loads(parts("157", "--json", capsys=capsys))
    assert (one["schema"], one["number"], one["package"], one["rows"]) == (1, "157", "DIP-16", 5)
    assert one["pins"][0] == {"number": "1", "name": "S", "kind": "in", "role": "select"}
    assert one["pins"][3] == {"number": "4", "name": "Y1", "kind": "out", "role": None}
    assert one["function"][0] == "Y1 = !G_n & !S & A1 | !G_n & S & B1"
    every = json.loads(parts("--json", capsys=capsys))
    numbers = [part["number"] for part in every["parts"]]
    assert numbers[: len(Catalogue().numbers())] == list(Catalogue().numbers())


def test_a_folder_of_one_s_own_comes_first(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    hiding = BUFFER.replace("part: BUF1", 'part: "157"')
    own = folder(tmp_path / "own", BUF1=BUFFER) / "157.yaml"
    own.write_text(hiding, "utf-8")
    out = parts("BUF1", "--parts", str(own.parent), capsys=capsys)
    assert out.startswith("BUF1  One buffer\n")
    assert "  A -> |1              4| == VCC\n" in out
    assert "  Y = A\n" in out
    assert f" file {own.parent}/BUF1.yaml, your own " in " ".join(out.split())
    assert f"--check {own.parent}/BUF1.yaml' runs them" in " ".join(out.split())
    out = parts("74LS157", "--parts", str(own.parent), capsys=capsys)
    assert out.startswith("157  One buffer\n")
    assert "your own; it hides the 157 that ships" in " ".join(out.split())
    one = json.loads(parts("157", "--json", "--parts", str(own.parent), capsys=capsys))
    assert (one["file"], one["hides"]) == (str(own), True)
    assert json.loads(parts("157", "--json", capsys=capsys))["file"] is None
