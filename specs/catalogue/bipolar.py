"""Limits of the bipolar families: TTL (no letters), S, LS, ALS, AS, F.

Input currents are those of one unit load. Inputs that are more than one (clears, clocks of ripple
counters, inputs of F buffers) have limits of their own in their part files.
"""

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
BOTH = "trade numbers; the rest from memory of the data book"

MA, UA = 1e-3, 1e-6

# I_OZ is from memory of the data books throughout; that of F is of its transceivers, the most.


def _inputs(i_il: float, i_ih: float, source: str) -> Inputs:
    return Inputs(v_il=0.8, v_ih=2.0, i_il=i_il, i_ih=i_ih, source=source)


def _schmitt(ordinary: Inputs, v_il: float, v_ih: float, which: str) -> Inputs:
    """The lowest threshold of a falling level and the highest of a rising one."""
    return replace(ordinary, v_il=v_il, v_ih=v_ih, source=f"{MEMORY}, {which}")


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


def _half(drive: Drive, current: float) -> Drive:
    """With the lower V_OL that LS and ALS promise at half their current."""
    light = Light(
        current=current, v_ol=0.4, v_oh=drive.v_oh, source=f"{MEMORY}, V_OL at half the current"
    )
    return replace(drive, light=light)


def _sink(v_ol: float, i_ol: float, off: float, bears: float, which: str) -> Sink:
    return Sink(v_ol=v_ol, i_ol=i_ol, off=off, bears=bears, source=f"{MEMORY}, {which}")


def _gate(current: float) -> Quiescent:
    return Quiescent(gate=current, source=f"{MEMORY}, a fourth of I_CCL of the 00")


def _ttl() -> Family:
    inputs = _inputs(1.6 * MA, 40 * UA, BOTH)
    outputs: tuple[tuple[OutputClass, Drive], ...] = (
        ("ordinary", _drive(0.4, 2.4, 16 * MA, 0.4 * MA, TRADE)),
        (
            "three-state",
            _drive(0.4, 2.4, 16 * MA, 5.2 * MA, f"{MEMORY}, 125, 173 and 251"),
        ),
        ("buffer", _drive(0.4, 2.4, 48 * MA, 1.2 * MA, f"{MEMORY}, 37 and 40; the 28 gives more")),
    )
    sinks: tuple[tuple[OutputClass, Sink], ...] = (
        ("ordinary", _sink(0.4, 16 * MA, 250 * UA, 5.5, "03 and 05")),
        ("buffer", _sink(0.4, 48 * MA, 250 * UA, 5.5, "38")),
        ("pull-down-15", _sink(0.4, 16 * MA, 1 * MA, 15.0, "26")),
        ("driver-15", _sink(0.7, 40 * MA, 250 * UA, 15.0, "16 and 17")),
        ("driver-30", _sink(0.7, 40 * MA, 250 * UA, 30.0, "06 and 07")),
    )
    return Family(
        name="TTL",
        bipolar=True,
        supply=(4.75, 5.25),
        supply_source=MEMORY,
        inputs=inputs,
        schmitt=_schmitt(inputs, 0.6, 2.0, "13, 14 and 132"),
        outputs=outputs,
        sinks=sinks,
        i_oz=40 * UA,
        quiescent=_gate(5.5 * MA),
    )


def _s() -> Family:
    inputs = _inputs(2 * MA, 50 * UA, BOTH)
    outputs: tuple[tuple[OutputClass, Drive], ...] = (
        ("ordinary", _drive(0.5, 2.7, 20 * MA, 1 * MA, "trade numbers, currents; " + MEMORY)),
        ("three-state", _drive(0.5, 2.4, 20 * MA, 6.5 * MA, f"{MEMORY}, 253, 257")),
        ("bus-output", _drive(0.5, 2.4, 20 * MA, 6.5 * MA, f"{MEMORY}, 373 and 374")),
        (
            "bus-driver",
            _drive(0.55, 2.4, 64 * MA, 3 * MA, f"{MEMORY}, 240, 241, 244", 15 * MA),
        ),
        ("buffer", _drive(0.5, 2.7, 60 * MA, 3 * MA, f"{MEMORY}, 37 and 40")),
    )
    sinks: tuple[tuple[OutputClass, Sink], ...] = (
        ("ordinary", _sink(0.5, 20 * MA, 250 * UA, 5.5, "03 and 05")),
        ("buffer", _sink(0.5, 60 * MA, 250 * UA, 5.5, "38")),
    )
    return Family(
        name="S",
        bipolar=True,
        supply=(4.75, 5.25),
        supply_source=MEMORY,
        inputs=inputs,
        schmitt=replace(inputs, source=f"{MEMORY}: those of the 132 lie within the ordinary ones"),
        outputs=outputs,
        sinks=sinks,
        i_oz=50 * UA,
        quiescent=_gate(9 * MA),
    )


def _ls() -> Family:
    inputs = _inputs(0.4 * MA, 20 * UA, TRADE)
    outputs: tuple[tuple[OutputClass, Drive], ...] = (
        ("ordinary", _half(_drive(0.5, 2.7, 8 * MA, 0.4 * MA, TRADE), 4 * MA)),
        ("three-state", _drive(0.5, 2.4, 8 * MA, 2.6 * MA, f"{MEMORY}, 251 and 253")),
        (
            "bus-output",
            _drive(
                0.5, 2.4, 24 * MA, 2.6 * MA, f"{BOTH}, 125, 373, 374; the 365 compared with copies"
            ),
        ),
        ("bus-driver", _drive(0.5, 2.4, 24 * MA, 3 * MA, TRADE, 15 * MA)),
        ("buffer", _drive(0.5, 2.7, 24 * MA, 1.2 * MA, f"{MEMORY}, 28, 37 and 40")),
    )
    sinks: tuple[tuple[OutputClass, Sink], ...] = (
        ("ordinary", _sink(0.5, 8 * MA, 100 * UA, 5.5, "03 and 05")),
        ("buffer", _sink(0.5, 24 * MA, 250 * UA, 5.5, "33 and 38")),
        ("pull-down-15", _sink(0.5, 8 * MA, 1 * MA, 15.0, "26")),
        ("driver-15", _sink(0.7, 40 * MA, 250 * UA, 15.0, "16 and 17")),
        ("driver-30", _sink(0.7, 40 * MA, 250 * UA, 30.0, "06 and 07")),
    )
    return Family(
        name="LS",
        bipolar=True,
        supply=(4.75, 5.25),
        supply_source=TRADE,
        inputs=inputs,
        schmitt=_schmitt(
            inputs, 0.5, 2.0, "13, 14 and 132, the weakest of two books; compared with copies"
        ),
        outputs=outputs,
        sinks=sinks,
        i_oz=20 * UA,
        quiescent=_gate(1.1 * MA),
    )


def _als() -> Family:
    inputs = _inputs(0.1 * MA, 20 * UA, BOTH)
    outputs: tuple[tuple[OutputClass, Drive], ...] = (
        (
            "ordinary",
            _half(_drive(0.5, 2.5, 8 * MA, 0.4 * MA, "trade numbers, currents; " + MEMORY), 4 * MA),
        ),
        ("three-state", _drive(0.5, 2.4, 24 * MA, 2.6 * MA, f"{MEMORY}, 253, 257")),
        ("bus-output", _drive(0.5, 2.4, 24 * MA, 2.6 * MA, f"{MEMORY}, 373, 574")),
        (
            "bus-driver",
            _drive(0.5, 2.4, 24 * MA, 3 * MA, f"{MEMORY}, 244, 245 and 541", 15 * MA),
        ),
        ("buffer", _drive(0.5, 2.4, 24 * MA, 2.6 * MA, f"{MEMORY}, 28, 37 and 40")),
    )
    sinks: tuple[tuple[OutputClass, Sink], ...] = (
        ("ordinary", _sink(0.5, 8 * MA, 100 * UA, 5.5, "03 and 05")),
        ("buffer", _sink(0.5, 24 * MA, 100 * UA, 5.5, "33 and 38")),
    )
    return Family(
        name="ALS",
        bipolar=True,
        supply=(4.5, 5.5),
        supply_source=TRADE,
        inputs=inputs,
        schmitt=_schmitt(inputs, 0.5, 2.0, "as LS, for want of better"),
        outputs=outputs,
        sinks=sinks,
        i_oz=20 * UA,
        quiescent=_gate(0.75 * MA),
    )


def _as() -> Family:
    inputs = _inputs(0.5 * MA, 20 * UA, MEMORY)
    outputs: tuple[tuple[OutputClass, Drive], ...] = (
        ("ordinary", _drive(0.5, 2.5, 20 * MA, 2 * MA, MEMORY)),
        (
            "three-state",
            _drive(0.5, 2.4, 48 * MA, 3 * MA, f"{MEMORY}, 257, 373 and 374", 15 * MA),
        ),
        (
            "bus-driver",
            _drive(0.55, 2.4, 48 * MA, 3 * MA, f"{MEMORY}, 244 and 245, the weakest", 15 * MA),
        ),
    )
    return Family(
        name="AS",
        bipolar=True,
        supply=(4.5, 5.5),
        supply_source=MEMORY,
        inputs=inputs,
        schmitt=replace(inputs, source="as the ordinary ones: no such part is known"),
        outputs=outputs,
        sinks=(("ordinary", _sink(0.5, 20 * MA, 100 * UA, 5.5, "as ALS, with the current of AS")),),
        i_oz=50 * UA,
        quiescent=_gate(4.35 * MA),
    )


def _f() -> Family:
    inputs = _inputs(0.6 * MA, 20 * UA, BOTH)
    outputs: tuple[tuple[OutputClass, Drive], ...] = (
        ("ordinary", _drive(0.5, 2.5, 20 * MA, 1 * MA, "trade numbers; V_OL " + MEMORY)),
        ("three-state", _drive(0.5, 2.4, 20 * MA, 3 * MA, f"{MEMORY}, 253 and 257")),
        ("bus-output", _drive(0.5, 2.4, 24 * MA, 3 * MA, f"{MEMORY}, 373 and 374")),
        (
            "bus-driver",
            _drive(0.55, 2.4, 24 * MA, 3 * MA, f"{MEMORY}, 244, 245: the weakest side"),
        ),
        ("buffer", _drive(0.55, 2.4, 64 * MA, 3 * MA, f"{MEMORY}, 37 and 40", 15 * MA)),
    )
    sinks: tuple[tuple[OutputClass, Sink], ...] = (
        ("ordinary", _sink(0.5, 20 * MA, 250 * UA, 5.5, "as the 38, with the current of a gate")),
        ("buffer", _sink(0.55, 64 * MA, 250 * UA, 5.5, "38")),
    )
    return Family(
        name="F",
        bipolar=True,
        supply=(4.5, 5.5),
        supply_source=TRADE,
        inputs=inputs,
        schmitt=_schmitt(inputs, 0.7, 2.0, "13, 14 and 132; the 14 compared with a copy"),
        outputs=outputs,
        sinks=sinks,
        i_oz=70 * UA,
        quiescent=_gate(2.55 * MA),
    )


BIPOLAR = (_ttl(), _s(), _ls(), _als(), _as(), _f())
