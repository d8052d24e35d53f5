"""Capacitors that make edges slow (data books: slowest input edges; common practice)."""

import pytest

from tests.wiring.conftest import Check

BOARD = """\
parts:
  U1: 74LS{number}
  C1: {{part: capacitor, value: 100n}}
  C2: {{part: capacitor, value: {value}}}
  R1: {{part: resistor, value: 1k}}
  PRESS: push-button
nets:
  VCC: [U1.14, C1.1, R1.1{high}]
  GND: [U1.7, C1.2, C2.2, PRESS.1{low}]
  slow: [R1.2, C2.1, PRESS.2, {pin}]
  {out}
ports: {{{port}: out}}
"""


def board(number: str, pin: str, *, high: str, low: str, out: str, value: str = "1u") -> str:
    port, where = out.split(": ")
    return BOARD.format(
        number=number,
        pin=pin,
        high="".join(f", {p}" for p in high.split()),
        low="".join(f", {p}" for p in low.split()),
        out=f"{port}: [{where}]",
        port=port,
        value=value,
    )


FLIP_FLOP = {"high": "U1.PRE1_n", "out": "q: U1.Q1"}


@pytest.mark.parametrize(
    ("pin", "number", "others"),
    [("U1.CLK1", "U1.3", "U1.D1 U1.CLR1_n"), ("U1.D1", "U1.2", "U1.CLK1 U1.CLR1_n")],
)
def test_a_clock_or_data_pin_wants_fast_edges(
    check: Check, pin: str, number: str, others: str
) -> None:
    found = check(board("74", pin, low=others, **FLIP_FLOP))
    assert [f.pins for f in found if f.code == "edge-slow"] == [(number,)]


def test_a_clear_may_be_slow(check: Check) -> None:
    found = check(board("74", "U1.CLR1_n", low="U1.CLK1 U1.D1", **FLIP_FLOP))
    assert [f for f in found if f.code == "edge-slow"] == []


@pytest.mark.parametrize(("number", "count"), [("14", 0), ("04", 1)])
def test_a_schmitt_input_may_be_slow(check: Check, number: str, count: int) -> None:
    low = "U1.3 U1.5 U1.9 U1.11 U1.13"
    found = check(board(number, "U1.1", high="", low=low, out="y: U1.2"))
    assert len([f for f in found if f.code == "edge-slow"]) == count


@pytest.mark.parametrize(("value", "count"), [("100n", 1), ("47p", 0)])
def test_a_capacitor_on_an_output(check: Check, value: str, count: int) -> None:
    text = f"""\
parts:
  U1: 74LS04
  C1: {{part: capacitor, value: 100n}}
  C2: {{part: capacitor, value: {value}}}
nets:
  VCC: [U1.14, C1.1]
  GND: [U1.7, C1.2, C2.2, U1.3, U1.5, U1.9, U1.11, U1.13]
  a: [U1.1]
  y: [U1.2, C2.1]
ports: {{a: in, y: out}}
"""
    found = [f for f in check(text) if f.code == "edge-slow"]
    assert len(found) == count
    for finding in found:
        assert finding.message == (
            "C2 hangs on output U1.2 (Y1): it makes net 'y' slow, and takes the output's current "
            "at every edge"
        )
        assert (finding.pins, finding.span.line, finding.span.column) == (("U1.2", "C2.1"), 10, 13)
