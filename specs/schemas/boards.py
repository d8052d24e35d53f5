"""The schema of a board file. The keys are the readers'."""

from __future__ import annotations

from breadproof.specs.catalogue.families import FAMILIES
from breadproof.specs.netlist.devices import OPTIONS
from breadproof.specs.netlist.layout import PLACING
from breadproof.specs.netlist.placing import CHIP_OPTIONS
from breadproof.specs.reading.accepts import KEYS as ACCEPT_KEYS
from breadproof.specs.reading.board import DIRECTIONS, FORMULA_KEYS, KEYS, SUPPLY_KEYS
from breadproof.specs.reading.edifkey import EDIF_KEYS
from breadproof.specs.reading.wires import BREADBOARD_KEYS, RAILS, WIRE_KEYS
from breadproof.specs.schemas.pieces import (
    NAME,
    SCALARS,
    Schema,
    document,
    either,
    listed,
    names,
    one_of,
    ref,
    table,
    text,
)

_NET = rf"{NAME}(\[[0-9]{{1,4}}:[0-9]{{1,4}}\])?"
_FORMULA_NAME = "[A-Za-z_][A-Za-z0-9_-]*"
_PIN = (
    rf"\s*{NAME}\.([A-Za-z0-9_]+|[A-Za-z0-9_]+\[[0-9]{{1,4}}:[0-9]{{1,4}}\]"
    r"|\[\s*[A-Za-z0-9_]+(\s*,\s*[A-Za-z0-9_]+)*\s*,?\s*\])\s*"
)


def board_schema() -> Schema:
    """What a board file may be.

    Raises:
        ValueError: a reader knows a key that is not described here.
    """
    body = table("A board file.", KEYS, _bodies(), ("board",))
    body["anyOf"] = [{"required": [key]} for key in ("parts", "boards", "edif")]
    return document("A board file of breadproof", body, _definitions())


def _supply() -> Schema:
    bodies = {
        "voltage": text("The voltage of VCC, 5 V if left out."),
        "current": text("The current that it gives at most: 500 mA."),
    }
    return table("The supply.", SUPPLY_KEYS, bodies, ())


def _bodies() -> dict[str, Schema]:
    return {
        "board": text("The name of the board."),
        "title": text("What it is, in one line."),
        "family": text(
            f"The family of parts that are given as a bare number: {', '.join(FAMILIES)}."
        ),
        "supply": either(text("The voltage of VCC, 5 V if left out."), _supply()),
        "rails": names("More supplies, with their voltages.", text("A voltage."), empty=True),
        "catalogue": text("A folder of your own part files, searched before those that ship."),
        "breadboards": names("Breadboards by name.", ref("breadboard"), empty=True),
        "edif": either(text("An EDIF 2 0 0 file of parts and nets."), ref("edif")),
        "parts": names("Parts by name.", ref("part"), empty=True),
        "wires": either(_wires("a12 to j30"), text("A file of wires.")),
        "nets": names("Nets, each a list of pins.", ref("net"), _NET, empty=True),
        "names": names("Names for nets, by a pin or hole in them.", text("A place."), empty=True),
        "ports": names(
            "Nets that leave for another board.",
            one_of("in, out or both.", DIRECTIONS),
            _NET,
            empty=True,
        ),
        "boards": names("The boards of a machine, by name.", text("A board file."), empty=True),
        "joins": either(_wires("store.bus[7:0] to show.bus[7:0]"), text("A file of joins.")),
        "accept": either(
            {"type": "null"},
            ref("accept"),
            listed("Findings of wiring rules that are accepted.", ref("accept")),
        ),
        "together": either(
            {"const": "all"},
            listed(
                "Controls that may change in one step.",
                listed("A group of them.", text("A control."), least=1),
            ),
        ),
        "reset": names(
            "What you call a reset.",
            either(
                text("A button, an input port, or power-on."),
                listed("Several, or parts that keep their content.", text("A name."), least=1),
            ),
            empty=True,
        ),
        "bounces": either(
            text("A button or switch whose contact bounces."),
            listed("Buttons and switches whose contacts bounce.", text("A control.")),
        ),
        "assume": _formulas("Taken for granted of controls and ports."),
        "assert": _formulas("To be proved."),
        "cover": _formulas("To be reached."),
    }


def _wires(example: str) -> Schema:
    return {
        "description": f"Wires: {example}.",
        "type": ["array", "null"],
        "items": ref("wire"),
    }


def _formulas(says: str) -> Schema:
    return names(says, ref("formula"), _FORMULA_NAME, empty=True)


def _definitions() -> dict[str, Schema]:
    pin = text("A pin: U3.18, U3.OE_n, U3.Q[7:0] or U5.[9, 8, 7].", _PIN)
    row = either(ref("pin"), listed("A row of pins.", ref("pin")))
    formula = {
        "says": {"description": "The sentence that it stands for.", "type": [*SCALARS, "null"]},
        "formula": text("A formula (IEEE 1364 expressions, IEEE 1850 simple subset)."),
    }
    return {
        "part": either(text("The part, as printed on it."), _part()),
        "pin": pin,
        "net": either(
            {"type": "null"}, ref("pin"), {"type": "array", "items": row, "description": "Pins."}
        ),
        "formula": either(
            text("A formula."),
            table("A formula and its sentence.", FORMULA_KEYS, formula, ("formula",)),
        ),
        "accept": table(
            "A finding that is accepted, at a pin or on a net.",
            ACCEPT_KEYS,
            {
                "code": text("The rule's code."),
                "pin": {"description": "The pin: U3.1.", "type": [*SCALARS, "null"]},
                "net": {"description": "The net.", "type": [*SCALARS, "null"]},
                "because": text("The reason."),
            },
            ("code", "because"),
        ),
        "edif": table(
            "An EDIF 2 0 0 file.",
            EDIF_KEYS,
            {
                "file": text("The file, beside this one."),
                "mapping": text("The file that says which cell is which part."),
                "design": text("Which design of the file, if it has several."),
                "supplies": names(
                    "Which net of the drawing each supply is.",
                    either(text("A net."), listed("Nets.", text("A net."), least=1)),
                ),
            },
            ("file",),
        ),
        "breadboard": table(
            "A breadboard.",
            BREADBOARD_KEYS,
            {
                "tie-points": text("How many tie points it has."),
                "rails": one_of("Whether its rails are broken in the middle.", RAILS),
            },
            ("tie-points",),
        ),
        "wire": either(
            text("ONE END to OTHER END", r"\s*\S+\s+to\s+\S+\s*"),
            table(
                "A wire.",
                WIRE_KEYS,
                {
                    "from": text("One end."),
                    "to": text("The other end."),
                    "colour": text("Its colour."),
                },
                ("from", "to"),
            ),
        ),
    }


def _part() -> Schema:
    """A part with options: those of its kind, where it is no chip."""
    devices = [_options(device, keys) for device, keys in OPTIONS.items()]
    chip = _options("", CHIP_OPTIONS)
    chip["properties"]["part"] = {
        **text("The part, as printed on it."),
        "not": {"enum": list(OPTIONS)},
    }
    return either(*devices, chip)


def _options(device: str, keys: tuple[str, ...]) -> Schema:
    """A mapping with ``part``, these options and a place."""
    value: Schema = {
        "description": "An option.",
        "type": [*SCALARS, "array"],
        "items": {"type": SCALARS},
    }
    keys = (*keys, *PLACING)
    bodies: dict[str, Schema] = {"part": {"const": device}, **dict.fromkeys(keys, value)}
    return table(device or "A chip.", ("part", *keys), bodies, ("part",))
