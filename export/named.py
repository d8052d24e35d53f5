"""What the signals of a board are called in its Verilog or RTLIL.

Amaranth gives a signal another name where two of a module would have the same: a net ``level`` and
the port of a resolver. Who reads the text back needs the names that are in it.
"""

from __future__ import annotations

from functools import reduce
from typing import Any

from breadproof.export.amaranth_file import Generated
from breadproof.export.contents import Withheld
from breadproof.export.lowering.attributes import place_of
from breadproof.export.verilog import CLOCK, module_name
from breadproof.specs.netlist.model import Netlist


def names_in_text(netlist: Netlist, generated: Generated) -> dict[str, str]:
    """The name of each attribute that the maps of `Lowered` lead to, without its bit, as a path
    below the top module (``U1.R``); what has the same name in both is there, too."""
    from amaranth.back import rtlil as back
    from amaranth.hdl import DomainRenamer, Fragment

    from breadproof.export.simulate import built

    top = built(generated, Withheld().memory)
    ports = {
        "__".join(map(str, path)): (value, None)
        for path, _member, value in top.signature.flatten(top)
    }
    fragment = Fragment.get(DomainRenamer(CLOCK)(top), None)
    name = module_name(netlist)
    _, names = back.convert_fragment(fragment, ports, name, emit_src=False)
    return names_of(generated, top, names)


def names_of(generated: Generated, board: Any, names: Any) -> dict[str, str]:
    """The same of a board's module in a design whose signals have those ``names`` (Amaranth's: the
    modules down from the top one, and the signal's own)."""
    found: dict[str, str] = {}
    for attribute in _attributes(generated):
        signal = reduce(getattr, attribute.split("."), board)
        if signal in names:
            found[attribute] = ".".join(names[signal][1:])
    return found


def _attributes(generated: Generated) -> list[str]:
    lowered = generated.lowered
    places = [*lowered.nets, *lowered.lamps.values(), *lowered.outputs.values()]
    places += [attribute for attribute, _ in lowered.storage.values()]
    places += [attribute for bits in lowered.controls.values() for attribute, _ in bits]
    for held in lowered.held:
        places += [held.level] if held.known is None else [held.level, held.known]
    places += ["tick", "unsettled"] if lowered.cuts.ticks > 1 else []
    return list(dict.fromkeys(place_of(place)[0] for place in places))
