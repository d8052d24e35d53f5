"""A board's behaviour as one finite-state machine: rounds and steps (design.md section 4)."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from breadproof.specs.machine.graph import Graph
from breadproof.specs.machine.steplogic import StepLogic
from breadproof.specs.netlist.model import ChipSwitch, Closing, Netlist


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreBit:
    """One bit of a register or latch.

    All fields but the names are nodes. ``leaf`` is its content, ``next`` its content after the
    round. A register captures ``captured`` (made of the levels of the round before) in a round in
    which ``edge`` holds; a latch has ``edge`` FALSE, and copies ``source`` while ``open``.
    ``clear``, ``preset`` and ``load`` act by level; ``source`` is also what a load loads.
    """

    part: str
    storage: str
    bit: int
    leaf: int
    next: int
    clock: int
    edge: int
    captured: int
    clear: int
    preset: int
    load: int
    open: int
    source: int

    @property
    def label(self) -> str:
        """``U3.R[2]``."""
        return f"{self.part}.{self.storage}[{self.bit}]"


@dataclass(frozen=True, slots=True, kw_only=True)
class MemoryUnit:
    """A memory of a part. ``contents`` are the words of a ROM; None for one that is written.

    ``address`` (most significant first), ``write`` and ``data`` (least significant first) are
    nodes: in a round in which ``write`` holds the word at ``address`` becomes ``data``.
    """

    part: str
    storage: str
    words: int
    bits: int
    address: tuple[int, ...]
    write: int
    data: tuple[int, ...]
    contents: tuple[int, ...] | None

    @property
    def label(self) -> str:
        """``U7.M``."""
        return f"{self.part}.{self.storage}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Loop:
    """Nets that depend on each other within a round.

    ``leaves[i]`` is the level of the i-th loop variable, ``functions[i]`` what drives it. The first
    ``cut`` of them cut all cycles; the rest stand in an order in which each needs only those
    before it and the cut. ``inner`` are the nodes between, in topological order, each with the
    variable it must wait for (-1: none but the cut). ``holds`` tells whether the loop can keep a
    level; if not, its nets are decided by the rest.
    """

    name: str
    variables: tuple[str, ...]
    leaves: tuple[int, ...]
    functions: tuple[int, ...]
    cut: int
    schedule: tuple[tuple[Literal["node", "variable"], int], ...]
    externals: tuple[int, ...]
    choices: tuple[int, ...]
    holds: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NetLevel:
    """What is known of a net in a round; all nodes.

    ``level`` is what a formula reads (any level where it floats or fights), ``known`` whether the
    net has a level of its own, ``driven`` whether anybody drives it, ``fights`` whether two do,
    ``drivers`` how many (least significant first). ``reached`` tells whether anything at all
    drives or pulls it: where nothing does, no current flows.
    """

    level: int
    known: int
    driven: int
    fights: int
    drivers: tuple[int, ...]
    reached: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PinLevel:
    """What a reading pin reads and whether it reads a net that has a level; both nodes.

    ``open_high`` marks a bipolar input that is connected to nothing and is taken as high.
    """

    level: int
    known: int
    open_high: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PinDrive:
    """What a pin puts on its net: ``level`` while ``when``; both nodes."""

    level: int
    when: int


StrobeKind = Literal["clock", "clear", "preset", "load", "latch", "write", "through", "program"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strobe:
    """A condition inside a part at which storage changes: what must not pulse by accident.

    ``condition`` is a node; for a clock it is the clock's level, whose ``rising`` or falling edge
    counts. ``pins`` are the pins it is made of. ``stores`` index `Machine.stores`, ``memory``
    indexes `Machine.memories`. A ``through`` is an input of storage while that is open, from where
    a pulse would reach another strobe or a loop; ``program`` is when a ROM would be written.
    """

    part: str
    kind: StrobeKind
    condition: int
    rising: bool
    pins: tuple[str, ...]
    stores: tuple[int, ...]
    memory: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """The board as a machine.

    ``wired`` is the board as it is wired; in ``netlist`` what takes its time (a capacitor that a
    resistor charges, a contact that bounces) is a chip.
    ``order`` is the order of evaluation within a round: a node, or ``~k`` for loop ``k``.
    ``controls`` maps each control to its leaf nodes, in the order of its bits.
    ``legal`` must hold of the controls at every moment (a switch is in one position at most).
    """

    netlist: Netlist
    wired: Netlist
    graph: Graph
    order: tuple[int, ...]
    controls: dict[str, tuple[int, ...]]
    legal: int
    stores: tuple[StoreBit, ...]
    memories: tuple[MemoryUnit, ...]
    loops: tuple[Loop, ...]
    nets: tuple[NetLevel, ...]
    pins: dict[str, PinLevel]
    drives: dict[str, PinDrive]
    lamps: dict[str, int]
    strobes: tuple[Strobe, ...]
    free: dict[str, int]
    """Leaf of the free level of each reader (``U3.5``, or a net's name for formulas)."""
    logic: StepLogic
    """What formulas remember and say at quiet moments."""
    first: tuple[tuple[int, int], ...] = ()
    """Leaves of storage with the level that they have when power comes on, where that is sure, and
    keep until the first quiet moment."""
    switches: dict[ChipSwitch, int] = field(default_factory=dict)
    """When each analogue switch of a chip is closed; nodes."""
    counted: dict[int, int] = field(default_factory=dict)
    """Levels of nets and pins, each with a node of the same level that is drawn for counting its
    changes. `level` takes a net to be unknown while it is not known who drives it; that would make
    every press of a button that pulls a net down into a possible pulse."""

    def through_loops(self) -> dict[int, tuple[int, ...]]:
        """What each loop's nets are made of, for `Graph.cone`."""
        return {
            leaf: (*loop.externals, *loop.functions) for loop in self.loops for leaf in loop.leaves
        }

    def closed(self, closing: Closing) -> int:
        """The node of what closes a contact."""
        if isinstance(closing, ChipSwitch):
            return self.switches[closing]
        return self.controls[closing.control][closing.bit]
