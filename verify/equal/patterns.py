"""A circuit's levels in many states at once: a bit of a number for each."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence

from breadproof.verify.equal.readback import Bit, Circuit

PATTERNS = 2048
"""So many states are looked at."""

MASK = (1 << PATTERNS) - 1
"""All of them."""

Read = Callable[[str, Sequence[int]], Sequence[int]]
"""What a memory shows at an address, both least significant bit first."""


_SHOWS: dict[str, Callable[[int, int, int], int]] = {
    "$_BUF_": lambda a, b, s: a,
    "$_NOT_": lambda a, b, s: a ^ MASK,
    "$_AND_": lambda a, b, s: a & b,
    "$_NAND_": lambda a, b, s: (a & b) ^ MASK,
    "$_OR_": lambda a, b, s: a | b,
    "$_NOR_": lambda a, b, s: (a | b) ^ MASK,
    "$_XOR_": lambda a, b, s: a ^ b,
    "$_XNOR_": lambda a, b, s: a ^ b ^ MASK,
    "$_ANDNOT_": lambda a, b, s: a & (b ^ MASK),
    "$_ORNOT_": lambda a, b, s: a | (b ^ MASK),
    "$_MUX_": lambda a, b, s: (s & b) | (s ^ MASK) & a,
}
"""What gates show (of those with one or two inputs, the last is given again)."""


class Levels:
    """The levels of all bits, from those of inputs and registers; what nobody drives is low."""

    def __init__(self, circuit: Circuit, known: dict[int, int], read: Read) -> None:
        """Go through the circuit once."""
        self.circuit = circuit
        self.known: defaultdict[Bit, int] = defaultdict(int, {"1": MASK})
        for number, level in known.items():
            self.known[number] = level
        levels, gates, shows = self.known, circuit.gates, _SHOWS
        for one in circuit.order:
            if isinstance(one, int):
                gate = gates[one]
                bits = gate.inputs
                levels[one] = shows[gate.kind](
                    levels[bits[0]], levels[bits[len(bits) > 1]], levels[bits[-1]]
                )
                continue
            name, port = one
            address, data = circuit.memories[name].reads[port]
            for bit, level in zip(data, read(name, self.row(address)), strict=True):
                if isinstance(bit, int):
                    levels[bit] = level

    def at(self, bit: Bit) -> int:
        """The level of a bit."""
        return self.known[bit]

    def row(self, bits: Sequence[Bit]) -> list[int]:
        """The levels of several bits."""
        return [self.known[bit] for bit in bits]

    def after(self) -> dict[int, int]:
        """What each register takes."""
        return {bit: self.at(one.following) for bit, one in self.circuit.registers.items()}

    def with_level(self, wanted: Bit, path: Sequence[int], changed: dict[Bit, int]) -> int:
        """The level of a bit if others were ``changed``, which act on it by the gates ``path``."""
        gates = self.circuit.gates
        found = _Changed(self.known, changed)
        for one in path:
            gate = gates[one]
            bits = gate.inputs
            found[one] = _SHOWS[gate.kind](
                found[bits[0]], found[bits[len(bits) > 1]], found[bits[-1]]
            )
        return found[wanted]

    def between(self, bit: int, wanted: Bit) -> list[int]:
        """The gates by which a bit acts on another, each after those before it."""
        gates, acts = self.circuit.gates, {bit: True}
        order: list[int] = []
        stack = [wanted]
        while stack:
            one = stack[-1]
            if isinstance(one, str) or one in acts or one not in gates:
                if isinstance(one, int):
                    acts.setdefault(one, False)
                stack.pop()
                continue
            needs = [need for need in gates[one].inputs if isinstance(need, int)]
            missing = [need for need in needs if need not in acts]
            if missing:
                stack += missing
                continue
            acts[one] = any(acts[need] for need in needs)
            if acts[one]:
                order.append(one)
            stack.pop()
        return order


class _Changed(dict[Bit, int]):
    """Levels that have changed; all others are as they were."""

    def __init__(self, known: dict[Bit, int], changed: dict[Bit, int]) -> None:
        super().__init__(changed)
        self.before = known

    def __missing__(self, bit: Bit) -> int:
        return self.before[bit]


def chosen(test: int, then: int, other: int) -> int:
    """``test ? then : other``."""
    return (test & then) | (test ^ MASK) & other


def same(left: Sequence[int], right: Sequence[int]) -> int:
    """Where two words are equal."""
    found = MASK
    for a, b in zip(left, right, strict=True):
        found &= a ^ b ^ MASK
    return found


def looked_up(words: Sequence[int], address: Sequence[int], width: int) -> list[int]:
    """The words at addresses; beyond the last there is 0."""
    lines = [format(line, f"0{PATTERNS}b") for line in reversed(address)]
    places = [int("".join(line), 2) for line in zip(*lines, strict=True)] or [0] * PATTERNS
    digits = f"0{width}b"
    found = [
        format(words[place], digits) if place < len(words) else "0" * width for place in places
    ]
    return [int("".join(column), 2) for column in zip(*found, strict=True)][::-1]
