"""A flat board with some pins on other nets, or with another chip in a socket.

For wiring faults: what a board file never says, but what a bench may hold. Names of nets stay with
the pins that are left on them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from networkx.utils import UnionFind

from breadproof.specs.catalogue.catalogue import Chip
from breadproof.specs.netlist import model as m
from breadproof.specs.netlist.controls import collect_controls
from breadproof.specs.netlist.crystals import swinging


def rewired(
    netlist: m.Netlist,
    moves: Mapping[str, int | None],
    joins: Iterable[tuple[int, int]] = (),
) -> m.Netlist:
    """The board with pins (``U3.5``) on other nets, None for none, and then some nets joined.

    A number one beyond the last net makes a new one, called after its first pin. Nets that are
    joined are called as the first supply among them, else as the first of them; what the others
    were called are aliases.
    """
    new_net = len(netlist.nets)
    find: UnionFind[int] = UnionFind(range(new_net + 1))
    for one, other in joins:
        find.union(one, other)
    groups: dict[int, list[int]] = {}
    for number in range(new_net + (new_net in moves.values())):
        groups.setdefault(find[number], []).append(number)
    number_of = {old: new for new, group in enumerate(groups.values()) for old in group}

    def placed(pin: m.Pin) -> m.Pin:
        net = moves.get(pin.label, pin.net)
        return replace(pin, net=None if net is None else number_of[net])

    parts = tuple(
        replace(part, pins=tuple(placed(pin) for pin in part.pins)) for part in netlist.parts
    )
    parts = _again_swinging(parts)
    on_net: dict[int, list[m.Pin]] = {}
    for pin in (pin for part in parts for pin in part.pins if pin.net is not None):
        on_net.setdefault(pin.net if pin.net is not None else -1, []).append(pin)
    nets: list[m.Net] = []
    aliases = [(name, number_of[net]) for name, net in netlist.aliases]
    for index, group in enumerate(groups.values()):
        pins = tuple(on_net.get(index, ()))
        if group == [new_net]:
            nets.append(m.Net(index=index, name=pins[0].label, pins=pins, span=pins[0].span))
            continue
        old = [netlist.nets[number] for number in group if number < new_net]
        chosen = next((net for net in old if net.rail is not None), old[0])
        nets.append(replace(chosen, index=index, pins=pins))
        aliases += [(net.name, index) for net in old if net is not chosen]
    ports = tuple(
        replace(port, nets=tuple(number_of[net] for net in port.nets)) for port in netlist.ports
    )
    vectors = tuple(
        replace(vector, nets=tuple(number_of[net] for net in vector.nets))
        for vector in netlist.vectors
    )
    return _again(
        replace(
            netlist,
            parts=parts,
            nets=tuple(nets),
            vectors=vectors,
            ports=ports,
            aliases=tuple(aliases),
        )
    )


def exchanged(netlist: m.Netlist, name: str, chip: Chip) -> m.Netlist:
    """The board with another chip in the place of part ``name``, pin for pin by number.

    A ROM that comes in is a blank one: all ones. The chip must have as many pins and no moments
    (`breadproof.specs.catalogue.part.PinKind`).
    """
    parts = tuple(_exchanged(part, chip) if part.name == name else part for part in netlist.parts)
    now = {pin.label: pin for part in parts for pin in part.pins}
    nets = tuple(
        replace(net, pins=tuple(now[pin.label] for pin in net.pins)) for net in netlist.nets
    )
    return _again(replace(netlist, parts=parts, nets=nets))


def _exchanged(part: m.Part, chip: Chip) -> m.Part:
    types = {pin.number: pin for pin in chip.type.pins}
    pins = tuple(
        replace(
            pin,
            name=types[pin.number].name,
            kind=types[pin.number].kind,
            role=types[pin.number].role,
        )
        for pin in sorted(part.pins, key=lambda pin: list(types).index(pin.number))
    )
    rom = next((memory for memory in chip.type.memories if memory.write is None), None)
    contents = ((1 << rom.bits) - 1,) * rom.words if rom is not None else ()
    return replace(
        part,
        printed=chip.printed,
        type=chip.type,
        family=chip.family,
        pins=pins,
        contents=contents,
    )


def _again(netlist: m.Netlist) -> m.Netlist:
    """With what follows from parts and nets found anew."""
    found = collect_controls(netlist.parts, netlist.ports, netlist.nets)
    return replace(
        netlist,
        controls=found.controls,
        contacts=found.contacts,
        resistors=found.resistors,
        lamps=found.lamps,
        diodes=found.diodes,
        links=found.links,
    )


def _again_swinging(parts: tuple[m.Part, ...]) -> tuple[m.Part, ...]:
    """Which pin of a crystal is a source depends on what is beside it."""
    plain = tuple(
        replace(
            part,
            pins=tuple(
                replace(pin, kind=kind.kind)
                for pin, kind in zip(part.pins, part.type.pins, strict=True)
            ),
        )
        if part.device == "crystal"
        else part
        for part in parts
    )
    return swinging(plain)
