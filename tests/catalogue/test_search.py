"""Looking for parts in the trade's words (common practice)."""

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.search import search, words_of

PARTS = [Catalogue().part(number) for number in Catalogue().numbers()]


@pytest.mark.parametrize(
    ("question", "found", "not_found"),
    [
        ("octal three-state register", "374 574", "273 377 373 173"),
        ("octal tri-state flip-flops", "374 574", "273"),
        ("8 bit 3-state registers", "374 574", "173"),
        ("mux", "151 153 157 257", "138"),
        ("8-to-1 multiplexer", "151", "153 157"),
        ("8:1 data selector", "151", "157"),
        ("3 to 8 decoder", "138", "139"),
        ("demultiplexer", "138 139", "157"),
        ("SRAM", "6116 62256", "28C16"),
        ("32Kx8 static RAM", "62256", "6116 28C256"),
        ("32k by 8 memory", "62256 28C256", "6116"),
        ("EEPROMs", "28C16 28C64", "6116"),
        ("hex inverters", "04 14", "00 240"),
        ("NOT gate", "04", "00"),
        ("quad two-input NAND gates", "00 03", "10 02 08"),
        ("AND gate", "08 11 21", "00 32"),
        ("or gates", "32", "02 08"),
        ("xor", "86", "32"),
        ("exclusive-OR", "86", "32"),
        ("JK flip-flop", "73 107 109 112", "74"),
        ("D flip flop", "74 174 175 273", "109"),
        ("octal latch", "373 573", "374"),
        ("transparent latches", "373 573", "74"),
        ("bus driver", "240 244 541", "00"),
        ("octal buffer three-state", "240 244 541", "125 07"),
        ("open collector NAND", "03 38", "00"),
        ("open-drain nand", "03", "00"),
        ("transceiver", "245", "244"),
        ("bidirectional buffer", "245", "244"),
        ("one-shot", "423", "74"),
        ("up/down counter", "191 193", "161"),
        ("up-down BCD counter", "190 192", "191"),
        ("schmitt trigger inverter", "14", "04"),
        ("4-bit adder", "283", "181"),
        ("ALU", "181", "283"),
        ("shift register", "164 165 595", "374"),
        ("seven-segment driver", "4511", "139"),
        ("priority encoder", "148", "138"),
        ("count", "161 163", "157"),
        ("fifo", "40105", "670"),
        ("157", "157", "158"),
    ],
)
def test_words_of_the_trade(question: str, found: str, not_found: str) -> None:
    numbers = {part.number for part in search(PARTS, question).parts}
    assert set(found.split()) <= numbers
    assert not set(not_found.split()) & numbers


def test_the_nearest_have_the_rarer_words() -> None:
    answer = search(PARTS, "16-bit full adder")
    assert answer.parts == ()
    assert {part.number for part in answer.nearest} >= {"83", "283"}
    assert all("adder" in part.does for part in answer.nearest)
    assert answer.lacking == ("16-bit",)


def test_a_word_written_wrong() -> None:
    assert search(PARTS, "regster").meant == ("register",)
    assert search(PARTS, "qqq").meant == ()
    assert search(PARTS, "qqq").nearest == ()


def test_words_without_meaning_find_nothing() -> None:
    assert search(PARTS, "the with").parts == ()
    assert search([], "adder").nearest == ()


def test_both_sides_read_alike() -> None:
    """A part is found by its own title."""
    for part in PARTS[::12]:
        assert part in search(PARTS, f"{part.number} {part.title}").parts, part.number
        assert words_of(part.title)
