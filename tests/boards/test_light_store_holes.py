"""The light-store on three breadboards is the very same board (issue 4)."""

from dataclasses import fields, is_dataclass, replace
from typing import Any

from breadproof.specs.breadboard.model import NO_BREADBOARD
from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.diagnostics import Span
from tests.boards.corpus import BOARDS

NOWHERE = Span(file="", line=1, column=1)


def without_places(value: Any) -> Any:
    """A value with every place in a file taken out, and the texts that carry places."""
    if isinstance(value, Span):
        return NOWHERE
    if isinstance(value, tuple):
        return tuple(without_places(one) for one in value)
    if is_dataclass(value) and not isinstance(value, type):
        kept = {
            field.name: without_places(getattr(value, field.name))
            for field in fields(value)
            if field.name not in ("text", "places", "lines", "type", "family")
        }
        return (type(value).__name__, tuple(sorted(kept.items(), key=lambda item: item[0])))
    return value


def bare(netlist: Netlist) -> Any:
    return without_places(replace(netlist, file="", title="", layout=NO_BREADBOARD))


def test_holes_and_nets_give_one_netlist() -> None:
    holes = load_netlist(BOARDS / "light-store-holes.yaml")
    nets = load_netlist(BOARDS / "light-store.yaml")
    assert bare(holes) == bare(nets)
    assert [part.type for part in holes.parts] == [part.type for part in nets.parts]
    assert [part.family for part in holes.parts] == [part.family for part in nets.parts]


def test_it_stands_on_three_breadboards_wire_by_wire() -> None:
    layout = load_netlist(BOARDS / "light-store-holes.yaml").layout
    assert len(layout.boards) == 3
    assert len({leg.pin.part for leg in layout.legs}) == 21
    assert len(layout.wires) > 400
