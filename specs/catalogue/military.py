"""Limits of the 54 series: the same functions and pins, for -55 to 125 degrees.

From memory of the data books throughout. Classes that are not here have the limits of the next
weaker one, as everywhere.
"""

from __future__ import annotations

from dataclasses import replace

from breadproof.specs.catalogue.families import FAMILIES
from breadproof.specs.catalogue.limits import Drive, Family, OutputClass, Sink

MEMORY = "from memory of the data book of the 54 series"
MA, UA = 1e-3, 1e-6

# Family: class of output, V_OL, V_OH, I_OL and I_OH in milliamperes.
_OUTPUTS: dict[str, tuple[tuple[OutputClass, float, float, float, float], ...]] = {
    "TTL": (
        ("ordinary", 0.4, 2.4, 16, 0.4),
        ("three-state", 0.4, 2.4, 16, 2),
        ("buffer", 0.4, 2.4, 48, 1.2),
    ),
    "S": (
        ("ordinary", 0.5, 2.5, 20, 1),
        ("three-state", 0.5, 2.4, 20, 2),
        ("bus-driver", 0.55, 2.4, 48, 3),
        ("buffer", 0.5, 2.5, 60, 3),
    ),
    "LS": (
        ("ordinary", 0.4, 2.5, 4, 0.4),
        ("three-state", 0.4, 2.4, 4, 1),
        ("bus-output", 0.4, 2.4, 12, 1),
        ("bus-driver", 0.4, 2.4, 12, 3),
        ("buffer", 0.4, 2.5, 12, 1.2),
    ),
    "ALS": (
        ("ordinary", 0.4, 2.5, 4, 0.4),
        ("three-state", 0.4, 2.4, 12, 1),
        ("bus-driver", 0.4, 2.4, 12, 3),
        ("buffer", 0.4, 2.4, 12, 1),
    ),
    "AS": (
        ("ordinary", 0.5, 2.5, 20, 2),
        ("three-state", 0.5, 2.4, 32, 3),
        ("bus-driver", 0.55, 2.4, 32, 3),
    ),
    "F": (
        ("ordinary", 0.5, 2.5, 20, 1),
        ("three-state", 0.5, 2.4, 20, 3),
        ("bus-driver", 0.55, 2.4, 20, 3),
        ("buffer", 0.55, 2.4, 48, 3),
    ),
    "HC": (("ordinary", 0.4, 3.7, 4, 4), ("three-state", 0.4, 3.7, 6, 6)),
    "HCT": (("ordinary", 0.4, 3.7, 4, 4), ("three-state", 0.4, 3.7, 6, 6)),
    "AC": (("ordinary", 0.5, 3.7, 24, 24),),
    "ACT": (("ordinary", 0.5, 3.7, 24, 24),),
    "AHC": (("ordinary", 0.5, 3.7, 8, 8),),
    "AHCT": (("ordinary", 0.5, 3.7, 8, 8),),
    "LVC": (("ordinary", 0.55, 2.2, 24, 24),),
}
# The lowest V_IL of a TTL level; the highest V_OL of an open collector and its part of I_OL.
_V_IL = {"LS": 0.7, "ALS": 0.7}
_SINKS = {"LS": (0.4, 0.5), "ALS": (0.4, 0.5)}


def _twin(family: Family) -> Family:
    """The family of the 54 series, with the name of that of the 74 series."""
    base = family.drive()
    outputs = tuple(
        (
            kind,
            Drive(
                v_ol=v_ol,
                v_oh=v_oh,
                i_ol=i_ol * MA,
                i_oh=i_oh * MA,
                i_oh_max=i_oh * MA,
                at=base.at,
                light=base.light,
                source=MEMORY,
            ),
        )
        for kind, v_ol, v_oh, i_ol, i_oh in _OUTPUTS[family.name]
    )
    v_il = _V_IL.get(family.name, family.inputs.v_il)
    return replace(
        family,
        military=True,
        supply=(4.5, 5.5) if family.bipolar else family.supply,
        supply_source=MEMORY,
        inputs=replace(family.inputs, v_il=v_il, source=MEMORY),
        outputs=outputs,
        sinks=tuple((kind, _weaker(family, sink, outputs[0][1])) for kind, sink in family.sinks),
        i_oz=family.i_oz if family.bipolar else 10 * UA,
    )


def _weaker(family: Family, sink: Sink, gate: Drive) -> Sink:
    v_ol, part = _SINKS.get(family.name, (sink.v_ol if family.bipolar else gate.v_ol, 1.0))
    high = sink.v_ol > 0.6  # the 06, 07, 16 and 17 stay at 0.7 V, with less current
    return replace(
        sink,
        v_ol=sink.v_ol if high else v_ol,
        i_ol=sink.i_ol * (0.75 if high else part),
        off=sink.off if family.bipolar else 10 * UA,
        source=MEMORY,
    )


MILITARY: dict[str, Family] = {name: _twin(FAMILIES[name]) for name in _OUTPUTS}
"""Families of the 54 series by their letters."""
