"""Limits of the CMOS families: HC to LVC, the 4000 series, and 5 V memories (MOS)."""

from __future__ import annotations

from dataclasses import replace

from breadproof.specs.catalogue.limits import (
    Drive,
    Family,
    Inputs,
    Light,
    OutputClass,
    Quiescent,
    Sink,
)

TRADE = "trade numbers"
MEMORY = "from memory of the data book"
JESD7 = "JEDEC JESD7-A, from memory"
JESD13 = "JEDEC standard 13-B, from memory"

MA, UA = 1e-3, 1e-6

_HC_POINTS = ((2.0, 0.5, 1.5), (4.5, 1.35, 3.15), (6.0, 1.8, 4.2))
_HC_SCHMITT = ((2.0, 0.3, 1.5), (3.0, 0.5, 2.15), (4.5, 0.9, 3.15), (6.0, 1.2, 4.2))
_AC_POINTS = ((3.0, 0.9, 2.1), (4.5, 1.35, 3.15), (5.5, 1.65, 3.85))
_AHC_POINTS = ((2.0, 0.5, 1.5), (3.0, 0.9, 2.1), (5.5, 1.65, 3.85))
_LVC_POINTS = ((1.65, 0.57, 1.08), (2.3, 0.7, 1.7), (2.7, 0.8, 2.0), (3.6, 0.8, 2.0))
_4000_POINTS = ((5.0, 1.5, 3.5), (10.0, 3.0, 7.0), (15.0, 4.0, 11.0))
_4000_SCHMITT = ((5.0, 0.7, 4.3), (10.0, 1.4, 8.6), (15.0, 2.1, 12.9))


def _cmos(
    points: tuple[tuple[float, float, float], ...],
    current: float,
    source: str,
    at_nominal: tuple[float, float] = (1.5, 3.5),
    **more: float,
) -> Inputs:
    """Inputs whose thresholds go with the supply."""
    v_il, v_ih = at_nominal
    return Inputs(
        v_il=v_il, v_ih=v_ih, i_il=current, i_ih=current, source=source, points=points, **more
    )


def _ttl_levels(current: float, source: str, v_il: float = 0.8, v_ih: float = 2.0) -> Inputs:
    return Inputs(v_il=v_il, v_ih=v_ih, i_il=current, i_ih=current, source=source)


def _drive(
    v_ol: float,
    v_oh: float,
    current: float,
    source: str,
    light: Light,
    at: float = 4.5,
) -> Drive:
    return Drive(
        v_ol=v_ol,
        v_oh=v_oh,
        i_ol=current,
        i_oh=current,
        i_oh_max=current,
        source=f"{source}, at {at:g} V",
        at=at,
        light=light,
    )


def _open_drain(drive: Drive, off: float, bears: float | None, which: str) -> Sink:
    """An open-drain output takes as much as a push-pull one of its family (data books)."""
    return Sink(v_ol=drive.v_ol, i_ol=drive.i_ol, off=off, bears=bears, source=f"{MEMORY}, {which}")


_HC_REST = Quiescent(
    gates=20 * UA, flip_flops=40 * UA, larger=80 * UA, source=f"{JESD7}, at 6 V and 85 degrees"
)
_HC_LIGHT = Light(current=20 * UA, v_ol=0.1, v_oh=4.4, source=f"{JESD7}, at 4.5 V")
_HC_GATE = _drive(0.33, 3.84, 4 * MA, TRADE, _HC_LIGHT)
_HC_OUTPUTS: tuple[tuple[OutputClass, Drive], ...] = (
    ("ordinary", _HC_GATE),
    ("three-state", _drive(0.33, 3.84, 6 * MA, TRADE, _HC_LIGHT)),
)
_HC_SINKS: tuple[tuple[OutputClass, Sink], ...] = (
    ("ordinary", _open_drain(_HC_GATE, 5 * UA, None, "03")),
)


def _hc() -> Family:
    inputs = _cmos(_HC_POINTS, 1 * UA, f"{TRADE}; other supplies: {JESD7}")
    return Family(
        name="HC",
        bipolar=False,
        supply=(2.0, 6.0),
        supply_source=TRADE,
        inputs=inputs,
        schmitt=replace(
            inputs,
            v_il=1.0,
            v_ih=3.5,
            points=_HC_SCHMITT,
            source=f"{MEMORY}, 14 and 132; the 14 compared with copies",
        ),
        outputs=_HC_OUTPUTS,
        sinks=_HC_SINKS,
        i_oz=5 * UA,
        quiescent=_HC_REST,
    )


def _hct() -> Family:
    inputs = _ttl_levels(1 * UA, TRADE + "; input currents as HC")
    return Family(
        name="HCT",
        bipolar=False,
        supply=(4.5, 5.5),
        supply_source=TRADE,
        inputs=inputs,
        schmitt=replace(inputs, v_il=0.5, v_ih=2.1, source=f"{MEMORY}, 14 and 132"),
        outputs=_HC_OUTPUTS,
        sinks=_HC_SINKS,
        i_oz=5 * UA,
        quiescent=replace(_HC_REST, source=f"{JESD7}; inputs at the rails, a TTL high adds to it"),
    )


_AC_SOURCE = "trade numbers for 24 mA; levels " + MEMORY
_AC_LIGHT = Light(current=50 * UA, v_ol=0.1, v_oh=4.4, source=f"{MEMORY}, at 4.5 V")
_AC_GATE = _drive(0.44, 3.76, 24 * MA, _AC_SOURCE, _AC_LIGHT)
_AC_OUTPUTS: tuple[tuple[OutputClass, Drive], ...] = (
    ("ordinary", _AC_GATE),
    ("three-state", replace(_AC_GATE)),
)
_AC_SINKS: tuple[tuple[OutputClass, Sink], ...] = (
    ("ordinary", _open_drain(_AC_GATE, 5 * UA, None, "05")),
)
_AC_REST = Quiescent(gates=40 * UA, flip_flops=40 * UA, larger=80 * UA, source=MEMORY)


def _ac() -> Family:
    inputs = _cmos(_AC_POINTS, 1 * UA, "trade numbers for V_IH; the rest " + MEMORY)
    return Family(
        name="AC",
        bipolar=False,
        supply=(2.0, 6.0),
        supply_source=MEMORY,
        inputs=inputs,
        schmitt=replace(
            inputs,
            v_il=1.0,
            v_ih=3.6,
            points=((3.0, 0.5, 2.2), (4.5, 0.9, 3.2), (5.5, 1.1, 3.9)),
            source=f"{MEMORY}, 14",
        ),
        outputs=_AC_OUTPUTS,
        sinks=_AC_SINKS,
        i_oz=5 * UA,
        quiescent=_AC_REST,
    )


def _act() -> Family:
    inputs = _ttl_levels(1 * UA, "trade numbers for V_IH; the rest " + MEMORY)
    return Family(
        name="ACT",
        bipolar=False,
        supply=(4.5, 5.5),
        supply_source=MEMORY,
        inputs=inputs,
        schmitt=replace(inputs, source=f"{MEMORY}, 14: within the ordinary ones"),
        outputs=_AC_OUTPUTS,
        sinks=_AC_SINKS,
        i_oz=5 * UA,
        quiescent=_AC_REST,
    )


_AHC_GATE = _drive(0.44, 3.8, 8 * MA, MEMORY, _AC_LIGHT)
_AHC_OUTPUTS: tuple[tuple[OutputClass, Drive], ...] = (("ordinary", _AHC_GATE),)
_AHC_SINKS: tuple[tuple[OutputClass, Sink], ...] = (
    ("ordinary", _open_drain(_AHC_GATE, 2.5 * UA, 5.5, "05")),
)
_AHC_REST = Quiescent(gates=20 * UA, flip_flops=20 * UA, larger=40 * UA, source=MEMORY)


def _ahc() -> Family:
    inputs = _cmos(_AHC_POINTS, 1 * UA, MEMORY, bears=5.5)
    return Family(
        name="AHC",
        bipolar=False,
        supply=(2.0, 5.5),
        supply_source=MEMORY,
        inputs=inputs,
        schmitt=replace(inputs, source=f"{MEMORY}, 14: as the ordinary ones"),
        outputs=_AHC_OUTPUTS,
        sinks=_AHC_SINKS,
        i_oz=2.5 * UA,
        quiescent=_AHC_REST,
    )


def _ahct() -> Family:
    inputs = replace(_ttl_levels(1 * UA, MEMORY), bears=5.5)
    return Family(
        name="AHCT",
        bipolar=False,
        supply=(4.5, 5.5),
        supply_source=MEMORY,
        inputs=inputs,
        schmitt=replace(inputs, v_il=0.5, v_ih=2.1, source=f"{MEMORY}, 14"),
        outputs=_AHC_OUTPUTS,
        sinks=_AHC_SINKS,
        i_oz=2.5 * UA,
        quiescent=_AHC_REST,
    )


_LVC_LIGHT = Light(current=100 * UA, v_ol=0.2, v_oh=2.8, source=f"{MEMORY}, at 3 V")
_LVC_GATE = _drive(0.55, 2.2, 24 * MA, MEMORY, _LVC_LIGHT, at=3.0)


def _lvc() -> Family:
    """The parts of several gates and the octals: for 3.3 V, their inputs bear 5 V.

    Those of a single gate, which are no DIPs, work at 5 V too; they are in no catalogue here.
    """
    inputs = _cmos(
        _LVC_POINTS, 5 * UA, "JEDEC JESD36, from memory", (0.8, 2.0), nominal=3.3, bears=5.5
    )
    return Family(
        name="LVC",
        bipolar=False,
        supply=(1.65, 3.6),
        supply_source=MEMORY,
        inputs=inputs,
        schmitt=replace(inputs, source=f"{MEMORY}, 14: within the ordinary ones at 3.3 V"),
        outputs=(("ordinary", _LVC_GATE),),
        sinks=(("ordinary", _open_drain(_LVC_GATE, 10 * UA, 5.5, "06 and 07")),),
        i_oz=10 * UA,
        quiescent=Quiescent(gates=10 * UA, flip_flops=10 * UA, larger=10 * UA, source=MEMORY),
    )


def _4000b() -> Family:
    """Buffered parts (B); what is printed UB or A has other limits."""
    inputs = _cmos(_4000_POINTS, 1 * UA, JESD13)
    light = Light(current=1 * UA, v_ol=0.05, v_oh=4.95, source=JESD13)
    gate = _drive(0.4, 4.6, 0.36 * MA, JESD13 + ", at 85 degrees", light, at=5.0)
    return Family(
        name="4000B",
        bipolar=False,
        supply=(3.0, 18.0),
        supply_source=JESD13,
        inputs=inputs,
        schmitt=replace(
            inputs,
            v_il=0.7,
            v_ih=4.3,
            points=_4000_SCHMITT,
            source="copies of data sheets of the 40106, the weakest of three makers",
        ),
        outputs=(("ordinary", gate),),
        sinks=(("ordinary", _open_drain(gate, 12 * UA, None, "for want of such a part")),),
        i_oz=12 * UA,
        quiescent=Quiescent(
            gates=7.5 * UA,
            flip_flops=30 * UA,
            larger=150 * UA,
            source=f"{JESD13}, at 5 V and 85 degrees",
        ),
    )


def _mos() -> Family:
    inputs = Inputs(v_il=0.8, v_ih=2.2, i_il=10 * UA, i_ih=10 * UA, source=MEMORY)
    output = Drive(
        v_ol=0.45,
        v_oh=2.4,
        i_ol=2.1 * MA,
        i_oh=0.4 * MA,
        i_oh_max=0.4 * MA,
        source="trade numbers for V_OL; the rest " + MEMORY + ", the weakest of 6116 and 28C256",
    )
    return Family(
        name="MOS",
        bipolar=False,
        supply=(4.5, 5.5),
        supply_source=MEMORY,
        inputs=inputs,
        schmitt=inputs,
        outputs=(("ordinary", output),),
        sinks=(
            (
                "ordinary",
                Sink(v_ol=0.45, i_ol=2.1 * MA, off=10 * UA, source="as the other outputs"),
            ),
        ),
        i_oz=10 * UA,
        quiescent=Quiescent(source="each memory has its own"),
    )


CMOS = (_hc(), _hct(), _ac(), _act(), _ahc(), _ahct(), _lvc(), _4000b(), _mos())
