"""Textbook machines, with the catalogue's chips and what any text on digital design says of them.

A rising edge of the clock is one step and its falling edge another, so that from a low clock the
n-th edge comes 2n - 1 steps later.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Textbook:
    """``facts`` maps a formula to the step in which it is broken (None: it holds)."""

    chips: str
    nets: dict[str, str]
    ports: str
    facts: dict[str, int | None]


Q = "{q3, q2, q1, q0}"
MACHINES = {
    # Twisted ring of n stages: 2n states, neighbours differ in one bit, so there is at most one
    # change of level along the register; the other 2^n - 2n states never lead into the cycle.
    "Johnson counter": Textbook(
        chips="U1:175",
        nets={
            "clk": "U1.CLK", "r": "U1.CLR_n", "q0": "U1.Q0 U1.D1", "q1": "U1.Q1 U1.D2",
            "q2": "U1.Q2 U1.D3", "q3": "U1.Q3", "n": "U1.Q3_n U1.D0",
        },
        ports="clk r",
        facts={
            "always (countones({q3 ^ q2, q2 ^ q1, q1 ^ q0}) <= 1)": 0,
            "always (!r -> always (countones({q3 ^ q2, q2 ^ q1, q1 ^ q0}) <= 1))": None,
            "countones({q3 ^ q2, q2 ^ q1, q1 ^ q0}) > 1 -> "
            "((countones({q3 ^ q2, q2 ^ q1, q1 ^ q0}) > 1) until !r)": None,
            f"(!clk && {Q} == 0 && r) -> always ({Q} != 15)": 7,  # four edges
            f"(!clk && {Q} == 0 && r) -> always ({Q} != 8)": 13,  # seven edges: the last state
        },
    ),
    "Johnson counter without a reset": Textbook(
        chips="U1:175",
        nets={
            "clk": "U1.CLK", "q0": "U1.Q0 U1.D1", "q1": "U1.Q1 U1.D2", "q2": "U1.Q2 U1.D3",
            "q3": "U1.Q3", "n": "U1.Q3_n U1.D0",
        },
        ports="clk",
        facts={
            f"(always ({Q} == 0 -> next[8] ({Q} == 0))) @(rose(clk))": None,
            f"(always ({Q} == 0 -> next[7] ({Q} == 0))) @(rose(clk))": 15,
            f"({Q} == 0 -> next (always ({Q} != 0))) @(rose(clk))": 17,  # sixteen steps later
            # the other eight states make a cycle of their own: 2 and 5 are in it
            f"(!clk && {Q} == 2) -> always ({Q} != 5)": 1,
            f"({Q} == 2) -> never ({Q} == 0)": None,
        },
    ),
    # x^4 + x^3 + 1 is primitive: the fifteen nonzero states make one cycle, zero stays alone.
    "LFSR": Textbook(
        chips="U1:175 U2:86",
        nets={
            "clk": "U1.CLK", "q0": "U1.Q0 U1.D1", "q1": "U1.Q1 U1.D2", "q2": "U1.Q2 U1.D3 U2.A1",
            "q3": "U1.Q3 U2.B1", "x": "U2.Y1 U1.D0",
        },
        ports="clk",
        facts={
            f"({Q} != 0) -> always ({Q} != 0)": None,
            f"({Q} == 0) -> always ({Q} == 0)": None,
            "always (q0 || q1 || q2 || q3)": 0,
            f"({Q} == 2 -> next (always ({Q} != 2))) @(rose(clk))": 31,  # fifteen edges later
            f"(!clk && {Q} == 1) -> always ({Q} != 2)": 1,
            # 1 2 4 9 3 6 13 10 5 11 7 15 14 12 8: fourteen edges to 8, eleven to 15
            f"(!clk && {Q} == 1) -> always ({Q} != 8)": 27,
            f"(!clk && {Q} == 1) -> always ({Q} != 15)": 21,
        },
    ),
    # One bit goes round: one-hot is kept, and after n clocks it is back.
    "ring counter": Textbook(
        chips="U1:175",
        nets={
            "clk": "U1.CLK", "q0": "U1.Q0 U1.D1", "q1": "U1.Q1 U1.D2", "q2": "U1.Q2 U1.D3",
            "q3": "U1.Q3 U1.D0",
        },
        ports="clk",
        facts={
            f"onehot({Q}) -> always onehot({Q})": None,
            f"!onehot({Q}) -> never onehot({Q})": None,
            f"({Q} == 2 -> next (always ({Q} != 2))) @(rose(clk))": 9,
            f"(always ({Q} == 1 -> next[4] ({Q} == 1))) @(rose(clk))": None,
            f"(always ({Q} == 1 -> next[3] ({Q} == 1))) @(rose(clk))": 7,
        },
    ),
    # A binary count b as b ^ (b >> 1): codes that follow each other differ in one bit.
    "Gray counter": Textbook(
        chips="U1:163 U2:86",
        nets={
            "clk": "U1.CLK", "VCC": "U1.ENP U1.ENT", "b0": "U1.Q0 U2.A1",
            "b1": "U1.Q1 U2.B1 U2.A2", "b2": "U1.Q2 U2.B2 U2.A3", "q3": "U1.Q3 U2.B3",
            "q0": "U2.Y1", "q1": "U2.Y2", "q2": "U2.Y3",
        },
        ports="clk",
        facts={
            f"always (rose(clk) -> countones({Q} ^ prev({Q})) == 1)": None,
            "always (rose(clk) -> countones({q3, b2, b1, b0} ^ prev({q3, b2, b1, b0})) == 1)": 1,
            f"always (!rose(clk) -> stable({Q}))": None,
            # the code of 15 is 8: fifteen edges from 0
            f"(!clk && {Q} == 0) -> always ({Q} != 8)": 29,
        },
    ),
    # Loads 0 when 9 (Q3 and Q0) is reached; from 10 to 15 it is back after two clocks at most.
    "decade counter": Textbook(
        chips="U1:163 U2:00",
        nets={
            "clk": "U1.CLK", "VCC": "U1.ENP U1.ENT", "q0": "U1.Q0 U2.A1", "q1": "U1.Q1",
            "q2": "U1.Q2", "q3": "U1.Q3 U2.B1", "l": "U2.Y1 U1.LD_n",
        },
        ports="clk",
        facts={
            f"({Q} <= 9) -> always ({Q} <= 9)": None,
            f"always ({Q} <= 9)": 0,
            f"({Q} <= 9) @(rose(clk))": 1,
            f"(next ({Q} <= 9)) @(rose(clk))": None,
            # what is not decimal is entered from 10, 12 or 14 only
            f"always ((rose(clk) && {Q} > 9) -> (prev({Q}) > 9 && !prev(q0)))": None,
            f"always ((rose(clk) && {Q} > 9) -> prev({Q}) == 10)": 1,
            f"(!clk && {Q} == 0) -> always ({Q} != 9)": 17,
            f"(always ({Q} == 0 -> next[10] ({Q} == 0))) @(rose(clk))": None,
        },
    ),
}  # fmt: skip
