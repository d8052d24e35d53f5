"""What signals of the modules are called in the Verilog that is exported.

Nearly always by their own names; where a chip or a resolver has a port of the same name, Amaranth
adds a number to one of them.
"""

from __future__ import annotations

import re
from typing import Any

from breadproof.export.amaranth_file import Generated
from breadproof.export.contents import Withheld
from breadproof.export.simulate import Bench, built
from breadproof.export.verilog import CLOCK, module_name
from breadproof.specs.netlist.model import Netlist

_BIT = re.compile(r"(.+)(\[\d+\])")


class VerilogNames:
    """Looks up names of one board; the same steps as in `breadproof.export.verilog`."""

    def __init__(self, netlist: Netlist, generated: Generated) -> None:
        """Let Amaranth name everything."""
        from amaranth.back.rtlil import convert_fragment
        from amaranth.hdl import DomainRenamer, Fragment

        self.finder = Bench.__new__(Bench)
        self.finder.top = top = built(generated, Withheld(least=0).memory)
        ports = {
            "__".join(map(str, path)): (value, None)
            for path, _member, value in top.signature.flatten(top)
        }
        fragment = Fragment.get(DomainRenamer(CLOCK)(top), None)
        name = module_name(netlist)
        _, self.names = convert_fragment(fragment, ports, name, emit_src=False)

    def of(self, attribute: str) -> tuple[str, ...]:
        """The path of an attribute below the top module; a bit of it has that behind."""
        found = _BIT.fullmatch(attribute)
        name, bit = (attribute, "") if found is None else (found[1], found[2])
        *path, last = self._path(self.finder.at(name), name)
        return (*path, last + bit)

    def port(self, attribute: str, what: str) -> tuple[str, ...]:
        """The path of a part of a memory's write port: ``en``, ``addr`` or ``data``."""
        return self._path(getattr(self.finder.at(attribute), what), f"{attribute}__{what}")

    def _path(self, signal: Any, attribute: str) -> tuple[str, ...]:
        """The path of a signal; where Amaranth has no name for it, that of its attribute."""
        named = self.names.get(signal)
        return tuple(attribute.split(".")) if named is None else tuple(named[1:])
