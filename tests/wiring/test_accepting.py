"""Findings that the board file accepts. The texts are our own; each place was looked at."""

from pathlib import Path

import pytest

from breadproof.specs.load import load_netlist
from breadproof.specs.reading.diagnostics import BadInput
from breadproof.verify.wiring.registry import check_wiring

BOARD = """\
board: stage
parts:
  U1: 74LS04
  C1: {part: capacitor, value: 100n}
nets:
  VCC: [U1.14, C1.1]
  GND: [U1.7, C1.2, U1.3, U1.5, U1.9, U1.11]
  y: [U1.2, U1.4]
  z: [U1.12]
ports: {y: out, z: out}
"""


def told(tmp_path: Path, accept: str) -> list[tuple[str, str, str, bool]]:
    path = tmp_path / "board.yaml"
    path.write_text(BOARD + accept, "utf-8")
    return [
        (one.code, one.severity.value, one.accepted, one.fails)
        for one in check_wiring(load_netlist(path))
    ]


def test_without_it_all_stand(tmp_path: Path) -> None:
    assert [(code, weight, fails) for code, weight, _, fails in told(tmp_path, "")] == [
        ("input-open", "warning", False),
        ("input-open", "warning", False),
        ("outputs-joined", "error", True),
    ]


def test_what_is_accepted_is_told_and_weighs_nothing(tmp_path: Path) -> None:
    accept = """\
accept:
  - {code: outputs-joined, net: y, because: they are one gate twice}
  - {code: input-open, pin: U1.A6, because: high is meant}
"""
    assert told(tmp_path, accept) == [
        ("input-open", "warning", "", False),
        ("input-open", "warning", "high is meant", False),
        ("outputs-joined", "error", "they are one gate twice", False),
    ]


WRONG = {
    "no reason": (
        "accept: [{code: input-open, pin: U1.1}]\n",
        """\
board.yaml:11:10: error: what is accepted does not say 'because' [accept-malformed]
    accept: [{code: input-open, pin: U1.1}]
             ^
  Write '- {code: edge-slow, pin: U3.1, because: it has hysteresis}'.""",
    ),
    "no place": (
        "accept: {code: input-open, because: why not}\n",
        """\
board.yaml:11:9: error: what is accepted names one pin or one net [accept-malformed]
    accept: {code: input-open, because: why not}
            ^
  Write '- {code: edge-slow, pin: U3.1, because: it has hysteresis}'.""",
    ),
    "another key": (
        "accept: [{code: input-open, pins: U1.1, because: x}]\n",
        """\
board.yaml:11:29: error: an accepted finding has no 'pins' [key-unknown]
    accept: [{code: input-open, pins: U1.1, because: x}]
                                ^^^^
  Did you mean pin?""",
    ),
}


@pytest.mark.parametrize(("accept", "text"), WRONG.values(), ids=WRONG)
def test_what_is_said(tmp_path: Path, accept: str, text: str) -> None:
    with pytest.raises(BadInput) as caught:
        told(tmp_path, accept)
    assert str(caught.value).replace(f"{tmp_path}/", "") == text
