"""Tracked words as bits of the state, and what they are compared with (see `tracked`)."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from breadproof.specs.machine.machine import Machine
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.relations import Supports
from breadproof.verify.prove.tracked import Literals


@dataclass(slots=True)
class Watched:
    """The tracked words' bits of the state, (now, then) by name.

    Comparisons tell where a tracked address or word differs from levels of the same place, and
    whether it is the same as all levels of one kind: an invariant about any address is short in
    these, and long without. ``parts`` has for each comparison the bits it is made of.
    """

    bits: dict[str, tuple[int, int]] = field(default_factory=dict)
    parts: dict[str, tuple[str, ...]] = field(default_factory=dict)


def watch(
    machine: Machine,
    aig: Aig,
    words: Sequence[Literals],
    now: dict[str, int],
    then: dict[str, int],
    name_of: Callable[[int], str],
) -> Watched:
    """The bits of tracked words. ``now`` and ``then`` are the other bits of the state, by name;
    ``name_of`` names the bit of a leaf."""
    found = Watched()
    if not words:
        return found
    supports = Supports(machine)
    state = {name: (literal, then[name]) for name, literal in now.items()}
    for word in words:
        found.bits[f"{word.one.name} counts"] = (word.match, word.match_then)
        kinds = ("address", word.address, word.address), ("data", word.word, word.word_then)
        for what, before, after in kinds:
            places = [
                [name for name in map(name_of, leaves) if name in state]
                for leaves in supports.alike(word.one.memory, what)
            ]
            for place, pair in enumerate(zip(before, after, strict=True)):
                found.bits[f"{word.one.name} {what}[{place}]"] = pair
            _relate(aig, found, f"{word.one.name} {what}", places, state)
    return found


def _relate(
    aig: Aig,
    found: Watched,
    name: str,
    places: Sequence[Sequence[str]],
    state: dict[str, tuple[int, int]],
) -> None:
    """Compare an address or word with what carries the same places."""
    groups: dict[tuple[str, int], list[str]] = {}
    for place, others in enumerate(places):
        for key, other in zip(_kinds(others), others, strict=True):
            _compare(aig, found, f"{name}[{place}]", other, state)
            groups.setdefault(key, []).append(other)
    for others in groups.values():
        if len(others) == len(places):
            _compare_all(aig, found, name, others)


def _compare(
    aig: Aig, found: Watched, name: str, other: str, state: dict[str, tuple[int, int]]
) -> None:
    (a, b), (x, y) = found.bits[name], state[other]
    found.bits[f"{name} ^ {other}"] = (aig.xor(a, x), aig.xor(b, y))
    found.parts[f"{name} ^ {other}"] = (name, other)


def _compare_all(aig: Aig, found: Watched, name: str, others: Sequence[str]) -> None:
    parts = [f"{name}[{place}] ^ {other}" for place, other in enumerate(others)]
    pairs = [found.bits[part] for part in parts]
    now, then = (aig.and_([pair[side] ^ 1 for pair in pairs]) for side in (0, 1))
    whole = f"{name} == {{{', '.join(reversed(others))}}}"
    found.bits[whole], found.parts[whole] = (now, then), tuple(parts)


def _kinds(names: Sequence[str]) -> list[tuple[str, int]]:
    """What names have in common with those of other places: all but numbers, and their order."""
    found: list[tuple[str, int]] = []
    count: dict[str, int] = {}
    for name in names:
        kind = re.sub("[0-9]+", "#", name)
        count[kind] = count.get(kind, 0) + 1
        found.append((kind, count[kind]))
    return found
