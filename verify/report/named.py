"""What a formula is about: the nets, pins, content and controls that it names."""

from __future__ import annotations

from dataclasses import dataclass, field

from breadproof.specs.formula import syntax as s
from breadproof.specs.machine.machine import Machine
from breadproof.specs.netlist.model import NetlistNames, Part, Pin
from breadproof.verify.report.insides import Insides


@dataclass(slots=True)
class Cast:
    """What a story is told with, each in the order in which it is first named.

    ``nets`` index `Netlist.nets`; ``pins`` are reading pins that suffer; ``stores`` are
    ``U3.R``; ``shows`` are nets at which these are seen; ``words`` are those of memories, such as
    word 3 of ``U7.M``; ``controls`` are names; ``drives`` are outputs that fight.
    """

    nets: dict[int, None] = field(default_factory=dict)
    pins: dict[str, None] = field(default_factory=dict)
    stores: dict[str, None] = field(default_factory=dict)
    shows: dict[int, None] = field(default_factory=dict)
    words: dict[tuple[str, int], None] = field(default_factory=dict)
    controls: dict[str, None] = field(default_factory=dict)
    drives: dict[str, None] = field(default_factory=dict)


class Named:
    """Collects what a formula names."""

    def __init__(self, machine: Machine, cast: Cast) -> None:
        """Collect into ``cast``."""
        self.machine = machine
        self.names = NetlistNames(machine.netlist)
        self.cast = cast

    def expression(self, expr: s.Expr) -> None:
        """All names of a formula."""
        stack = [expr]
        while stack:
            here = stack.pop()
            if isinstance(here, s.Name):
                self.name(here.path)
            if isinstance(here, s.Index):
                self.word(here)
            whole = (isinstance(here, s.Index) and self.one_bit(here)) or (
                isinstance(here, s.Part) and self.pin_vector(here)
            )
            if whole:
                continue
            stack.extend(reversed(s.children(here)))

    def one_bit(self, index: s.Index) -> bool:
        """``bus[3]``, if a net or way is called so."""
        if not isinstance(index.base, s.Name) or not isinstance(index.at, s.Number):
            return False
        return self.name(f"{index.base.path}[{index.at.value}]")

    def word(self, index: s.Index) -> None:
        """``U7.M[3]``; which word ``U7.M[addr]`` is, the nets of the address tell."""
        if isinstance(index.base, s.Name) and isinstance(index.at, s.Number):
            self.cast.words[index.base.path, index.at.value] = None

    def pin_vector(self, part: s.Part) -> bool:
        """``U3.Q[3:0]`` as its pins."""
        ends = (part.left, part.right)
        if not isinstance(part.base, s.Name) or "." not in part.base.path:
            return False
        numbers = [end.value for end in ends if isinstance(end, s.Number)]
        if len(numbers) != 2:
            return False
        found = [
            self.name(f"{part.base.path}{number}")
            for number in range(max(numbers), min(numbers) - 1, -1)
        ]
        return any(found)

    def name(self, path: str) -> bool:
        """Note what a name stands for; whether it stands for anything."""
        nets = self.names.nets_of(path)
        if nets is not None:
            self.cast.nets.update(dict.fromkeys(nets))
            return True
        head, _, rest = path.partition(".")
        part = self.names.parts.get(head.partition("[")[0])
        if part is None:
            return False
        if rest:
            return self.of_part(part, rest)
        return self.whole(part, path)

    def of_part(self, part: Part, rest: str) -> bool:
        """A pin, a storage or a memory of a part."""
        pin = part.pin(rest)
        if pin is not None:
            if pin.net is not None:
                self.cast.nets[pin.net] = None
            if pin.label in self.machine.pins:
                self.cast.pins[pin.label] = None
            return True
        if any(store.name == rest for store in part.type.storage):
            self.cast.stores[f"{part.name}.{rest}"] = None
            self.storage(part, f"{part.name}.{rest}")
            return True
        if any(memory.name == rest for memory in part.type.memories):
            self.memory(part)
            return True
        return False

    def whole(self, part: Part, path: str) -> bool:
        """A part by itself: its controls, lamps or write pins."""
        found = False
        for control in self.machine.netlist.controls:
            if control.part == part.name and (path == part.name or control.name == path):
                self.cast.controls[control.name] = None
                found = True
        for lamp in self.machine.netlist.lamps:
            if lamp.part == part.name and path in (lamp.name, part.name):
                self.cast.nets.update({lamp.anode: None, lamp.cathode: None})
                found = True
        for strobe in self.machine.strobes:
            if strobe.part == part.name and strobe.kind == "write":
                self.pins(part, strobe.pins)
                found = True
        return found

    def storage(self, part: Part, name: str) -> None:
        """Storage is seen at the outputs that show one bit of it; if there is none on a net, the
        way to it ends at its clock."""
        inside = Insides(part)
        labels = tuple(store.label for store in inside.built.stores if _whole(store.label) == name)
        found: dict[str, Pin] = {}
        for pin in part.pins:
            if pin.label in inside.built.drives and pin.net is not None:
                bits = inside.support(inside.output(pin.label)).stores
                if len(bits) == 1 and bits[0] in labels:
                    found.setdefault(bits[0], pin)
        seen = [found[label].net for label in labels if label in found]
        if not seen:
            clocks = inside.triggers(labels).pins
            seen = [pin.net for pin in part.pins if pin.name in clocks]
        self.cast.shows.update(dict.fromkeys(net for net in seen if net is not None))

    def memory(self, part: Part) -> None:
        """A memory's words are told of by what stands at its address and data pins."""
        for name in Insides(part).taken(()):
            pin = part.pin(name)
            if pin is not None and pin.net is not None:
                self.cast.nets[pin.net] = None

    def pins(self, part: Part, labels: tuple[str, ...]) -> None:
        """Those pins, with their nets."""
        for pin in part.pins:
            if pin.label in labels and pin.net is not None:
                self.cast.pins[pin.label] = None
                self.cast.nets[pin.net] = None


def _whole(label: str) -> str:
    """``U3.R`` of ``U3.R[2]``."""
    return label.partition("[")[0]
