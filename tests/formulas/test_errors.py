"""What is said about a text that is no formula: the whole message, with the caret's place.

Expected columns were counted by hand in the text.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from breadproof.specs.formula.parse import MAX_FORMULA, MAX_NESTING, parse
from breadproof.specs.reading.diagnostics import BadInput

_EARLY = "Close brackets, add operands."
_ARROW = "'a => b' is written a -> b; at least is >= ."
_MARK = "It is written with its mark: eventually! a."
_CALLED = (
    "'{}' is an operator; if a net is called so, name one of its pins here, such as U5.11, or call "
    "it otherwise."
)
_BEFORE = "Look just before this place for a missing operator, operand or bracket."


@pytest.mark.parametrize(
    ("text", "column", "marks", "message", "hint"),
    [
        ("a = b", 3, 1, "'=' does not belong in a formula", "Equality is written == ."),
        (
            "a # b",
            3,
            1,
            "'#' does not belong in a formula",
            "Names are letters, digits and _; operators are those of IEEE 1364 and IEEE 1850.",
        ),
        ("a &", 4, 1, "the formula ends too early", _EARLY),
        ("(a", 3, 1, "the formula ends too early", _EARLY),
        ("bus[3", 6, 1, "the formula ends too early", _EARLY),
        ("a ) b", 3, 1, "')' cannot stand here", _BEFORE),
        ("always clk b", 12, 1, "'b' cannot stand here", _BEFORE),
        ("a && sel sel2", 10, 4, "'sel2' cannot stand here", _BEFORE),
        ("{}", 2, 1, "'}' cannot stand here", _BEFORE),
        (
            "a == 4'd20",
            6,
            5,
            "4'd20 does not fit in 4 bits",
            "Give it more bits, or a smaller value.",
        ),
        (
            "a == 2'bx1",
            6,
            5,
            "x and z are no levels of a wire",
            "A formula speaks of 0 and 1; use floats(net) or fights(net) for the rest.",
        ),
        ("0'd1 == a", 1, 4, "a width of 0 bits", "Widths are 1 to 4096 bits."),
        ("a == 99999999999", 6, 11, "99999999999 does not fit in 32 bits", "Write 40'd123… ."),
        # As other languages have it, and as IEEE 1364 and 1850 do.
        ("a => b", 3, 1, "'=' does not belong in a formula", _ARROW),
        ("a =< b", 3, 1, "'=' does not belong in a formula", "Equality is written == ."),
        ("always (rose(next) -> a)", 18, 1, "')' cannot stand here", _CALLED.format("next")),
        ("a and b", 3, 3, "'and' cannot stand here", "'a and b' is written a && b."),
        ("not a", 5, 1, "'a' cannot stand here", "'not a' is written !a."),
        ("if a then b", 4, 1, "'a' cannot stand here", "'if a then b' is written a -> b."),
        ("eventually a", 12, 1, "'a' cannot stand here", _MARK),
        ("q == 8hFF", 7, 3, "'hFF' cannot stand here", "A number with a width is written 8'hFF."),
        ("q == 0x1f", 7, 3, "'x1f' cannot stand here", "A number with a width is written 8'h1f."),
        ("a == ) b", 6, 1, "')' cannot stand here", _BEFORE),
        ("next[99] a", 6, 2, "next[99] looks too far", "At most next[64]."),
    ],
)
def test_message_has_the_place_the_caret_and_the_way_out(
    text: str, column: int, marks: int, message: str, hint: str
) -> None:
    with pytest.raises(BadInput) as bad:
        parse(text)
    assert str(bad.value) == "\n".join(
        [
            f"<formula>:1:{column}: error: {message} [formula-syntax]",
            f"    {text}",
            "    " + " " * (column - 1) + "^" * marks,
            f"  {hint}",
        ]
    )


def test_error_on_the_second_line_shows_that_line() -> None:
    with pytest.raises(BadInput) as bad:
        parse("a\n&& = b")
    (only,) = bad.value.diagnostics
    assert (only.span.line, only.span.column, only.span.text) == (2, 4, "&& = b")


@pytest.mark.parametrize("text", ["", "  ", "\n"])
def test_empty_formula_is_called_empty(text: str) -> None:
    with pytest.raises(BadInput, match="the formula is empty"):
        parse(text)


@pytest.mark.parametrize(
    "text",
    [
        "(" * (MAX_NESTING + 1) + "a" + ")" * (MAX_NESTING + 1),
        "a" * (MAX_FORMULA + 2),
        " + ".join(["a"] * (MAX_FORMULA // 4 + 2)),
        "!" * 19_000 + "a",
    ],
    ids=["nested", "long name", "long sum", "long chain"],
)
def test_formula_that_is_too_deep_or_too_long_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match="too deep"):
        parse(text)


@given(st.text("ab01'hd[](){}!&|^~<>=+-*?:.@ \n_xnext", max_size=30))
def test_any_text_is_a_formula_or_a_diagnostic_with_a_place_inside_it(text: str) -> None:
    try:
        parse(text)
    except BadInput as bad:
        lines = text.split("\n")
        for diagnostic in bad.diagnostics:
            assert 1 <= diagnostic.span.line <= len(lines)
            assert 1 <= diagnostic.span.column <= len(lines[diagnostic.span.line - 1]) + 1
            assert diagnostic.message
