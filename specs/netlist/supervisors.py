"""Reset supervisors: chips that hold a reset from power-on until they let go.

A supervisor resets when power comes on, and lets go at a moment that the world chooses (its
time-out, at least one step); it never resets again while power stays, unless its manual reset is
low. From then on it holds until another such moment. Common practice of three-pin supervisors and
of four-pin ones with a manual reset. Dips of the supply are not modelled: power is on.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from breadproof.specs.catalogue.made import formula
from breadproof.specs.catalogue.part import (
    Output,
    PartType,
    PinKind,
    PinType,
    Register,
    Role,
)

MOMENT = "T"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reset:
    """The options of a supervisor in the board file."""

    open_drain: bool = False
    active_high: bool = False
    manual: bool = False


_formula = partial(formula, where=__file__)


def _let_go(name: str, edge: str, reset: Reset) -> Register:
    return Register(
        name=name,
        width=1,
        clock=_formula(MOMENT, shown=f"{edge}({MOMENT})"),
        rising=edge == "rose",
        next=_formula("1'b1"),
        clear=_formula("!MR_n") if reset.manual else None,
        preset=None,
        load=None,
    )


def supervisor_type(reset: Reset) -> PartType:
    """The part type of a supervisor with these options."""
    output = "RESET" if reset.active_high else "RESET_n"
    let_go = "UP | DOWN"
    return PartType(
        number="supervisor",
        form="-".join(
            ("open" if reset.open_drain else "push", "high" if reset.active_high else "low")
            + (("manual",) if reset.manual else ())
        ),
        title="reset supervisor",
        does="reset supervisor",
        package="",
        families=(),
        source="common practice",
        pins=tuple(_pins(reset, output)),
        logic=(
            Output(
                names=(output,),
                level=_formula(f"!({let_go})" if reset.active_high else let_go),
                when=None,
            ),
        ),
        storage=(
            _let_go("UP", "rose", reset),
            _let_go("DOWN", "fell", reset),
        ),
        powers_up=(("UP", 0), ("DOWN", 0)),
    )


def _pins(reset: Reset, output: str) -> list[PinType]:
    """The three pins in a row, or the four of one with a manual reset (common practice)."""
    pins = [
        PinType(number="1", name="GND", kind=PinKind.GROUND),
        PinType(
            number="2",
            name=output,
            kind=PinKind.OPEN_COLLECTOR if reset.open_drain else PinKind.OUT,
        ),
    ]
    if reset.manual:
        pins.append(
            PinType(number="3", name="MR_n", kind=PinKind.IN, role=Role.CLEAR, pulled_up=True)
        )
    pins.append(PinType(number=str(len(pins) + 1), name="VCC", kind=PinKind.SUPPLY))
    return [
        *pins,
        PinType(number=MOMENT, name=MOMENT, kind=PinKind.MOMENT, says="the supervisor lets go"),
    ]
