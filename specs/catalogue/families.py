"""The limits of the logic families at 5 V: guaranteed values, never typical ones.

Currents are amperes and positive whatever their direction, voltages volts. Values marked "trade"
are those of the project's collection of trade numbers; the others are from memory of the
data books and say so. Where the parts of a class differ (the octal drivers of one family do), the
weakest of the class is given, so that a sum that fits here fits on every one.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """What an input asks for. ``ratio``: the thresholds go with the supply (CMOS levels)."""

    v_il: float
    v_ih: float
    i_il: float
    i_ih: float
    source: str
    ratio: bool = False

    def thresholds(self, supply: float) -> tuple[float, float]:
        """V_IL and V_IH at a supply voltage."""
        scale = supply / 5.0 if self.ratio else 1.0
        return self.v_il * scale, self.v_ih * scale


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """What an output gives: V_OL at I_OL and V_OH at I_OH, at the lowest supply.

    ``i_oh_max`` is the current an output may give with no promise of the level ``v_oh``.
    """

    v_ol: float
    v_oh: float
    i_ol: float
    i_oh: float
    i_oh_max: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """A logic family. ``bipolar``: an input that is connected to nothing reads high."""

    name: str
    bipolar: bool
    supply: tuple[float, float]
    inputs: Inputs
    output: Drive
    bus: Drive
    supply_source: str

    def drive(self, *, bus_driver: bool) -> Drive:
        """The limits of an ordinary output, or of one of the 24x/37x class."""
        return self.bus if bus_driver else self.output

    @property
    def v_il(self) -> float:
        """The highest level at 5 V that an input surely takes as low."""
        return self.inputs.v_il

    @property
    def v_ih(self) -> float:
        """The lowest level at 5 V that an input surely takes as high."""
        return self.inputs.v_ih

    @property
    def i_il(self) -> float:
        """What an input gives out at most while it is low."""
        return self.inputs.i_il

    @property
    def i_ih(self) -> float:
        """What an input takes at most while it is high."""
        return self.inputs.i_ih

    @property
    def v_ol(self) -> float:
        """The highest low level of an ordinary output, at ``i_ol``."""
        return self.output.v_ol

    @property
    def v_oh(self) -> float:
        """The lowest high level of an ordinary output, at ``i_oh``."""
        return self.output.v_oh

    @property
    def i_ol(self) -> float:
        """What an ordinary output takes while it is low."""
        return self.output.i_ol

    @property
    def i_oh(self) -> float:
        """What an ordinary output gives while it is high."""
        return self.output.i_oh


TRADE = "trade numbers"
MEMORY = "from memory of the data book"
BOTH = "trade numbers; the rest from memory of the data book"


def _ttl_inputs(i_il: float, i_ih: float, source: str) -> Inputs:
    return Inputs(v_il=0.8, v_ih=2.0, i_il=i_il, i_ih=i_ih, source=source)


def _drive(
    v_ol: float,
    v_oh: float,
    i_ol: float,
    i_oh: float,
    source: str,
    i_oh_max: float | None = None,
) -> Drive:
    most = i_oh if i_oh_max is None else i_oh_max
    return Drive(v_ol=v_ol, v_oh=v_oh, i_ol=i_ol, i_oh=i_oh, i_oh_max=most, source=source)


_CMOS_INPUTS = Inputs(v_il=1.5, v_ih=3.5, i_il=1e-6, i_ih=1e-6, source=TRADE, ratio=True)
_HC_OUTPUT = _drive(0.33, 3.84, 4e-3, 4e-3, TRADE + ", at 4.5 V")
_HC_BUS = _drive(0.33, 3.84, 6e-3, 6e-3, TRADE + ", at 4.5 V")
_AC_OUTPUT = _drive(0.44, 3.76, 24e-3, 24e-3, "trade numbers for 24 mA; levels " + MEMORY)

FAMILIES: dict[str, Family] = {
    family.name: family
    for family in (
        Family(
            name="TTL",
            bipolar=True,
            supply=(4.75, 5.25),
            supply_source=MEMORY,
            inputs=_ttl_inputs(1.6e-3, 40e-6, BOTH),
            output=_drive(0.4, 2.4, 16e-3, 0.4e-3, TRADE),
            bus=_drive(0.4, 2.4, 16e-3, 5.2e-3, MEMORY + ", three-state 125 and 173"),
        ),
        Family(
            name="S",
            bipolar=True,
            supply=(4.75, 5.25),
            supply_source=MEMORY,
            inputs=_ttl_inputs(2e-3, 50e-6, BOTH),
            output=_drive(0.5, 2.7, 20e-3, 1e-3, "trade numbers for the currents; " + MEMORY),
            bus=_drive(0.5, 2.4, 20e-3, 6.5e-3, MEMORY + ", the 374, weakest of the class"),
        ),
        Family(
            name="LS",
            bipolar=True,
            supply=(4.75, 5.25),
            supply_source=TRADE,
            inputs=_ttl_inputs(0.4e-3, 20e-6, TRADE),
            output=_drive(0.5, 2.7, 8e-3, 0.4e-3, TRADE),
            bus=_drive(0.5, 2.4, 24e-3, 3e-3, TRADE, i_oh_max=15e-3),
        ),
        Family(
            name="ALS",
            bipolar=True,
            supply=(4.5, 5.5),
            supply_source=TRADE,
            inputs=_ttl_inputs(0.1e-3, 20e-6, BOTH),
            output=_drive(0.5, 2.5, 8e-3, 0.4e-3, "trade numbers for the currents; " + MEMORY),
            bus=_drive(0.5, 2.4, 24e-3, 2.6e-3, MEMORY + ", the 374, weakest of the class"),
        ),
        Family(
            name="AS",
            bipolar=True,
            supply=(4.5, 5.5),
            supply_source=MEMORY,
            inputs=_ttl_inputs(0.5e-3, 20e-6, MEMORY),
            output=_drive(0.5, 2.5, 20e-3, 2e-3, MEMORY),
            bus=_drive(0.5, 2.4, 48e-3, 3e-3, MEMORY, i_oh_max=15e-3),
        ),
        Family(
            name="F",
            bipolar=True,
            supply=(4.5, 5.5),
            supply_source=TRADE,
            inputs=_ttl_inputs(0.6e-3, 20e-6, BOTH),
            output=_drive(0.5, 2.5, 20e-3, 1e-3, "trade numbers; V_OL " + MEMORY),
            bus=_drive(0.5, 2.4, 24e-3, 3e-3, MEMORY + ", the 374, weakest of the class"),
        ),
        Family(
            name="HC",
            bipolar=False,
            supply=(2.0, 6.0),
            supply_source=TRADE,
            inputs=_CMOS_INPUTS,
            output=_HC_OUTPUT,
            bus=_HC_BUS,
        ),
        Family(
            name="HCT",
            bipolar=False,
            supply=(4.5, 5.5),
            supply_source=TRADE,
            inputs=_ttl_inputs(1e-6, 1e-6, TRADE + "; input currents as HC"),
            output=_HC_OUTPUT,
            bus=_HC_BUS,
        ),
        Family(
            name="AC",
            bipolar=False,
            supply=(2.0, 6.0),
            supply_source=MEMORY,
            inputs=Inputs(v_il=1.5, v_ih=3.5, i_il=1e-6, i_ih=1e-6, source=BOTH, ratio=True),
            output=_AC_OUTPUT,
            bus=_AC_OUTPUT,
        ),
        Family(
            name="ACT",
            bipolar=False,
            supply=(4.5, 5.5),
            supply_source=MEMORY,
            inputs=_ttl_inputs(1e-6, 1e-6, BOTH),
            output=_AC_OUTPUT,
            bus=_AC_OUTPUT,
        ),
        Family(
            name="MOS",
            bipolar=False,
            supply=(4.5, 5.5),
            supply_source=MEMORY,
            inputs=Inputs(v_il=0.8, v_ih=2.2, i_il=10e-6, i_ih=10e-6, source=MEMORY),
            output=_drive(0.4, 2.4, 2.1e-3, 0.4e-3, MEMORY + ", weakest of 6116 and 28C16"),
            bus=_drive(0.4, 2.4, 2.1e-3, 0.4e-3, MEMORY + ", as the other outputs"),
        ),
    )
}
"""Families by name. MOS is that of 5 V memories with TTL levels, and of nothing else."""
