"""Spare gates: the units of a package (gates, flip-flops, buffers) whose outputs lead nowhere."""

from __future__ import annotations

from dataclasses import dataclass

from networkx.utils import UnionFind

from breadproof.specs.netlist.model import Part
from breadproof.verify.wiring.chips import Chip
from breadproof.verify.wiring.inputs import PLAIN
from breadproof.verify.wiring.survey import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """A gate, flip-flop or the like of a package, by pin numbers.

    ``inputs`` are its own; what it shares with others (a common clock, an enable) is left out.
    """

    inputs: tuple[str, ...]
    outputs: tuple[str, ...]

    @property
    def text(self) -> str:
        """``12, 13 to 11``."""
        return f"{', '.join(self.inputs)} to {', '.join(self.outputs)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spare:
    """The units of a package that are free to be used, and how many it has in all."""

    part: Part
    units: tuple[Unit, ...]
    of: int


def spare_units(survey: Survey) -> tuple[Spare, ...]:
    """The spare units of packages of several, in order of the board.

    A unit is spare if none of its outputs leads anywhere: each is open, alone on its net, or tied
    to a supply. A package none of whose units is used has all of them here.
    """
    found: list[Spare] = []
    known: dict[str, tuple[Unit, ...]] = {}
    for part in survey.chips:
        if part.type.key not in known:
            known[part.type.key] = units_of(survey.chip(part))
        units = known[part.type.key]
        free = tuple(unit for unit in units if not _used(survey, part, unit))
        if len(units) > 1 and free:
            found.append(Spare(part=part, units=free, of=len(units)))
    return tuple(found)


def units_of(chip: Chip) -> tuple[Unit, ...]:
    """The units of a type of chip: outputs that share a data input are one.

    Outputs that have no data input (a decoder's, a counter's) are one if they share any input.
    An analogue switch is a unit with the two pins that it joins for outputs.
    """
    depends = {output: chip.depends_on(output) - {output} for output in chip.drives}
    group: UnionFind[str] = UnionFind()
    for output, inputs in depends.items():
        data = [pin for pin in sorted(inputs) if chip.pins[pin].role in PLAIN]
        group.union(f"out {output}", *(f"in {pin}" for pin in data or sorted(inputs)))
    units: dict[str, list[str]] = {}
    for output in depends:
        units.setdefault(group[f"out {output}"], []).append(output)
    needs = [frozenset().union(*(depends[o] for o in outputs)) for outputs in units.values()]
    needs += [frozenset(switch.inputs) for switch in chip.switches]
    ends = [tuple(outputs) for outputs in units.values()]
    ends += [switch.joins for switch in chip.switches]
    found = []
    for at, (inputs, outputs) in enumerate(zip(needs, ends, strict=True)):
        others = frozenset().union(*needs[:at], *needs[at + 1 :])
        own = inputs - others - frozenset(outputs)
        found.append(
            Unit(
                inputs=tuple(number for number in chip.pins if number in own),
                outputs=tuple(number for number in chip.pins if number in outputs),
            )
        )
    return tuple(found)


def _used(survey: Survey, part: Part, unit: Unit) -> bool:
    for number in unit.outputs:
        pin = part.pin(number)
        net = None if pin is None else survey.net(pin)
        if pin is None or net is None or net.rail is not None:
            continue
        if not survey.joined_to_nothing(pin):
            return True
    return False
