"""Plain expressions are read the same by the quick way and by the grammar (lark, another program).

Compared are whole trees, with the stretches of text that messages point at.
"""

from collections.abc import Iterator
from random import Random

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import Formula, PartType
from breadproof.specs.formula import syntax as s
from breadproof.specs.formula.parse import _whole, plain
from breadproof.specs.formula.quick import quick
from breadproof.specs.reading.diagnostics import BadInput
from tests.formulas.expressions import Writer, vectors

SIGNS = [
    *(
        "a",
        "b",
        "U1.Y1",
        "3",
        "8'hFF",
        "'d3",
        "4 'b1",
        "$signed",
        "next",
        "always",
        "until",
        "rose",
    ),
    *"()[]{},:?!~-+&|^<>*/% @=\n_",
    *("~&", "~|", "~^", "^~", "||", "&&", "==", "!=", "===", "!==", "<=", ">=", "<<", ">>"),
    *("<<<", ">>>", "**", "+:", "-:", "->", "<->", "never", "before!", "1'bx", "0_1", "U1.15"),
]


def whole(text: str) -> s.Expr | None:
    """The tree by the grammar, or None if it is no formula."""
    try:
        return _whole(plain(text))
    except BadInput:
        return None


def formulas(part: PartType) -> Iterator[Formula]:
    for form in part.forms():
        for output in (*form.inner, *form.logic):
            yield output.level
            if output.when is not None:
                yield output.when
        for store in form.storage:
            for name in ("clock", "next", "open", "source", "clear", "preset"):
                found = getattr(store, name, None)
                if found is not None:
                    yield found


def shipped() -> list[str]:
    parts = [Catalogue().part(number) for number in Catalogue().numbers()]
    return sorted({formula.text.value for part in parts for formula in formulas(part)})


SHIPPED = shipped()


def test_every_formula_of_the_catalogue_goes_the_quick_way() -> None:
    """That is what makes loading a board quick, and all have the grammar's trees."""
    assert len(SHIPPED) > 500
    for text in SHIPPED:
        tree = quick(text)
        assert tree is not None, text
        assert tree == whole(text), text


@pytest.mark.parametrize("seed", range(6))
def test_random_expressions(seed: int) -> None:
    dice = Random(seed)
    writer = Writer(dice, vectors(dice))
    for _ in range(100):
        text = writer.expr(3)
        tree = quick(text)
        assert tree is not None or "$" in text, text
        assert tree is None or tree == whole(text), text


@pytest.mark.parametrize("seed", range(8))
def test_mistakes(seed: int) -> None:
    """Whatever is read the quick way is read by the grammar, and alike."""
    dice = Random(seed)
    read = 0
    for _ in range(1000):
        if dice.random() < 0.5:
            words = [dice.choice(SIGNS) for _ in range(dice.randint(1, 9))]
            text = dice.choice(("", " ")).join(words)
        else:
            signs = list(dice.choice(SHIPPED)[:60])
            for _ in range(dice.randint(1, 3)):
                place = dice.randrange(len(signs) + 1)
                if dice.random() < 0.4 and signs:
                    del signs[min(place, len(signs) - 1)]
                else:
                    signs.insert(place, dice.choice(SIGNS))
            text = "".join(signs)
        tree = quick(text)
        if tree is not None:
            read += 1
            assert tree == whole(text), text
    assert read > 50


@pytest.mark.parametrize(
    "text",
    ["always a", "a -> b", "a @(rose(c))", "next a", "a |", "1'bx", "3'd9", "a)", "$signed(a)", ""],
)
def test_what_is_no_plain_expression_is_left(text: str) -> None:
    assert quick(text) is None
