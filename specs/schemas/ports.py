"""The schema of a ports file. The keys are the reader's."""

from __future__ import annotations

from breadproof.specs.reading.portmap import CLOCK_KEYS, KEYS, PLACE, PORT
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


def ports_schema() -> Schema:
    """What a ports file may be.

    Raises:
        ValueError: the reader knows a key that is not described here.
    """
    net = text("A net of the board.", PLACE)
    following = "Input ports, and the nets that they follow."
    clock = {"port": text("The port that is the clock.", PORT), "net": net}
    bodies: dict[str, Schema] = {
        "module": text("The module's name, if the Verilog has several."),
        "clock": table("The clock of all registers.", CLOCK_KEYS, clock, CLOCK_KEYS),
        "inputs": names(following, ref("places"), PORT, empty=True),
        "outputs": names("Output ports, and the nets or lamps they are.", ref("places"), PORT),
        "storage": names(
            "Registers that begin with what this storage of the board holds.", ref("places"), PORT,
            empty=True,
        ),
    }  # fmt: skip
    body = table("A ports file.", KEYS, bodies, ("outputs",))
    place = text("A net, a vector, a part of one, a lamp; '!' turns it over.", PLACE)
    places = either(place, listed("Several, most significant first.", place, least=1))
    return document("A ports file of breadproof", body, {"places": places})
