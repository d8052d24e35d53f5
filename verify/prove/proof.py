"""What proves a property, as data: enough for anyone to ask the closing questions again.

A proof is an invariant and an induction. The clauses of the invariant hold at every quiet moment of
every run; from moments that meet them no ``steps`` steps lead to a violation for the first time.
`verify/exchange/evidence.py` writes the questions that confirm it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from breadproof.verify.prove.tracked import Tracked

Clause = tuple[tuple[str, int], ...]
"""(name of a bit, level), at least one of which is so at every quiet moment: ``U3.R[2]`` for
storage, ``control CLK[0]``, ``floating U3.5[0]``, ``loop net[0]``, and ``remembered prev[4]`` for
what the formulas' 4th memory hands on to the next step."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Falling:
    """Why one strong operator does not wait for ever: what falls while it waits.

    ``ranks`` are whole numbers, one a state of the `Ranking`. No step in which the operator waits
    leads to a higher rank. Where it stays at rank r, strong assumption ``counts_on[r]`` (by its
    place among all that the assumptions wait for) still waits in that step; -1: it never stays.
    """

    ranks: tuple[int, ...]
    counts_on: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranking:
    """Why strong operators do not wait for ever: all ``states`` of the ``bits`` that decide.

    Each state is a text of 0 and 1, one a bit. Runs begin in them, and no step leaves them.
    ``falling`` has one entry for each strong operator of the formula.
    """

    bits: tuple[str, ...]
    states: tuple[str, ...]
    falling: tuple[Falling, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """Why a property is violated at no moment of any run.

    ``kind`` is "step" if no step from any quiet moment violates it, whatever was before;
    "induction" if no ``steps`` steps from any moment do that violate it in none before the last;
    "invariant" if no step from a moment that meets the clauses does. In each of them every moment
    meets ``clauses``, which is part of the proof. ``apart`` are pairs of moments, counted from 0 to
    ``steps`` - 1, that may be taken to be in different states: a shortest run to a violation is in
    no state twice. With ``words`` an "invariant" is about the board with tracked words, the bits of
    which its clauses name too, and about violations that count (see `tracked`). All this is about
    what a finite run can break; with a ``ranking`` what the formula waits for comes as well.
    """

    kind: Literal["step", "induction", "invariant"]
    steps: int = 1
    clauses: tuple[Clause, ...] = ()
    apart: tuple[tuple[int, int], ...] = ()
    words: tuple[Tracked, ...] = ()
    ranking: Ranking | None = None
