"""Why a design cannot be built, told from what the placing tool said."""

from __future__ import annotations

import re

from breadproof.export.fpga.report import CELLS
from breadproof.specs.reading.diagnostics import BadInput, Diagnostic, Span
from breadproof.specs.target.mapped import Mapped, MappedPin

_USED = re.compile(r"(\w+):\s+(\d+)/\s*(\d+)\s+\d+%")


class Unbuildable(BadInput):
    """A design that does not fit, is too slow, or wants a pin that is not there."""

    def __init__(self, message: str, *, hint: str, span: Span) -> None:
        """Take what is told."""
        diagnostic = Diagnostic(code="not-buildable", message=message, hint=hint, span=span)
        super().__init__([diagnostic])


def trouble(said: str, mapped: Mapped) -> Unbuildable | None:
    """The user's part in a failure of placing and routing, or None."""
    for line in said.splitlines():
        pins = {one.pin: one for one in _pins(mapped)}
        if "ERROR" not in line:
            continue
        named = [pin for pin in re.findall(r"'(\w+)'", line) if pin in pins]
        if named and ("does not" in line or "not have a pin" in line):
            return Unbuildable(
                f"{mapped.device.name} in {mapped.device.package} has no pin '{named[-1]}'",
                hint="Look at the package's pin table; supplies and programming pins do not count.",
                span=pins[named[-1]].span,
            )
    over = {
        (CELLS[kind], int(used), int(available))
        for kind, used, available in _USED.findall(said)
        if kind in CELLS and int(used) > int(available)
    }
    if over:
        device = mapped.device
        what = ", ".join(f"{used} {name} of {all_}" for name, used, all_ in sorted(over))
        return Unbuildable(
            f"the design is too large for {device.name}: it needs {what}",
            hint="Take a larger device, or leave out part of the board (a ROM takes a memory block "
            "for each 4 kbit in iCE40, 16 kbit in ECP5).",
            span=(mapped.target.device or mapped.target.board or mapped.target).span,
        )
    return None


def _pins(mapped: Mapped) -> list[MappedPin]:
    groups = [*(control.pins for control in mapped.controls)]
    groups += [out.pins for out in (*mapped.lamps, *mapped.ports)]
    groups += [(chain.load, chain.clock, chain.data) for chain in mapped.chains]
    return [pin for group in groups for pin in group if not pin.chain]
