"""A run of a board: what can be replayed from itself alone (design.md section 8)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from breadproof.specs.netlist.model import Netlist
from breadproof.specs.netlist.segments import shown


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceRound:
    """The levels of all nets (name -> 0 or 1) and what was chosen for loops in one round.

    ``choices`` maps ``LOOP.K`` (loop name and cut number) to 0 or 1. ``unknown`` are the nets that
    float or fight: their level in ``nets`` is what a reader of the net's name happened to read.
    """

    nets: Mapping[str, int]
    choices: Mapping[str, int] = field(default_factory=dict)
    unknown: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceStep:
    """One step: the controls (name -> bits as in `Control.bits`), free levels by reader, rounds.

    ``writes`` are the parts whose memory wrote in any round. The last round is the quiet moment.
    """

    controls: Mapping[str, tuple[int, ...]]
    free: Mapping[str, int]
    rounds: tuple[TraceRound, ...]
    writes: tuple[str, ...]

    @property
    def nets(self) -> Mapping[str, int]:
        """The levels at the quiet moment."""
        return self.rounds[-1].nets


@dataclass(frozen=True, slots=True, kw_only=True)
class DontCare:
    """What in a run does not matter to what it shows.

    ``controls`` maps a control to the steps in which its level does not matter, ``storage`` has
    such bits (``U3.R[2]``) at power-up. Every run of as many steps that the board and its
    assumptions allow, and that is otherwise like this one, shows it in its last step.
    """

    controls: Mapping[str, tuple[int, ...]]
    storage: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """Power-up content and the steps; the first step is the first quiet moment.

    ``storage`` maps ``U3.R[2]`` to 0 or 1, ``words`` maps ``U7.M`` to address -> word; what is not
    given is 0. ``loops`` maps the nets of loops that hold to their levels at power-up.
    """

    storage: Mapping[str, int]
    words: Mapping[str, Mapping[int, int]]
    loops: Mapping[str, int]
    steps: tuple[TraceStep, ...]
    ends: bool = True
    """False for the run of a board that does not get quiet: its last step goes on."""
    loop: int | None = None
    """A run that goes on for ever: after its last step all is as after step ``loop``, and the steps
    behind that come again and again. What does not matter to the formula may differ."""
    same: tuple[str, ...] = ()
    """The storage (``U3.R[2]``) that is the same after step ``loop`` and after the last."""
    fewest: bool | None = None
    """Whether no run that is as short changes fewer controls; False: not known, None: not asked."""
    dont_care: DontCare | None = None
    """What does not matter, where that was looked for and found."""


def vector_text(width: int, value: int) -> str:
    """``8'hA5``; one bit is ``1'b1`` (IEEE 1364, 3.5.1)."""
    if width == 1:
        return f"1'b{value}"
    return f"{width}'h{value:0{(width + 3) // 4}X}"


def group_nets(netlist: Netlist, nets: Mapping[str, int]) -> dict[str, str]:
    """Levels by net and vector name, vectors as one text."""
    grouped: dict[str, str] = {}
    in_vector = {index for vector in netlist.vectors for index in vector.nets}
    for net in netlist.nets:
        if net.index not in in_vector and net.name in nets:
            grouped[net.name] = vector_text(1, nets[net.name])
    for vector in netlist.vectors:
        value = 0
        for index in vector.nets:
            value = 2 * value + nets[netlist.nets[index].name]
        grouped[vector.name] = vector_text(len(vector.nets), value)
    return grouped


def group_bits(bits: Mapping[str, int]) -> dict[str, str]:
    """``U3.R[0]``, ``U3.R[1]`` … as ``U3.R: 4'hA``."""
    values: dict[str, dict[int, int]] = {}
    for label, level in bits.items():
        name, _, number = label.removesuffix("]").rpartition("[")
        values.setdefault(name, {})[int(number)] = level
    return {
        name: vector_text(max(by) + 1, sum(level << bit for bit, level in by.items()))
        for name, by in values.items()
    }


def to_json(netlist: Netlist, trace: Trace) -> dict[str, Any]:
    """The trace as the ``trace`` object of ``--json``; vectors are text."""
    storage: dict[str, Any] = dict(group_bits(trace.storage))
    memories = {
        f"{part.name}.{memory.name}": memory.bits
        for part in netlist.parts
        for memory in part.type.memories
    }
    for label, words in trace.words.items():
        for address, word in sorted(words.items()):
            storage[f"{label}[{address}]"] = vector_text(memories[label], word)
    for name, level in trace.loops.items():
        storage[name] = vector_text(1, level)
    return {
        "ends": trace.ends,
        "loop": trace.loop,
        "same": list(trace.same),
        "fewest": trace.fewest,
        "dont_care": None if trace.dont_care is None else _dont_care(trace.dont_care),
        "start": {"storage": storage, "controls": _controls(netlist, trace.steps[0].controls)},
        "steps": [
            {
                "controls": _controls(netlist, step.controls),
                "free": {name: vector_text(1, level) for name, level in step.free.items()},
                "nets": group_nets(netlist, step.nets),
                **({"displays": shows} if (shows := displays(netlist, step.rounds[-1])) else {}),
                "writes": list(step.writes),
                "rounds": [
                    {
                        "nets": group_nets(netlist, one.nets),
                        "choices": {name: vector_text(1, v) for name, v in one.choices.items()},
                        "unknown": list(one.unknown),
                    }
                    for one in step.rounds
                ],
            }
            for step in trace.steps
        ],
    }


def _dont_care(found: DontCare) -> dict[str, Any]:
    steps = {name: list(steps) for name, steps in found.controls.items()}
    return {"controls": steps, "storage": list(found.storage)}


def control_text(netlist: Netlist, name: str, bits: tuple[int, ...]) -> str:
    """A control's state in words: a position, ``pressed``, ``closed``, or a vector text."""
    control = next(c for c in netlist.controls if c.name == name)
    match control.kind:
        case "changeover":
            part = netlist.part(name)
            positions = part.positions if part else ()
            chosen = [p for p, bit in zip(positions, bits, strict=True) if bit]
            return " and ".join(chosen) if chosen else "between"
        case "both":
            value = int("".join(map(str, bits[1:])), 2)
            return vector_text(len(bits) - 1, value) if bits[0] else "released"
        case "rotary":
            return _position(netlist, name, bits)
        case "button" | "way" | "jumper" | "oscillator" | "in" | "moment":
            return vector_text(len(bits), int("".join(map(str, bits)), 2))


def _position(netlist: Netlist, name: str, bits: tuple[int, ...]) -> str:
    """Where a rotary DIP switch stands: its digit, or ``between (F)`` with its code."""
    part = netlist.part(name)
    inverted = int(part is not None and part.complement)
    code = sum((bit ^ inverted) << place for place, bit in enumerate(reversed(bits)))
    return f"{code:X}" if part is not None and code < part.ways else f"between ({code:X})"


def displays(netlist: Netlist, one: TraceRound) -> dict[str, str]:
    """What each display shows in a round (see `segments.shown`); a segment with an end that floats
    is dark."""
    lit: dict[str, list[str]] = {
        part.name: [] for part in netlist.parts if part.device == "display"
    }
    for lamp in netlist.lamps if lit else ():
        anode, cathode = netlist.nets[lamp.anode].name, netlist.nets[lamp.cathode].name
        known = anode not in one.unknown and cathode not in one.unknown
        if lamp.part in lit and known and one.nets[anode] and not one.nets[cathode]:
            lit[lamp.part].append(lamp.name.partition("[")[2].removesuffix("]"))
    return {name: shown(segments) for name, segments in lit.items()}


def _controls(netlist: Netlist, controls: Mapping[str, tuple[int, ...]]) -> dict[str, str]:
    return {name: control_text(netlist, name, bits) for name, bits in controls.items()}
