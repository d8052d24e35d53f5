"""Examples of IEEE 1364-2005, clauses 3.5.1 and 5, and rows worked out from its rules by hand.

Examples marked "example" stand in the standard (numbers from memory); the others follow from the
rule named beside them.
"""

import re

import pytest

from breadproof.specs.formula.parse import parse
from breadproof.specs.machine.blast import WrongFormula
from tests.formulas.constants import Vector, bits

V = {
    "a": Vector(3, 0, 9),
    "b": Vector(3, 0, 8),
    "c": Vector(0, 0, 1),
    "d": Vector(5, 0, 0),
    "f": Vector(3, 0, 0xF),
    "g": Vector(5, 0, 0xA),
    "big": Vector(0, 31, 0x12345678),
    "little": Vector(31, 0, 0x12345678),
    "h": Vector(15, 0, 0xFFFF),
    "one": Vector(15, 0, 1),
}


def word(value: int, width: int) -> str:
    return f"{value & ((1 << width) - 1):0{width}b}"


@pytest.mark.parametrize(
    ("text", "width", "value"),
    [
        # 3.5.1, sized and signed constants: examples.
        ("4'b1001", 4, 9),
        ("5'D 3", 5, 3),
        ("8'd 6", 8, 6),
        ("-8'd 6", 8, -6),
        ("4'shf", 8, -1),
        ("-4'sd15", 4, 1),
        ("16'sd 1", 16, 1),
        ("27_195_000", 32, 27195000),
        ("16'b0011_0101_0001_1111", 16, 0x351F),
        ("32 'h 12ab_f001", 32, 0x12ABF001),
        # 5.1.5, division and remainder (table 5-6 and its examples).
        ("10 % 3", 32, 1),
        ("11 % 3", 32, 2),
        ("12 % 3", 32, 0),
        ("-10 % 3", 32, -1),
        ("11 % -3", 32, 2),
        ("-4'd12 % 3", 32, 1),
        ("7 / 2", 32, 3),
        ("-7 / 2", 32, -3),
        # 5.1.6, what signs and sizes make of a division: examples.
        ("-12 / 3", 32, -4),
        ("-'d 12 / 3", 32, 1431655761),
        ("-'sd 12 / 3", 32, -4),
        ("-4'sd 12 / 3", 32, 1),
        # 5.1.5, powers.
        ("2 ** 3", 32, 8),
        ("0 ** 0", 32, 1),
        ("2'd3 ** 2", 2, 1),
        # 5.1.7 and 5.1.8: one bit; with one unsigned operand the comparison is unsigned.
        ("8'd5 < 8'd6", 1, 1),
        ("-8'sd1 < 8'sd1", 1, 1),
        ("-8'sd1 < 8'd1", 1, 0),
        ("4'd3 >= 3", 1, 1),
        ("4'hf == 8'h0f", 1, 1),
        ("4'shf == 8'shff", 1, 1),
        ("4'shf == 8'hff", 1, 0),
        ("4'hf === 4'hf", 1, 1),
        ("4'hf !== 4'he", 1, 1),
        # 5.1.7, precedence: a < foo - 1 is a < (foo - 1); - (1 < foo) is not.
        ("4'd2 < 4'd4 - 4'd1", 1, 1),
        ("4'd4 - (1 < 4'd4)", 4, 3),
        # 5.1.9, logical operators look at the whole operand (alpha = 237, beta = 0: example).
        ("237 && 0", 1, 0),
        ("237 || 0", 1, 1),
        ("!237", 1, 0),
        ("!0", 1, 1),
        # 5.1.10, tables 5-11 to 5-15.
        ("4'b0011 & 4'b0101", 4, 0b0001),
        ("4'b0011 | 4'b0101", 4, 0b0111),
        ("4'b0011 ^ 4'b0101", 4, 0b0110),
        ("4'b0011 ^~ 4'b0101", 4, 0b1001),
        ("4'b0011 ~^ 4'b0101", 4, 0b1001),
        ("~4'b0011", 4, 0b1100),
        ("~4'b0011", 8, 0b11111100),
        # 5.1.12, shifts: examples.
        ("4'b0001 << 2", 4, 0b0100),
        ("4'sb1000 >>> 2", 4, 0b1110),
        ("4'b1000 >>> 2", 4, 0b0010),
        ("4'sb1000 >> 2", 4, 0b0010),
        ("4'b1000 << 4'd15", 4, 0),
        # 5.1.13, conditional: both sides take the wider width.
        ("1'b1 ? 4'd9 : 6'd0", 6, 9),
        ("1'b0 ? 4'd9 : 6'd33", 6, 33),
        # 5.1.14, concatenation and replication: unsigned, self-determined.
        ("{4'hf, 4'h0, 1'b1}", 9, 0b111100001),
        ("{4{2'b10}}", 8, 0xAA),
        ("{2'b01, {3{1'b1, 1'b0}}}", 8, 0b01101010),
        ("{4'shf} == 8'h0f", 1, 1),
        # 5.4.2, an example of expression bit-length: 001000.
        ("c ? (a & b) : d", 6, 0b001000),
        # 5.4.3, a*b is 6 bits, {a**b} 4 bits, a**b takes the 16 bits of the left: examples.
        ("f * g", 6, 0x16),
        ("{f ** 10}", 16, 1),
        ("f ** 10", 16, 0xAC61),
        # 5.4.1, the carry is lost unless something widens the sum: example.
        ("(h + one) >> 1", 16, 0),
        ("(h + one + 0) >> 1", 16, 0x8000),
        # 5.5.1, one unsigned operand makes the whole expression unsigned, selections always are.
        ("4'sb1000 + 8'sd0", 8, -8),
        ("4'sb1000 + 8'd0", 8, 8),
        ("$signed(4'b1100)", 8, -4),
        ("$unsigned(-4'sd4)", 8, 12),
        ("a[3:0] + 8'sd0", 8, 9),
        # 5.2.1, selections (the example's big_vect[0:31], little_vect[31:0]).
        ("big[0 +: 8]", 8, 0x12),
        ("big[15 -: 8]", 8, 0x34),
        ("little[0 +: 8]", 8, 0x78),
        ("little[15 -: 8]", 8, 0x56),
        ("little[31:28]", 4, 1),
        ("big[0:3]", 4, 1),
        ("little[3]", 1, 1),
        ("big[31]", 1, 0),
        # Table 5-4, precedence: unary, **, */%, +-, shifts, relations, equality, & ^ | && || ?:
        ("2 + 3 * 2 ** 2", 32, 14),
        ("1 + 1 << 2", 32, 8),
        ("1 | 2 & 0", 32, 1),
        ("1 ^ 1 & 0", 32, 1),
        ("4 & 6 == 6", 32, 0),
        ("1 == 2 < 3", 1, 1),
        ("0 && 0 || 1", 1, 1),
        ("1 || 0 ? 4'd5 : 4'd6", 4, 5),
        ("0 ? 4'd1 : 0 ? 4'd2 : 4'd3", 4, 3),
        ("10 - 3 - 2", 32, 5),
        ("-2 ** 2", 32, 4),
        ("~4'd0 >> 1", 4, 7),
    ],
)
def test_example_has_the_value_that_the_standard_gives(text: str, width: int, value: int) -> None:
    assert bits(text, width, V) == word(value, width)


@pytest.mark.parametrize(
    ("operand", "row"),
    [("4'b0000", "010101"), ("4'b1111", "101001"), ("4'b0110", "011001"), ("4'b1000", "011010")],
)
def test_reductions_are_those_of_table_5_17(operand: str, row: str) -> None:
    """Columns: & ~& | ~| ^ ~^."""
    found = "".join(bits(f"{op}{operand}") for op in ("&", "~&", "|", "~|", "^", "~^"))
    assert found == row


@pytest.mark.parametrize(
    ("text", "width"),
    [
        # Table 5-22, self-determined lengths.
        ("27", 32),
        ("4'd1 + 6'd1", 6),
        ("4'd1 << 6'd1", 4),
        ("4'd1 ** 2", 4),
        ("4'd1 == 6'd1", 1),
        ("4'd1 && 6'd1", 1),
        ("&6'd1", 1),
        ("~6'd1", 6),
        ("1'b1 ? 4'd1 : 7'd1", 7),
        ("{4'd1, 6'd1}", 10),
        ("{3{4'd1}}", 12),
        ("a + 1", 32),
        ("a + d", 6),
    ],
)
def test_expression_is_as_wide_as_table_5_22_says(text: str, width: int) -> None:
    assert len(bits(text, 0, V)) == width


@pytest.mark.parametrize(
    ("text", "place", "said"),
    [
        ("8'd6 / 0", "0", "the divisor may be zero"),
        ("8'd6 % (2'd2 - 2'd2)", "2'd2 - 2'd2", "the divisor may be zero"),
        ("{4'd1, 3}", "3", "a number without a width"),
        ("a[4]", "a[4]", "bit 4 is outside of [3:0]"),
        ("a[0:3]", "a[0:3]", "[0:3] is outside of [3:0]"),
        ("2 ** 65", "65", "exponent"),
        ("always a", "always a", "temporal operator"),
    ],
)
def test_documented_refusal_names_the_place(text: str, place: str, said: str) -> None:
    with pytest.raises(WrongFormula) as wrong:
        bits(text, 0, V)
    assert said in str(wrong.value)
    stretch = wrong.value.stretch
    assert place in text[stretch.start : stretch.end]
    assert len(text[stretch.start : stretch.end]) <= len(place) + 2  # brackets at most
    assert wrong.value.hint


@pytest.mark.parametrize(
    ("loose", "bracketed"),
    [
        # IEEE 1850-2010, table 2: always, then ->, then until, next, @, the expression operators.
        ("always a -> b until c", "always (a -> (b until c))"),
        ("next always a", "next (always a)"),
        ("a -> next[2] never b", "a -> (next[2] (never b))"),
        ("a || next b", "a || (next b)"),
        ("a && next b && c", "a && (next (b && c))"),
        ("always a -> next b", "always (a -> (next b))"),
        ("a -> b -> c", "a -> (b -> c)"),
        ("always a && b -> c || d", "always ((a && b) -> (c || d))"),
        ("next a until b", "(next a) until b"),
        ("next a @(c)", "next (a @(c))"),
        ("eventually! a && b", "eventually! (a && b)"),
    ],
)
def test_temporal_operators_bind_as_ieee_1850_says(loose: str, bracketed: str) -> None:
    assert shape(loose) == shape(bracketed)


def shape(text: str) -> str:
    """The tree without its places."""
    return re.sub(r"stretch=Stretch\(start=\d+, end=\d+\)", "", repr(parse(text)))
