"""The schema of a script. The keys are the reader's."""

from __future__ import annotations

from breadproof.specs.reading.script import CHECK_KEYS, CLOCK_KEYS, ENTRIES, KEYS, REPEAT_KEYS
from breadproof.specs.schemas.pieces import (
    Schema,
    document,
    either,
    listed,
    names,
    ref,
    table,
    text,
)

_TIMES = "[0-9_]+"
_ANY = r"[\s\S]+"


def _but(keys: tuple[str, ...]) -> str:
    """Any name but these keys, which make another form."""
    return rf"(?!({'|'.join(keys)})$){_ANY}"


def script_schema() -> Schema:
    """What a script may be.

    Raises:
        ValueError: the reader knows a key that is not described here.
    """
    entries = listed("What is done, one thing after another.", ref("entry"))
    body = table("A script.", KEYS, {"stimulus": entries}, KEYS)
    return document("A script of breadproof", body, _definitions())


def _definitions() -> dict[str, Schema]:
    bodies = {
        "drive": names("Controls and what they are set to.", text("A value."), _ANY),
        "press": either(
            text("A button, pressed and let go."),
            listed("Buttons, one after another.", text("A button."), least=1),
        ),
        "clock": either(_waiting(), _running()),
        "check": either(
            text("A formula that is to hold."),
            _asking(),
            names("Nets and their levels.", text("A level."), _but(CHECK_KEYS)),
        ),
        "repeat": table(
            "Entries, done several times.",
            REPEAT_KEYS,
            {
                "times": text("How often.", _TIMES),
                "stimulus": listed("What is done.", ref("entry")),
            },
            REPEAT_KEYS,
        ),
    }
    entry = table("One thing that is done, or looked at.", ENTRIES, bodies)
    return {"entry": {**entry, "minProperties": 1, "maxProperties": 1}}


def _running() -> Schema:
    """``{clk: 12}``."""
    body = names(
        "A clock and how many whole periods it runs.", text("Periods.", _TIMES), _but(CLOCK_KEYS)
    )
    return {**body, "minProperties": 1, "maxProperties": 1}


def _waiting() -> Schema:
    """With the clock under ``name``."""
    bodies = {
        "name": text("The clock."),
        "times": text("Periods.", _TIMES),
        "until": text("The formula that is waited for."),
        "most": text("Periods in which it must come.", _TIMES),
    }
    body = table("A clock, and how long it runs.", CLOCK_KEYS, bodies, ("name",))
    forms = (["times"], ["until"])
    return {**body, "oneOf": [{"required": keys} for keys in forms]}


def _asking() -> Schema:
    bodies = {
        "says": text("The sentence that it stands for."),
        "formula": text("A formula without temporal operators."),
    }
    return table("A formula and its sentence.", CHECK_KEYS, bodies, ("formula",))
