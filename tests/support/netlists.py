"""Two netlists as one value each, so that they can be compared up to places and order."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, is_dataclass
from typing import Any

from breadproof.specs.netlist.model import Netlist


def same(name: str) -> str:
    return name


def plain(netlist: Netlist, called: Callable[[str], str] = same) -> dict[str, Any]:
    """All that a netlist says, without spans, layout and order; ``called`` renames its nets."""
    name = {net.index: called(net.name) for net in netlist.nets}
    net_of = {number: name[number] for number in name}
    return {
        "board": (netlist.board, netlist.title, netlist.supply, netlist.together, netlist.reset),
        "parts": {
            part.name: (
                part.printed, part.device, part.type.key, part.family, part.positions,
                part.makes_before_breaks, part.ways, part.value, part.isolated, part.contents,
                part.common, part.complement, part.closed,
                tuple(
                    (pin.number, pin.name, pin.kind, pin.role,
                     None if pin.net is None else net_of[pin.net])
                    for pin in part.pins
                ),
            )
            for part in netlist.parts
        },
        "nets": {
            name[net.index]: (frozenset(pin.label for pin in net.pins), net.rail)
            for net in netlist.nets
        },
        "vectors": {
            (v.name, v.left, v.right): tuple(net_of[n] for n in v.nets) for v in netlist.vectors
        },
        "ports": {
            (p.name, p.direction, tuple(net_of[n] for n in p.nets), p.moment)
            for p in netlist.ports
        },
        "aliases": {(alias, net_of[index]) for alias, index in netlist.aliases},
        "controls": frozenset(netlist.controls),
        "contacts": frozenset((net_of[c.a], net_of[c.b], c.closing, c.pins)
                              for c in netlist.contacts),
        "resistors": frozenset((net_of[r.a], net_of[r.b], r.ohms, r.part)
                               for r in netlist.resistors),
        "diodes": frozenset((net_of[d.anode], net_of[d.cathode], d.part) for d in netlist.diodes),
        "links": frozenset((net_of[x.a], net_of[x.b], x.part) for x in netlist.links),
        "lamps": frozenset((x.name, net_of[x.anode], net_of[x.cathode], x.part, x.pins)
                           for x in netlist.lamps),
        "formulas": [(f.name, f.kind, f.says, f.text.value, shape(f.expr))
                     for f in netlist.formulas],
        "accepts": [(a.code, a.pin, a.net, a.because) for a in netlist.accepts],
    }  # fmt: skip


def shape(value: object) -> object:
    """A formula's tree without places."""
    if is_dataclass(value):
        inner = [shape(getattr(value, f.name)) for f in fields(value) if f.name != "stretch"]
        return (type(value).__name__, *inner)
    return tuple(map(shape, value)) if isinstance(value, tuple) else value
