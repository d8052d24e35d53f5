"""The schema of a part file: the readers' keys, and what specs/parts/README.md says of them."""

from __future__ import annotations

from breadproof.specs.catalogue import partstorage, parttimes
from breadproof.specs.catalogue.families import FAMILIES
from breadproof.specs.catalogue.limits import OUTPUT_CLASSES
from breadproof.specs.catalogue.partfile import KEYS, VARIANT_KEYS
from breadproof.specs.catalogue.partlimits import LIMIT_KEYS, PIN_LIMIT_KEYS
from breadproof.specs.catalogue.partlogic import OUTPUT_KEYS
from breadproof.specs.catalogue.partpins import FLAGS, KINDS, ROLES
from breadproof.specs.catalogue.partrows import KEYS as ROW_KEYS
from breadproof.specs.catalogue.partswitches import KEYS as SWITCH_KEYS
from breadproof.specs.schemas.pieces import (
    NAME,
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

REQUIRED = ("part", "title", "does", "package", "families", "source", "pins", "rows")
_VECTOR = rf"{NAME}(\[[0-9]{{1,4}}:[0-9]{{1,4}}\])?"
_STORED = rf"{NAME}(\[[0-9]{{1,2}}:0\])?"
_WORDS = "|".join((*ROLES, *FLAGS))
_PIN = rf" *{NAME} +({'|'.join(KINDS)})( +({_WORDS}))* *"
_NUMBER = r"[0-9]{1,6}(\.[0-9]{1,3})?"


def part_schema() -> Schema:
    """What a part file may be.

    Raises:
        ValueError: a reader knows a key that is not described here.
    """
    body = table("A part file: one function, for all families.", KEYS, _bodies(), REQUIRED)
    return document("A part file of breadproof", body, _definitions())


def _bodies() -> dict[str, Schema]:
    return {
        **_common(),
        "part": text("The number behind the family letters; the file has the same name."),
        "variants": listed(
            "What the number means in families that differ.", ref("variant"), least=1
        ),
        "times": names("Delays, set-up, hold, widths, clocks, by family.", ref("times"), "[^ ]+"),
    }


def _common() -> dict[str, Schema]:
    """What a part and its variants have in common."""
    return {
        "title": text("What it is, in one line."),
        "does": text("What it is, in the trade's words; parts are listed by it."),
        "package": text("The package, such as DIP-16.", "[A-Z]+-[0-9]{1,3}"),
        "families": listed("The families it exists in.", one_of("A family.", FAMILIES)),
        "source": text("Where these facts are from; from memory is said."),
        "output-class": _output_class(),
        "limits": _limits(),
        "pins": names("Number: NAME kind [role] [flags].", _pin(), "[0-9]{1,3}"),
        "inner": names("Parts of the logic that outputs share.", ref("formula"), _VECTOR),
        "logic": names("The level of each output.", ref("output"), _VECTOR),
        "storage": names("Registers and latches.", ref("storage"), _STORED),
        "memory": names("Memories.", ref("memory")),
        "switches": listed("Analogue switches.", ref("switch")),
        "rows": listed("The tables of the data sheet.", ref("rows"), least=1),
        "moments": names("What the world chooses, and no pin does.", text("What happens then.")),
    }


def _pin() -> Schema:
    return text(
        f"NAME kind [role] [flags]. Kinds: {', '.join(KINDS)}. Roles: {', '.join(ROLES)}. "
        f"Flags: {', '.join(FLAGS)}.",
        _PIN,
    )


def _output_class() -> Schema:
    of_all = one_of("The class of all outputs, if not usual.", OUTPUT_CLASSES)
    rows = listed("Outputs, such as Y1 or Q[7:0].", text("An output."))
    by_class = table("Outputs by class.", OUTPUT_CLASSES, dict.fromkeys(OUTPUT_CLASSES, rows))
    return either(of_all, by_class)


def _limits() -> Schema:
    def body(key: str) -> Schema:
        if key == "from":
            return text("Where the limits are from.")
        if key == "of":
            return listed("The pins: names, or rows such as Q[7:0].", text("A pin."))
        if key == "in":
            return listed("The families in which they hold, if not all.", one_of("One.", FAMILIES))
        if key == "pins":
            entry = {key: body(key) for key in PIN_LIMIT_KEYS}
            return listed(
                "Limits of single pins.", table("Some pins.", PIN_LIMIT_KEYS, entry, ("of",))
            )
        if key == "V_CC":
            number = r"[0-9]+(\.[0-9]+)? V"
            return text("The supply: 4.5 V to 5.5 V.", rf" *{number} to {number} *")
        unit = "V" if key.startswith("V") else "A"
        return text(f"{key}, without a sign.", rf" *[0-9]+(\.[0-9]+)? *[uµm]?{unit} *")

    return table(
        "Limits that are not those of the family.",
        LIMIT_KEYS,
        {key: body(key) for key in LIMIT_KEYS},
        ("from",),
    )


def _definitions() -> dict[str, Schema]:
    formula = text("A formula over pins, inner names and storage (IEEE 1364 expressions).")
    return {
        "formula": formula,
        "output": either(
            ref("formula"),
            table(
                "A three-state or bidirectional output: its level, and when it drives.",
                OUTPUT_KEYS,
                {"level": ref("formula"), "when": ref("formula")},
                OUTPUT_KEYS,
            ),
        ),
        "storage": either(_register(), _latch()),
        "memory": _memory(),
        "switch": table(
            "Two passive pins, joined while a formula holds.",
            SWITCH_KEYS,
            {
                "joins": listed("The two pins.", text("A pin."), least=2, most=2),
                "when": ref("formula"),
            },
            SWITCH_KEYS,
        ),
        "rows": _rows(),
        "times": _times(),
        "variant": table("A variant: its keys replace those of the part.", VARIANT_KEYS, _common()),
    }


def _register() -> Schema:
    load = table(
        "An asynchronous load.",
        partstorage.LOAD,
        {"when": ref("formula"), "from": ref("formula")},
        partstorage.LOAD,
    )
    edge = text("rose(CLK) or fell(CLK).", r"[\s\S]*(rose|fell)[\s\S]*")
    bodies = {
        "clock": edge,
        "next": ref("formula"),
        "clear": ref("formula"),
        "preset": ref("formula"),
        "load": load,
    }
    return table("A register.", partstorage.REGISTER, bodies, ("clock", "next"))


def _latch() -> Schema:
    bodies = dict.fromkeys(partstorage.LATCH, ref("formula"))
    return table("A transparent latch.", partstorage.LATCH, bodies, ("open", "from"))


def _memory() -> Schema:
    bodies: dict[str, Schema] = {
        "words": text("How many words.", "[0-9]+"),
        "bits": text("Bits a word.", "[0-9]+"),
        "address": ref("formula"),
        "write": ref("formula"),
        "from": ref("formula"),
        "program": ref("formula"),
    }
    return table("A memory.", partstorage.MEMORY, bodies, ("words", "bits", "address"))


def _rows() -> Schema:
    bodies: dict[str, Schema] = {
        "from": text("Which table of which book; from memory is said."),
        "columns": text("Inputs | outputs.", r"[^|]*[^|\s][^|]*\|[^|]*[^|\s][^|]*"),
        "for": text("The values of # in the columns."),
        "start": names("What storage holds at first.", text("A number.")),
        "table": listed("Rows: cells | cells.", text("A row.", r"[^|]*\|[^|]*"), least=1),
    }
    return table("A table of the data sheet.", ROW_KEYS, bodies, ("from", "columns", "table"))


def _times() -> Schema:
    number = text("Nanoseconds.", _NUMBER)
    bodies: dict[str, Schema] = {
        "source": text("Which book, with supply, temperature and load; from memory is said."),
        "delays": names("A to Y: plh 15 phl 15.", text("Words and numbers."), r".+ to .+"),
        "setup": names("D before CLK rise: 20.", number, r".+ before .+ (rise|fall)"),
        "hold": names("D after CLK rise: 5.", number, r".+ after .+ (rise|fall)"),
        "width": names("CLK high low: 25.", number, r".+ (high|low)"),
        "clock": names("CLK: 25, in megahertz.", number, r".+"),
    }
    return table("The times of a family.", parttimes.ENTRIES, bodies, ("source",))
