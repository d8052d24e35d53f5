"""What is said about wrong variants, moments, flags of pins and starting content.

There is no outside source for our own texts: they are held here as they were written, after each
caret was looked at and found under the thing that is wrong.
"""

import pytest

from breadproof.specs.reading.diagnostics import BadInput
from tests.catalogue.support import changed, read

CASES = [
    pytest.param(
        "source: made",
        "variants: [{families: [HC], title: Other}]\nsource: made",
        ("part-field", 6, 24),
        """\
9.yaml:6:24: error: 'HC' is none of the part's families [part-field]
    variants: [{families: [HC], title: Other}]
                           ^^
  They are LS; add it to them.\
""",
        id="variant of another family",
    ),
    pytest.param(
        "source: made",
        "variants: [{families: [LS], title: A}, {families: [LS], title: B}]\nsource: made",
        ("part-field", 6, 52),
        """\
9.yaml:6:52: error: 'LS' is in two variants [part-field]
    variants: [{families: [LS], title: A}, {families: [LS], title: B}]
                                                       ^^
  first here: 9.yaml:6:24
    variants: [{families: [LS], title: A}, {families: [LS], title: B}]
                           ^^
  A family is in one of them.\
""",
        id="two variants of one family",
    ),
    pytest.param(
        "source: made",
        "variants: {families: [LS]}\nsource: made",
        ("part-field", 6, 11),
        """\
9.yaml:6:11: error: 'variants' is to be a list [part-field]
    variants: {families: [LS]}
              ^
  Write '- families: [HC]' and, below it, the keys that differ.\
""",
        id="variants that are no list",
    ),
    pytest.param(
        "source: made",
        """\
variants:
  - families: [LS]
    logic: {Q0: "!A0 & E", Q1: {level: "R[5]", when: E}}
source: made\
""",
        ("part-name", 8, 41),
        """\
9.yaml:8:41: error: 'R' has no bit 5 [part-name]
        logic: {Q0: "!A0 & E", Q1: {level: "R[5]", when: E}}
                                            ^^^^
  Its bits are [1:0].\
""",
        id="wrong logic of a variant",
    ),
    pytest.param(
        "source: made",
        'moments: {A1: "something"}\nsource: made',
        ("part-pin", 6, 11),
        """\
9.yaml:6:11: error: a moment cannot be called 'A1' [part-pin]
    moments: {A1: "something"}
              ^^
  Give it a name of its own that can stand in a formula, such as T1.\
""",
        id="moment with a pin's name",
    ),
    pytest.param(
        "source: made",
        "moments: {T: [x]}\nsource: made",
        ("part-field", 6, 14),
        """\
9.yaml:6:14: error: 'T' is to tell what happens then [part-field]
    moments: {T: [x]}
                 ^
  Write: T1: "the pulse of the first half ends".\
""",
        id="moment that tells nothing",
    ),
    pytest.param(
        "7: Q0 out",
        "7: Q0 out pulled-up",
        ("part-pin", 14, 6),
        """\
9.yaml:14:6: error: only an input is 'pulled-up', this is 'out' [part-pin]
      7: Q0 out pulled-up
         ^^^^^^^^^^^^^^^^
  Leave the word out.\
""",
        id="output with a resistor",
    ),
    pytest.param(
        "  - from: made up\n",
        "  - from: made up\n    start: {S: h0}\n",
        ("part-row", 27, 13),
        """\
9.yaml:27:13: error: there is no storage 'S' [part-row]
        start: {S: h0}
                ^
  Name storage of this part.\
""",
        id="start of no storage",
    ),
    pytest.param(
        "  - from: made up\n",
        "  - from: made up\n    start: {R: h7}\n",
        ("part-row", 27, 16),
        """\
9.yaml:27:16: error: 'h7' does not fit in 2 bits [part-row]
        start: {R: h7}
                   ^^
  The largest is h3.\
""",
        id="start that does not fit",
    ),
    pytest.param(
        "  - from: made up\n",
        "  - from: made up\n    start: {R: X}\n",
        ("part-row", 27, 16),
        """\
9.yaml:27:16: error: storage starts with a number [part-row]
        start: {R: X}
                   ^
  Write h7F, d10, H or L.\
""",
        id="start with anything",
    ),
]


@pytest.mark.parametrize(("old", "new", "place", "text"), CASES)
def test_what_is_said(old: str, new: str, place: tuple[str, int, int], text: str) -> None:
    with pytest.raises(BadInput) as caught:
        read(changed(old, new))
    first = caught.value.diagnostics[0]
    assert (first.code, first.span.line, first.span.column) == place
    assert str(caught.value) == text


def test_a_variant_replaces_what_it_names() -> None:
    """Whole keys, and nothing else; the families are told apart."""
    text = changed("families: [LS]", "families: [LS, HC, F]")
    part = read(text + "variants:\n  - {families: [HC], title: Other, source: another book}\n")
    (variant,) = part.variants
    assert (variant.title, variant.source, variant.form) == ("Other", "another book", "HC")
    assert (variant.pins, variant.logic, variant.rows) == (part.pins, part.logic, part.rows)
    assert part.in_family("HC") is variant
    assert part.in_family("F") is part
    assert [form.families for form in part.forms()] == [("LS", "F"), ("HC",)]
    assert [form.key for form in part.forms()] == ["9", "9@HC"]
