"""Where the parts' storage, memories and pins are found in an instance of the generated class."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from breadproof.export.lowering.chips import ChipClass
from breadproof.specs.netlist.model import Netlist


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """``chips`` maps parts to attributes of the board, ``types`` part numbers to classes."""

    netlist: Netlist
    chips: Mapping[str, str]
    types: Mapping[str, ChipClass]

    def storage(self) -> dict[str, tuple[str, int]]:
        """Registers and latches (``U3.R``): attribute and width."""
        return {
            f"{part.name}.{storage.name}": (
                f"{self.chips[part.name]}.{self.types[part.type.key].storage[storage.name]}",
                storage.width,
            )
            for part in self.netlist.parts
            if part.device == "chip"
            for storage in part.type.storage
        }

    def memories(self, *, written: bool) -> dict[str, str]:
        """Memories (``U7.M``), or the write ports of those that are written: attribute."""
        found: dict[str, str] = {}
        for part in self.netlist.parts:
            if part.device != "chip":
                continue
            kind = self.types[part.type.key]
            for name, attribute in (kind.ports if written else kind.memories).items():
                found[f"{part.name}.{name}"] = f"{self.chips[part.name]}.{attribute}"
        return found

    def drives(self) -> dict[str, tuple[str, str]]:
        """Driving pins (``U3.9``): (level, drives), each an attribute or "0" or "1"."""
        found: dict[str, tuple[str, str]] = {}
        for part in self.netlist.parts:
            if part.device != "chip":
                continue
            chip, kind = self.chips[part.name], self.types[part.type.key]
            for pin in part.pins:
                if not pin.kind.drives:
                    continue
                drive = kind.drives[pin.name]
                low = pin.kind.sinks
                level = "0" if low else f"{chip}.{drive.level}"
                when = "1" if drive.when is None else f"{chip}.{drive.when}"
                found[pin.label] = (level, when)
        return found
