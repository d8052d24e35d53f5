"""A design before and after synthesis, read as circuits between the same pads."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from breadproof.verify.equal import ecp5, ice40
from breadproof.verify.equal.plain import Pad, Plain
from breadproof.verify.equal.readback import Circuit, Unreadable, circuit_of
from breadproof.verify.equal.rows import remembering
from breadproof.verify.equal.tick import decided
from breadproof.verify.equal.yosys import run

_BLOCK = re.compile(r"(?P<memory>.+)\.(?P<copy>\d+)\.(?P<place>\d+)")
"""How yosys calls the blocks of a memory: copies for ports of their own, and places in a word that
is as long as all rows of it together."""

_TOP = "fpga"


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Which part of one of the design's memories a memory block is.

    Lane k of the block is bit ``bits[k]`` of the words whose numbers' upper bits are ``row``;
    bit i of the block's address is bit ``order[i]`` of a word's number, of which a row has
    ``len(order)``. ``certain``: it shows the word of before where it is read and written at once.
    ``waits``: its writes wait for a clock, so what enables them is decided by registers alone.
    """

    name: str
    memory: str
    row: int
    bits: tuple[int, ...]
    order: tuple[int, ...]
    certain: bool
    waits: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Synthesized:
    """Both circuits, and the blocks that hold the design's memories.

    ``rows`` are the design's registers that tell, for one that holds what a memory showed, of which
    row of blocks that was (see `rows`).
    """

    design: Circuit
    netlist: Circuit
    blocks: tuple[Block, ...]
    rows: Mapping[int, tuple[int, ...]] = field(default_factory=dict)


class PadsDiffer(Exception):
    """A pad is not the same, or not set up the same, before and after synthesis."""


def read_mapped(design: str, netlist: str, seconds: float) -> Synthesized:
    """Read a design (RTLIL) and what synthesis made of it (JSON of yosys).

    Raises:
        NoReader, ReadingFailed: yosys does not read the design.
        Unreadable: one of them holds what is not known here.
        PadsDiffer: see there.
    """
    try:
        after = _plain(json.loads(netlist)["modules"][_TOP])
    except (ValueError, KeyError) as error:
        raise Unreadable(f"the mapped netlist is not whole: {error}") from error
    held = {found["memory"] for name in after.orders if (found := _BLOCK.fullmatch(name))}
    # What is in no block became registers, or gates.
    spared = " ".join(f"c:{name} %d" for name in sorted(held))
    before = read_design(design, seconds, f"t:$mem_v2 {spared}")
    if before.pads != after.pads:
        raise PadsDiffer(_other_pad(before.pads, after.pads))
    ports = {name for name, port in before.ports.items() if port["direction"] == "output"}
    others = {name for name, port in after.ports.items() if port["direction"] == "output"}
    if ports != others:
        raise PadsDiffer(f"only one of the two drives {min(ports ^ others)}")
    before_clock, after_clock = before.clock(), after.clock()
    if after_clock not in ("", before_clock):
        raise PadsDiffer(f"the clock comes from {before_clock}, and in the netlist {after_clock}")
    first = circuit_of(before.plain(), before_clock)
    second = circuit_of(after.plain(), after_clock)
    blocks = tuple(_block(name, first, second, after) for name in second.memories)
    deep = {block.memory: len(block.order) for block in blocks if block.row}
    first, rows = remembering(first, deep)
    return Synthesized(design=first, netlist=second, blocks=blocks, rows=rows)


def read_design(design: str, seconds: float, spread: str = "") -> Plain:
    """A design in RTLIL; memories that ``spread`` selects become registers.

    Raises:
        NoReader, ReadingFailed, Unreadable: see `read_mapped`.
    """
    commands = [
        "read_rtlil board",
        f"hierarchy -top {_TOP}",
        *("proc", "flatten", "memory_collect", "memory_nordff"),
        *((f"select -set loose {spread}", "memory_map @loose") if spread else ()),
        *("dffunmap", "techmap"),
    ]
    return _plain(run(design, commands, _TOP, seconds))


def _plain(module: Mapping[str, Any]) -> Plain:
    plain = Plain(module)
    for name, cell in module["cells"].items():
        kind = cell["type"]
        if kind.startswith("$_") or kind == "$mem_v2":
            plain.cells[name] = cell
        elif kind != "$scopeinfo" and not any(
            family.plain_cell(plain, name, cell) for family in (ice40, ecp5)
        ):
            raise Unreadable(f"a cell of kind {kind}: {name}")
    return plain


def _other_pad(before: Mapping[str, Pad], after: Mapping[str, Pad]) -> str:
    for name in sorted({*before, *after}):
        one, other = before.get(name), after.get(name)
        if one != other:
            return f"the pad {name} is {one} before synthesis and {other} after it"
    raise AssertionError("unreachable: they differ")


def _block(name: str, design: Circuit, netlist: Circuit, plain: Plain) -> Block:
    """What a block holds, by its name; whether it does is for the proof to say."""
    found = _BLOCK.fullmatch(name)
    if found is None or found["memory"] not in design.memories:
        raise Unreadable(f"{name} is a part of no memory that is known")
    lanes, memory = netlist.memories[name].width, design.memories[found["memory"]]
    row, first = divmod(int(found["place"]) * lanes, memory.width)
    if int(found["copy"]):
        raise Unreadable(f"the words of {found['memory']} are in blocks twice")
    if row and memory.width % lanes:
        raise Unreadable(f"it is not known how the rows of {found['memory']} lie")
    deep = memory.size > 1 << len(plain.orders[name])
    return Block(
        name=name,
        memory=found["memory"],
        row=row,
        bits=tuple(range(first, first + lanes)),
        order=plain.orders[name],
        certain=name in plain.certain,
        waits=name not in plain.certain and any(_waits(netlist, name, deep)),
    )


def _waits(netlist: Circuit, name: str, deep: bool) -> Iterator[bool]:
    """For each lane, whether a register enables its writes; of many rows, with others."""
    for enables, _, _ in netlist.memories[name].writes:
        yield from (one in netlist.registers or (deep and decided(netlist, one)) for one in enables)
