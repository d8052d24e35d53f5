"""Reading what a part file says of its limits: ``output-class:`` and ``limits:``.

The format is specs/parts/README.md. The codes of what is wrong are ``part-field``, ``part-key`` and
``part-limit``.
"""

from __future__ import annotations

import re

from breadproof.specs.catalogue.fields import table_of, text_of, texts_of
from breadproof.specs.catalogue.limits import OUTPUT_CLASSES, OutputClass, OwnLimits
from breadproof.specs.catalogue.part import PinType
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import Table, Text, Tree, near


def read_output_classes(
    tree: Tree | None, pins: tuple[PinType, ...], problems: Problems
) -> tuple[tuple[str, OutputClass], ...]:
    """The class of each output by pin name, of those that the file names.

    ``output-class`` is one class for all outputs, or a mapping from classes to lists of pins: by
    name, or as a row of them such as ``Q[7:0]``.
    """
    outputs = tuple(pin.name for pin in pins if pin.kind.drives)
    if tree is None:
        return ()
    if isinstance(tree, Text):
        of_all = _output_class(tree, problems)
        return tuple((name, of_all) for name in outputs) if of_all else ()
    table = table_of(tree, "'output-class'", OUTPUT_CLASSES, problems)
    found: dict[str, OutputClass] = {}
    for key, value in table or ():
        kind = next((kind for kind in OUTPUT_CLASSES if kind == key.value), None)
        for text in texts_of(value, f"'{key.value}'", problems):
            names = _row(text.value)
            if any(name not in outputs for name in names):
                problems.error(
                    "part-field",
                    f"'{text.value}' is no output",
                    text.span,
                    hint=near(text.value, outputs) or f"Outputs: {', '.join(outputs)}.",
                )
            elif any(name in found for name in names):
                problems.error(
                    "part-field",
                    f"'{text.value}' has two classes",
                    text.span,
                    hint="Name each output once.",
                )
            elif kind is not None:
                found.update(dict.fromkeys(names, kind))
    return tuple((name, found[name]) for name in outputs if name in found)


_ROW = re.compile(r"([A-Za-z_]\w*)\[([0-9]{1,2}):([0-9]{1,2})\]")


def _row(text: str) -> tuple[str, ...]:
    """``Q[1:0]`` as Q1 and Q0; any other text as it is."""
    found = _ROW.fullmatch(text)
    if found is None:
        return (text,)
    low, high = sorted((int(found[2]), int(found[3])))
    return tuple(f"{found[1]}{number}" for number in range(low, high + 1))


def _output_class(text: Text, problems: Problems) -> OutputClass | None:
    for kind in OUTPUT_CLASSES:
        if kind == text.value:
            return kind
    problems.error(
        "part-field",
        f"there is no class of outputs '{text.value}'",
        text.span,
        hint=near(text.value, OUTPUT_CLASSES) or f"Known: {', '.join(OUTPUT_CLASSES)}.",
    )
    return None


_QUANTITY = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*([uµm]?)([VA])")
_RANGE = re.compile(r"([0-9]+(?:\.[0-9]+)?) V to ([0-9]+(?:\.[0-9]+)?) V")
_SCALE = {"u": 1e-6, "µ": 1e-6, "m": 1e-3, "": 1.0}
_ENTRIES = {
    "V_IL": "v_il", "V_IH": "v_ih", "I_IL": "i_il", "I_IH": "i_ih",
    "V_OL": "v_ol", "V_OH": "v_oh", "I_OL": "i_ol", "I_OH": "i_oh",
    "I_CC": "i_cc", "I_OZ": "i_oz", "V_O": "bears",
}  # fmt: skip
LIMIT_KEYS = ("from", "V_CC", *_ENTRIES)
"""What ``limits:`` may have; the symbols are those of data books (JEDEC JESD99)."""


def read_limits(tree: Tree | None, problems: Problems) -> OwnLimits | None:
    """The limits that a part file names, as positive values; None if it names none."""
    if tree is None:
        return None
    table = table_of(tree, "'limits'", LIMIT_KEYS, problems)
    if table is None:
        return None
    source = text_of(table, "from", "'limits'", problems)
    values = {
        field: _quantity(entry, key, problems)
        for key, field in _ENTRIES.items()
        if (entry := table.get(key)) is not None
    }
    _in_order(table, values, problems)
    return OwnLimits(
        source="" if source is None else source.value,
        supply=_supply(table.get("V_CC"), problems),
        **values,
    )


def _quantity(tree: Tree, key: str, problems: Problems) -> float | None:
    unit = key[0].replace("I", "A")
    found = _QUANTITY.fullmatch(tree.value.strip()) if isinstance(tree, Text) else None
    if found is None or found[3] != unit:
        problems.error(
            "part-limit",
            f"'{key}' is to be a number of {'volts' if unit == 'V' else 'amperes'}",
            tree.span,
            hint="Write 0.8 V." if unit == "V" else "Write 2.1 mA or 10 uA, without a sign.",
        )
        return None
    return float(found[1]) * _SCALE[found[2]]


def _supply(tree: Tree | None, problems: Problems) -> tuple[float, float] | None:
    if tree is None:
        return None
    found = _RANGE.fullmatch(tree.value.strip()) if isinstance(tree, Text) else None
    if found is None or float(found[1]) > float(found[2]):
        problems.error(
            "part-limit", "'V_CC' is to be a range", tree.span, hint="Write 4.5 V to 5.5 V."
        )
        return None
    return float(found[1]), float(found[2])


def _in_order(table: Table, values: dict[str, float | None], problems: Problems) -> None:
    """A low below a high, on both sides."""
    for low, high in (("V_IL", "V_IH"), ("V_OL", "V_OH")):
        below, above = values.get(_ENTRIES[low]), values.get(_ENTRIES[high])
        tree = table.get(low)
        if below is not None and above is not None and below >= above and tree is not None:
            problems.error(
                "part-limit",
                f"'{low}' is not below '{high}'",
                tree.span,
                hint=f"{low} is the highest low, {high} the lowest high.",
            )
