"""Glitch, race, float and fight, worked out once more from design.md section 4."""

from __future__ import annotations

from collections.abc import Sequence

from breadproof.specs.catalogue.part import Latch
from breadproof.specs.formula import syntax as s
from breadproof.specs.netlist.model import Part
from tests.support.brute_looks import Bench, Look, Place, Seen, pins_of
from tests.support.second.words import X


class Checks:
    """Which standing checks a step breaks, by name."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.netlist = bench.netlist
        self.upstream = {
            place.main: self.registers_before(place)
            for place in bench.places
            if place.kind == "clock"
        }
        self.clock_nets = {
            f"{place.part}.{place.unit}": self.nets_of(place.pins)
            for place in bench.places
            if place.kind == "clock"
        }

    def nets_of(self, pins: Sequence[str]) -> tuple[int | None, ...]:
        nets = [(pin, self.bench.all_pins[pin].net) for pin in pins]
        return tuple(net for pin, net in nets if not self.tied(pin, net))

    def tied(self, pin: str, net: int | None) -> bool:
        """Whether a pin never moves: it is open and bipolar, or on a supply, or pulled to one."""
        if net is None:
            family = self.bench.by_name[pin.partition(".")[0]].family
            return family is not None and family.bipolar
        if self.netlist.nets[net].rail is not None:
            return True
        pulls = [r for r in self.netlist.resistors if net in (r.a, r.b)]
        ends = {self.netlist.nets[r.b if r.a == net else r.a].rail for r in pulls}
        moved = any(net in (c.a, c.b) for c in self.netlist.contacts)
        moved |= any(net in (d.anode, d.cathode) for d in self.netlist.diodes)
        moved |= any(net in port.nets for port in self.netlist.ports)
        moved |= any(end.kind.drives for end in self.netlist.nets[net].pins)
        return not moved and len(ends) == 1 and None not in ends

    def registers_before(self, place: Place) -> set[tuple[str, int]]:
        """Registers' bits whose content reaches what this clock captures, through gates alone."""
        part = self.bench.by_name[place.part]
        unit = next(u for u in part.type.storage if u.name == place.unit)
        found: set[tuple[str, int]] = set()
        stack = list(pins_of(part, unit.next.expr))  # type: ignore[union-attr]  # a clock's unit is a register
        seen: set[str] = set()
        while stack:
            pin = stack.pop()
            net = self.bench.all_pins[pin].net
            if pin in seen or net is None or self.netlist.nets[net].rail is not None:
                continue
            seen.add(pin)
            for index in self.joined(net):
                for end in self.netlist.nets[index].pins:
                    chip = self.bench.by_name.get(end.part)
                    if chip is not None and end.kind.drives:
                        bits, pins = self.behind(chip, end.name)
                        found |= bits
                        stack += pins
        return found

    def joined(self, net: int) -> set[int]:
        """Nets that contacts, diodes and resistors may make one; the rails lead nowhere."""
        seen, stack = {net}, [net]
        pairs = [(c.a, c.b) for c in self.netlist.contacts]
        pairs += [(r.a, r.b) for r in self.netlist.resistors]
        pairs += [(d.anode, d.cathode) for d in self.netlist.diodes]
        while stack:
            here = stack.pop()
            for a, b in [*pairs, *((b, a) for a, b in pairs)]:
                if a == here and b not in seen and self.netlist.nets[b].rail is None:
                    seen.add(b)
                    stack.append(b)
        return seen

    def behind(self, chip: Part, name: str) -> tuple[set[tuple[str, int]], list[str]]:
        """The storage bits and pins that an output pin depends on at once."""
        output = next(o for o in chip.type.logic if name in o.names)
        units = {unit.name: unit for unit in chip.type.storage}
        bits: set[tuple[str, int]] = set()
        pins: list[str] = []
        stack = [output.level.expr] + ([output.when.expr] if output.when else [])
        whole = output.level.expr
        if isinstance(whole, s.Name) and whole.path in units and len(output.names) > 1:
            place = len(output.names) - 1 - output.names.index(name)
            bits.add((f"{chip.name}.{whole.path}", place))
            stack = [output.when.expr] if output.when else []
        inner = {n: o for o in chip.type.inner for n in o.names}
        while stack:
            here = stack.pop()
            if (
                isinstance(here, s.Index)
                and isinstance(here.base, s.Name)
                and here.base.path in units
                and isinstance(here.at, s.Number)
            ):
                bits.add((f"{chip.name}.{here.base.path}", here.at.value))
                continue
            if isinstance(here, s.Name) and here.path in units:
                width = units[here.path].width
                bits |= {(f"{chip.name}.{here.path}", k) for k in range(width)}
            if isinstance(here, s.Name) and here.path in inner:
                stack.append(inner[here.path].level.expr)
            pins += pins_of(chip, here) if isinstance(here, s.Name | s.Index | s.Part) else []
            stack += s.children(here)
        registers = {f"{chip.name}.{u.name}" for u in chip.type.storage if not isinstance(u, Latch)}
        return {bit for bit in bits if bit[0] in registers}, pins

    def broken(self, before: Look | None, rounds: Sequence[Seen]) -> frozenset[str]:
        """Names as ``glitch:U1.3``; races go by the place, as ``race:U1.R.clock``.

        With a ``>`` behind it, if it matters only where open storage passes a pulse on; a race with
        a ``~``, if nothing moves but what open storage shows, somewhere on the board; floats with a
        ``~``, if X gets somewhere.
        """
        found: set[str] = set()
        passed = False
        first = before
        for seen in rounds:
            now = seen.look
            passes = any(now.may_move[p.main] for p in self.bench.places if p.source is not None)
            for place in self.bench.places:
                mark = ">" if place.source is not None else ""
                found |= {f"float:{pin}{mark}" for pin in place.pins if now.pin_floats[pin]}
                if before is None:
                    continue
                pulses = now.may_pulse[place.main]
                found |= {f"glitch:{p}{mark}" for p in place.pins if pulses and now.pin_moves[p]}
                if mark:
                    continue
                if self.races(place, before, now):
                    found.add(f"race:{place.main}")
                elif (passes or passed) and self.takes_in(place, before, now):
                    found.add(f"race:{place.main}~")
            before, passed = now, passes
        found |= {f"fights:{net}" for net in rounds[-1].look.fights}
        found |= {f"floats:{net}" for net in rounds[-1].look.read}
        if first is not None:
            found |= {f"floats:{net}" for seen in rounds for net in seen.look.taken}
        return frozenset(found)

    def takes_in(self, place: Place, before: Look, now: Look) -> bool:
        """Whether this is a round in which a place takes something in or lets it go."""
        unit = f"{place.part}.{place.unit}"
        match place.kind:
            case "clock":
                return unit in now.captured and self.edge(unit, before, now)
            case "write":
                return bool(before.on[place.main] or now.on[place.main])
            case _:
                return bool(before.on[place.main]) and not now.on[place.main]

    def races(self, place: Place, before: Look, now: Look) -> bool:
        unit = f"{place.part}.{place.unit}"

        def was(kind: str) -> int:
            return before.on.get(f"{unit}.{kind}", 0)

        def on(kind: str) -> int:
            return now.on.get(f"{unit}.{kind}", 0)

        ends = bool(before.on[place.main]) and not now.on[place.main]
        edge = unit in now.captured and self.edge(unit, before, now)
        match place.kind:
            case "clock":
                if not edge:
                    return False
                held = on("clear") or on("preset")
                moving = X in now.captured[unit] and not held
                return moving or self.skewed(place, before, now)
            case "clear" | "preset" | "load":
                other = any(
                    level != bit
                    for level, bit in zip(
                        now.captured.get(unit, ()), now.content[unit], strict=False
                    )
                )
                pair = was("clear") and was("preset") and not on("clear") and not on("preset")
                data = place.kind == "load" and now.sources_move[place.main]
                return ends and bool((edge and other) or pair or data)
            case "latch":
                return ends and now.sources_move[place.main]
            case "write":
                writes = before.on[place.main] or now.on[place.main]
                return bool(writes) and now.sources_move[place.main]
        raise AssertionError(place.kind)

    def edge(self, unit: str, before: Look, now: Look) -> bool:
        part, _, name = unit.partition(".")
        register = next(u for u in self.bench.by_name[part].type.storage if u.name == name)
        levels = (before.on[f"{unit}.clock"], now.on[f"{unit}.clock"])
        return levels == ((0, 1) if register.rising else (1, 0))  # type: ignore[union-attr]  # a register

    def skewed(self, place: Place, before: Look, now: Look) -> bool:
        """A register before this one, on another clock net, changes in this very round."""
        own = self.clock_nets[f"{place.part}.{place.unit}"]
        return any(
            self.clock_nets[unit] != own
            and self.edge(unit, before, now)
            and now.content[unit][bit] != now.after[unit][bit]
            for unit, bit in self.upstream[place.main]
        )
