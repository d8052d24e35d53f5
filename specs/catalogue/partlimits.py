"""Reading what a part file says of its limits: ``output-class:`` and ``limits:``.

The format is specs/parts/README.md. The codes of what is wrong are ``part-field``, ``part-key`` and
``part-limit``.
"""

from __future__ import annotations

import re

from breadproof.specs.catalogue.families import FAMILIES
from breadproof.specs.catalogue.fields import table_of, text_of, texts_of
from breadproof.specs.catalogue.limits import OUTPUT_CLASSES, OutputClass, OwnLimits, PinLimits
from breadproof.specs.catalogue.part import PinType
from breadproof.specs.reading.diagnostics import Problems
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree, near


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
    "I_CC": "i_cc", "I_OZ": "i_oz", "V_O": "bears", "V_I": "input_bears",
}  # fmt: skip
LIMIT_KEYS = ("from", "V_CC", *_ENTRIES, "pins")
"""What ``limits:`` may have; the symbols are those of data books (JEDEC JESD99)."""
INPUT_KEYS = ("V_IL", "V_IH", "I_IL", "I_IH", "V_I")
OUTPUT_KEYS = ("V_OL", "V_OH", "I_OL", "I_OH", "I_OZ", "V_O")
PIN_LIMIT_KEYS = ("of", "in", *INPUT_KEYS, *OUTPUT_KEYS)
"""What an entry of ``pins:`` in ``limits:`` may have: pins, families, and values."""


def read_limits(
    tree: Tree | None, pins: tuple[PinType, ...], problems: Problems
) -> OwnLimits | None:
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
    said = "" if source is None else source.value
    return OwnLimits(
        source=said,
        supply=_supply(table.get("V_CC"), problems),
        pins=_of_pins(table.get("pins"), pins, said, problems),
        **values,
    )


def _of_pins(
    tree: Tree | None, pins: tuple[PinType, ...], source: str, problems: Problems
) -> tuple[PinLimits, ...]:
    """The limits of single pins."""
    if tree is None:
        return ()
    if not isinstance(tree, Rows):
        problems.error(
            "part-field",
            "'pins' of 'limits' is to be a list",
            tree.span,
            hint="Write a line '- {of: [CLR_n], in: [LS], I_IL: 0.8 mA}' for each group of pins.",
        )
        return ()
    found: list[PinLimits] = []
    for item in tree.items:
        table = table_of(item, "an entry of 'pins' of 'limits'", PIN_LIMIT_KEYS, problems)
        if table is not None:
            found.append(_pin_limits(table, pins, (source, found), problems))
    return tuple(found)


def _pin_limits(
    table: Table,
    pins: tuple[PinType, ...],
    known_already: tuple[str, list[PinLimits]],
    problems: Problems,
) -> PinLimits:
    source, before = known_already
    families = _families(table, problems)
    known = {pin.name: pin for pin in pins}
    names: list[str] = []
    of = table.get("of")
    if of is None:
        problems.error(
            "part-field",
            "an entry of 'pins' of 'limits' has no 'of'",
            table.span,
            hint="Write 'of: [CLR_n]', the pins that it is about.",
        )
    for text in () if of is None else texts_of(of, "'of'", problems):
        row = _row(text.value)
        if any(name not in known for name in row):
            problems.error(
                "part-field",
                f"'{text.value}' is no pin",
                text.span,
                hint=near(text.value, tuple(known)) or f"Pins: {', '.join(known)}.",
            )
            continue
        if any(_told(name, families, before) or name in names for name in row):
            problems.error(
                "part-limit",
                f"'{text.value}' has limits of its own twice",
                text.span,
                hint="Put all limits of a pin, in a family, into one entry.",
            )
        names += row
    values: dict[str, float | None] = {}
    for key, field in _ENTRIES.items():
        entry = table.get(key)
        if entry is None:
            continue
        _fits(key, entry, [known[name] for name in names], problems)
        values[field] = _quantity(entry, key, problems)
    _in_order(table, values, problems)
    own = OwnLimits(source=source, supply=None, pins=(), **values)
    return PinLimits(names=tuple(names), families=families, values=own)


def _families(table: Table, problems: Problems) -> tuple[str, ...]:
    tree = table.get("in")
    texts = () if tree is None else texts_of(tree, "'in'", problems)
    for text in texts:
        if text.value not in FAMILIES:
            problems.error(
                "part-field",
                f"there is no family '{text.value}'",
                text.span,
                hint=near(text.value, tuple(FAMILIES)) or f"Known: {', '.join(FAMILIES)}.",
            )
    return tuple(text.value for text in texts)


def _told(name: str, families: tuple[str, ...], before: list[PinLimits]) -> bool:
    """Whether an entry before has limits of that pin in one of these families."""
    return any(
        name in entry.names
        and (not families or not entry.families or bool(set(families) & set(entry.families)))
        for entry in before
    )


def _fits(key: str, tree: Tree, pins: list[PinType], problems: Problems) -> None:
    """A limit of inputs for what is none, or one of outputs."""
    for pin in pins:
        if not (pin.kind.reads if key in INPUT_KEYS else pin.kind.drives):
            problems.error(
                "part-limit",
                f"'{key}' is a limit of {'an input' if key in INPUT_KEYS else 'an output'}, "
                f"and '{pin.name}' is none",
                tree.span,
                hint="Give inputs and outputs entries of their own.",
            )
            return


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
