"""What a board holds when power comes on: all 0 but for contents that are given, or by chance.

The same seed gives the same run, on every machine and in every engine.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from breadproof.specs.machine.machine import Machine, MemoryUnit

_MASK = (1 << 64) - 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """``storage`` by label (``U3.R[2]``), ``words`` by memory (``U7.M``), all of them; ``held``:
    levels of the registers of loops, in their order. ``seed`` also draws what is read where
    nothing drives, anew in each step; without one that is 0."""

    seed: int | None
    storage: Mapping[str, int]
    words: Mapping[str, tuple[int, ...]]
    held: tuple[int, ...]


def start_of(machine: Machine, stores: Iterable[str], held: int, seed: int | None) -> Start:
    """What a board with these bits of storage and so many held levels starts with.

    What is written at run time starts at 0, or by chance; storage whose level at power-on is sure
    (a capacitor is empty) has that.
    """
    dice = None if seed is None else random.Random(seed)
    storage = {label: 0 if dice is None else dice.getrandbits(1) for label in stores}
    for leaf, level in machine.first:
        found = machine.graph.leaf_of(leaf)
        if found is not None and f"{found.name}[{found.bit}]" in storage:
            storage[f"{found.name}[{found.bit}]"] = level
    levels = tuple(0 if dice is None else dice.getrandbits(1) for _ in range(held))
    words = {memory.label: _words(memory, dice) for memory in machine.memories}
    return Start(seed=seed, storage=storage, words=words, held=levels)


def _words(memory: MemoryUnit, dice: random.Random | None) -> tuple[int, ...]:
    if memory.contents is not None:
        return memory.contents
    if dice is None:
        return (0,) * memory.words
    size = (memory.bits + 7) // 8
    data, mask = dice.randbytes(size * memory.words), (1 << memory.bits) - 1
    return tuple(
        int.from_bytes(data[place : place + size], "little") & mask
        for place in range(0, len(data), size)
    )


def free_level(seed: int, step: int, reader: int) -> int:
    """What the reader of that number sees in a step where nothing drives.

    The finaliser of splitmix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number
    generators", OOPSLA 2014) over seed, step and reader; the compiled engine has the same lines.
    """
    z = (seed + step * 0x9E3779B97F4A7C15 + reader * 0xD1B54A32D192ED03) & _MASK
    z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
    z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & _MASK
    return (z ^ (z >> 31)) & 1
