"""Pins of the kind wired-and in part files.

Source: README of the parts; a line that open collectors share is a wired AND (common practice).
"""

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.reading.diagnostics import BadInput
from breadproof.verify.report.pinout import dip
from tests.catalogue.support import changed, read

WIRED = changed("7: Q0 out", "7: Q0 wired-and").replace("L h3 ^ | H H h3", "L h3 ^ | Z H h3")


def test_it_is_read_and_pulls_low() -> None:
    kind = read(WIRED).pins[6].kind
    assert kind is PinKind.WIRED_AND
    assert (kind.reads, kind.drives, kind.sinks, kind.both_ways) == (True,) * 4
    other = PinKind.BIDIRECTIONAL
    assert (other.reads, other.drives, other.sinks, other.both_ways) == (True, True, False, True)


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ("L h3 ^ | Z H h3", "L h3 ^ | H H h3", 29, "'Q0' only pulls low"),
        ('"A0 & E"', "{level: A0, when: E}", 19, "'Q0' is 'wired-and' and has one formula"),
    ],
)
def test_what_it_cannot_do_is_refused(old: str, new: str, line: int, says: str) -> None:
    assert WIRED.count(old) == 1
    with pytest.raises(BadInput) as caught:
        read(WIRED.replace(old, new))
    (told,) = caught.value.diagnostics
    assert (told.span.line, told.message) == (line, says)


def test_it_is_drawn_with_a_mark_of_its_own() -> None:
    drawn = dip(Catalogue().part("639"))
    assert drawn[2].split() == ["A1", "oo", "|2", "19|", "<-", "G_n", "(enable)"]
    assert drawn[3].split() == ["A2", "oo", "|3", "18|", "<>", "B1"]
