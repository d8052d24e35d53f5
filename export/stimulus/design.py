"""The board wrapped for compiling, and where in the compiled program everything of it is."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from importlib.resources import files
from string import Template
from typing import Any

from breadproof.export.amaranth_file import Generated
from breadproof.export.contents import Withheld
from breadproof.export.simulate import Bench, built
from breadproof.export.stimulus.sights import Row

_MEMBER = re.compile(r"\b(value|wire|memory)<(\d+)> (?:memory_)?p_(\w+)\b")
_BIT = re.compile(r"(.+)\[(\d+)\]")


def _demangled(name: str) -> str:
    r"""A name of yosys as it was before cxxrtl made one of C++ of it: ``_2e_`` was a point."""
    return re.sub(
        r"__|_([0-9a-f]{2})_", lambda m: "_" if m[1] is None else chr(int(m[1], 16)), name
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A bit of a member of the compiled board: ``name`` before mangling."""

    name: str
    bit: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Members:
    """The members of the compiled board.

    ``kinds``: name before mangling to (value, wire or memory; name in C++). ``names``: each bit of
    yosys with all its names; ``bits``: the bits of each name.
    """

    kinds: Mapping[str, tuple[str, str]]
    names: Mapping[int, tuple[Place, ...]]
    bits: Mapping[str, tuple[int | str, ...]]

    @classmethod
    def read(cls, header: str, netnames: Mapping[str, Mapping[str, Any]]) -> Members:
        """From the header that cxxrtl wrote, and the names of the nets in yosys's JSON."""
        kinds = {
            _demangled(found[3]): (
                found[1],
                f"t.{'memory_' if found[1] == 'memory' else ''}p_{found[3]}",
            )
            for found in _MEMBER.finditer(header)
        }
        names: dict[int, list[Place]] = {}
        bits: dict[str, tuple[int | str, ...]] = {}
        for name, about in netnames.items():
            bits[name.rpartition(".")[2] if ".kept_" in name else name] = tuple(about["bits"])
            for bit, net in enumerate(about["bits"]):
                if isinstance(net, int):
                    names.setdefault(net, []).append(Place(name=name, bit=bit))
        return cls(kinds=kinds, names={net: tuple(of) for net, of in names.items()}, bits=bits)

    def member(self, name: str) -> str:
        """A member in C++."""
        return self.kinds[name][1]

    def register(self, place: Place) -> Place:
        """Where a bit of a register really is: of its names the one that cxxrtl kept as state."""
        net = self.bits[place.name][place.bit]
        for one in self.names[net] if isinstance(net, int) else ():
            if self.kinds.get(one.name, ("", ""))[0] == "wire":
                return one
        raise RuntimeError(f"cxxrtl keeps no register for {place.name}[{place.bit}]")


@dataclass(slots=True)
class Design:
    """The board in a module whose ports are all that is looked at and set, and where that is.

    ``row``: the places of the row; ``free``: what readers of unknown nets see; ``kept``: bits of
    storage, then held levels of loops; ``writes``: for each memory that is written the member
    names of enable, address and data, and its label.
    """

    module: Any
    ports: dict[str, tuple[Any, None]] = field(default_factory=dict)
    row: dict[int, Place] = field(default_factory=dict)
    free: list[Place] = field(default_factory=list)
    kept: list[Place] = field(default_factory=list)
    stores: set[str] = field(default_factory=set)
    memories: dict[str, tuple[str, int, int]] = field(default_factory=dict)
    writes: list[tuple[str, str]] = field(default_factory=list)
    ticks: int = 1

    @classmethod
    def wrapped(cls, generated: Generated, row: Row) -> Design:
        """A board's modules, wrapped."""
        from amaranth.hdl import ClockDomain, Module

        lowered = generated.lowered
        finder = Bench.__new__(Bench)
        finder.top = top = built(generated, Withheld(least=0).memory)
        module = Module()
        domain = ClockDomain("sync", reset_less=True)
        module.domains += domain
        module.submodules.top = top
        self = cls(module=module, ticks=lowered.cuts.ticks)
        self.ports["clk"] = (domain.clk, None)
        at = finder.at
        for number, place in enumerate(row.nets.values()):
            self.seen(f"n{number}", at(lowered.nets[number]), place)
        for number, (name, place) in enumerate(row.lamps.items()):
            self.seen(f"l{number}", at(lowered.lamps[name]), place)
        for number, (name, place) in enumerate(row.writes.items()):
            port = at(lowered.writes[name])
            self.seen(f"w{number}_en", port.en, place)
            self.seen(f"w{number}_addr", port.addr)
            self.seen(f"w{number}_data", port.data)
            self.writes.append((f"w{number}", name))
        if self.ticks > 1:
            self.seen("unsettled", top.unsettled)
        self.inputs(at, lowered.controls, row)
        for number, attribute in enumerate(lowered.free.values()):
            self.driven(f"f{number}", at(attribute))
            self.free.append(Place(name=f"f{number}"))
        labels = list(row.stores)
        for attribute, width in lowered.storage.values():
            for bit in range(width):
                label = labels[len(self.kept)]
                self.row[row.stores[label]] = kept = self.keep(at, attribute, bit)
                self.stores.add(kept.name)
        for held in lowered.held:
            found = _BIT.fullmatch(held.level)
            self.keep(at, *(held.level, 0) if found is None else (found[1], int(found[2])))
        for label, attribute in lowered.memories.items():
            memory = at(attribute)
            self.memories[label] = (f"top.{attribute}", memory.depth, len(memory.data[0]))
        return self

    def seen(self, name: str, value: Any, place: int | None = None) -> None:
        """A port for something that is looked at."""
        from amaranth.hdl import Signal

        port = Signal(len(value), name=name)
        self.module.d.comb += port.eq(value)
        self.ports[name] = (port, None)
        if place is not None:
            self.row[place] = Place(name=name)

    def driven(self, name: str, value: Any) -> None:
        """A port for something that is set."""
        from amaranth.hdl import Signal

        port = Signal(len(value), name=name)
        self.module.d.comb += value.eq(port)
        self.ports[name] = (port, None)

    def inputs(self, at: Callable[[str], Any], controls: Mapping[str, Any], row: Row) -> None:
        """Ports for the controls."""
        names: dict[str, str] = {}
        for control, bits in controls.items():
            for number, (attribute, bit) in enumerate(bits):
                if attribute not in names:
                    names[attribute] = f"c{len(names)}"
                    self.driven(names[attribute], at(attribute))
                self.row[row.control(control, number)] = Place(name=names[attribute], bit=bit)

    def keep(self, at: Callable[[str], Any], attribute: str, bit: int) -> Place:
        """A bit of a register, by a name of its own that yosys keeps."""
        signal = at(attribute)
        if not signal.name.startswith("kept_"):
            signal.name = f"kept_{len(self.kept)}"
            signal.attrs["keep"] = 1
        place = Place(name=signal.name, bit=bit)
        self.kept.append(place)
        return place

    # the text ---------------------------------------------------------------------------------

    def text(self, members: Members, source: str) -> str:
        """The board's part of the program that is compiled."""

        def bits(places: list[Place]) -> str:
            rows = (f"at({members.member(p.name)}, {p.bit})," for p in places)
            return "\n      ".join(rows) or "Bit{nullptr, nullptr, 0}"

        registers = {place: members.register(place) for place in self.kept}
        member = members.member
        converges = re.search(r"::eval\(.*?\{\s*bool converged = (true|false);", source, re.DOTALL)
        if converges is None:
            raise RuntimeError("cxxrtl does not say whether one evaluation is enough")
        moved = _moved(members, [registers[p] for p in self.kept if p.name in self.stores])
        changed = [
            f"writes({member(f'{port}_en')}, {member(f'{port}_addr')}, {member(f'{port}_data')}, "
            f"{member(self.memories[label][0])}, {self.memories[label][1]}u)"
            for port, label in self.writes
        ]
        unsettled = [f"*at({member('unsettled')}, 0).now & 1"] if self.ticks > 1 else []
        row = [registers.get(one, one) for _, one in sorted(self.row.items())]
        return Template(_template()).substitute(
            width=len(row), free=len(self.free), ticks=self.ticks,
            free_size=max(1, len(self.free)), kept_size=max(1, len(self.kept)),
            converges=converges[1], row=bits(row), free_bits=bits(self.free),
            kept_bits=bits(list(registers.values())),
            changes=" ||\n      ".join([*moved, *changed, *unsettled]) or "false",
            read="\n".join(
                f"      case {number}: return get({member(name)}, address, {depth}u);"
                for number, (name, depth, _) in enumerate(self.memories.values())
            ),
            write="\n".join(
                f"      case {number}: put({member(name)}, address, {depth}u, word); break;"
                for number, (name, depth, _) in enumerate(self.memories.values())
            ),
        )  # fmt: skip


def _template() -> str:
    return files("breadproof.export.stimulus").joinpath("board.cc").read_text("utf-8")


def _moved(members: Members, places: list[Place]) -> list[str]:
    """Whether the edge to come changes any of these bits."""
    masks: dict[tuple[str, int], int] = {}
    for place in places:
        key = (members.member(place.name), place.bit // 32)
        masks[key] = masks.get(key, 0) | 1 << place.bit % 32
    return [
        f"(({name}.curr.data[{chunk}] ^ {name}.next.data[{chunk}]) & {mask:#x}u)"
        for (name, chunk), mask in masks.items()
    ]
