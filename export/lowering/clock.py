"""Which control is the clock of a synchronous board."""

from __future__ import annotations

import networkx as nx

from breadproof.export.lowering.cuts import Standing, dependencies
from breadproof.export.lowering.gating import NotSynchronous
from breadproof.specs.catalogue.part import Role
from breadproof.specs.netlist.drive import plan_drives
from breadproof.specs.netlist.model import Control, Netlist
from breadproof.specs.reading.diagnostics import Problems


def clock_of(netlist: Netlist, wanted: str = "") -> str:
    """The control that is the clock: the one that is ``wanted``, or else the only oscillator or
    input port of one bit that comes to a clock pin.

    Raises:
        NotSynchronous: if there is none, or several, or the one that is wanted has several bits.
        BadInput: for tangled contacts.
    """
    single = [control for control in netlist.controls if len(control.bits) == 1]
    if wanted:
        if any(control.name == wanted for control in single):
            return wanted
        raise NotSynchronous(f"'{wanted}' is no control of one bit")
    found = [control for control in single if control.kind in ("oscillator", "in")]
    found = _clocking(netlist, found)
    if len(found) == 1:
        return found[0].name
    if not found:
        raise NotSynchronous("no oscillator, and no input port of one bit, comes to a clock pin")
    names = ", ".join(control.name for control in found)
    raise NotSynchronous(
        f"several come to clock pins: {names}; say with --clock which is the clock"
    )


def _clocking(netlist: Netlist, controls: list[Control]) -> list[Control]:
    """Those controls that come to a clock pin, through gates or not."""
    problems = Problems()
    plans = plan_drives(netlist, problems)
    problems.stop_if_any()
    nothing: frozenset[int] = frozenset()
    needs = dependencies(netlist, plans, Standing(constant=nothing, known=nothing, driven=nothing))
    clocks = {
        pin.net
        for pin in netlist.pins()
        if pin.role is Role.CLOCK and pin.kind.reads and pin.net is not None
    }
    before = clocks.union(*(nx.ancestors(needs, net) for net in sorted(clocks)))
    return [control for control in controls if _nets(netlist, control) & before]


def _nets(netlist: Netlist, control: Control) -> set[int]:
    """The nets that an oscillator or a port drives."""
    found = {net for port in netlist.ports if port.name == control.name for net in port.nets}
    part = None if control.part is None else netlist.part(control.part)
    if part is not None:
        found |= {pin.net for pin in part.pins if pin.kind.drives and pin.net is not None}
    return found
