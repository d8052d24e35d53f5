"""The contents of a ROM as shared selectors: equal parts of the table are built once.

Each bit of a word is a decision diagram over the address, highest bit first, with inverted edges
(Bryant 1986; Brace, Rudell and Bryant 1990): equal or opposite blocks are one node, and an address
bit that decides nothing is not looked at. All words of the table are kept: it is exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from breadproof.verify.prove.aig import Aig


class Table:
    """The diagrams of one table. References are numbers as in `Aig`: ``2 * node``, odd inverted;
    node 0 is the constant false. ``nodes`` hold (address bit, then, else), each after its parts."""

    def __init__(self, contents: Sequence[int], bits: int, address_bits: int) -> None:
        """Words that ``contents`` lacks are 0; ``address_bits`` are the lines of the address."""
        self.nodes: list[tuple[int, int, int]] = [(0, 0, 0)]
        words = [*contents[: 1 << address_bits]]
        words += [0] * ((1 << address_bits) - len(words))
        rows = [[(word >> bit) & 1 for word in words] for bit in range(bits)]
        for place in reversed(range(address_bits)):
            known: dict[tuple[int, int], int] = {}
            rows = [self._halved(row, place, known) for row in rows]
        self.roots = [row[0] for row in rows]

    def _halved(self, row: list[int], place: int, known: dict[tuple[int, int], int]) -> list[int]:
        """References of blocks twice as long, from those of pairs of neighbours."""
        nodes, found = self.nodes, []
        for low, high in zip(row[::2], row[1::2], strict=True):
            if low == high:
                found.append(low)
                continue
            turned = low & 1
            key = high ^ turned, low ^ turned
            number = known.get(key)
            if number is None:
                number = known[key] = 2 * len(nodes)
                nodes.append((place, *key))
            found.append(number ^ turned)
        return found

    def read(self, aig: Aig, address: Sequence[int]) -> tuple[int, ...]:
        """The word's literals (least significant first) at an address (most significant first)."""
        nodes = self.nodes
        literals = [0] * len(nodes)
        for number in self._needed(address):
            place, high, low = nodes[number]
            then, other = literals[high >> 1] ^ (high & 1), literals[low >> 1] ^ (low & 1)
            literals[number] = aig.mux(address[place], then, other)
        return tuple(literals[root >> 1] ^ (root & 1) for root in self.roots)

    def _needed(self, address: Sequence[int]) -> list[int]:
        """Nodes that this address can lead to, each after its parts."""
        nodes = self.nodes
        wanted = bytearray(len(nodes))
        for root in self.roots:
            wanted[root >> 1] = 1
        for number in range(len(nodes) - 1, 0, -1):
            if wanted[number]:
                place, high, low = nodes[number]
                if address[place] != Aig.false:
                    wanted[high >> 1] = 1
                if address[place] != Aig.true:
                    wanted[low >> 1] = 1
        return [number for number in range(1, len(nodes)) if wanted[number]]


@lru_cache(maxsize=32)
def rom_table(contents: tuple[int, ...], bits: int, address_bits: int) -> Table:
    """The diagrams of a table, made once."""
    return Table(contents, bits, address_bits)
