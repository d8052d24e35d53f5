"""What a proof rests on, as a sentence."""

from __future__ import annotations

from dataclasses import replace

import pytest

from breadproof.verify.prove.grounds import Grounds
from breadproof.verify.report.groundtext import ground_text

NOTHING = Grounds(parts=(), pins=(), contents=(), assumptions=(), least=True)
FULL = Grounds(
    parts=("U3", "U4"),
    pins=(("U1.1", "low"), ("U1.2", "low"), ("U7.15", "low"), ("U5.9", "open"), ("U6.1", "high")),
    contents=("U9.M",),
    assumptions=("switches-still",),
    least=False,
)


@pytest.mark.parametrize(
    ("grounds", "text"),
    [
        (
            NOTHING,
            "rests on no part: it holds by what it says and how it is wired, "
            "whatever other parts do",
        ),
        (
            FULL,
            "rests on U1.[1, 2] and U7.15 being tied low, U6.1 being tied high, U5.9 being open "
            "and taken as high, the contents of U9, parts U3 and U4 and the assumption "
            "switches-still, whatever other parts do; perhaps less would do",
        ),
    ],
)
def test_text(grounds: Grounds, text: str) -> None:
    assert ground_text(grounds) == text


def test_contacts_that_bounce() -> None:
    grounds = replace(NOTHING, parts=("U1", "STORE/contact", "ROT/contact1", "ROT/contact2"))
    assert ground_text(grounds) == (
        "rests on part U1 and the contacts of STORE and ROT, whatever other parts do"
    )
