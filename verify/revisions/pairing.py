"""Which node of one drawing is which of the other: graph matching from what is sure outwards.

Colour refinement (Weisfeiler and Leman 1968) over both drawings at once: a node's colour is made of
its own look and its neighbours' colours, again and again. A colour that one node of each drawing
has, and no other, pairs the two; paired nodes keep a colour of their own, so that what was changed
on one side of them does not make the other side strange. What is left is paired by its paired
neighbours, the likest first, and names decide between what is alike. A pairing claims nothing: what
differs under it is told pin by pin (`differences`), and that nothing does is checked apart
(`samewiring`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from breadproof.verify.revisions.drawing import Drawing

DEPTH = 16
"""So many rounds of refinement look that far around each node."""
CROWD = 60
"""Neighbours that so many nodes have in common tell nothing about them (the supplies)."""
LIKE = 0.5
"""The part of its edges that a node has in common with one that is likely to be the same."""


@dataclass(slots=True)
class Pairing:
    """``one`` maps nodes of the old drawing to those of the new one, ``two`` back."""

    old: Drawing
    new: Drawing
    one: dict[int, int] = field(default_factory=dict)
    two: dict[int, int] = field(default_factory=dict)

    def add(self, a: int, b: int) -> bool:
        """Pair two nodes if both are free and of a kind; whether they were.

        Gates go with their packages: those of paired parts, or of two free ones, which are then
        paired too.
        """
        if a in self.one or b in self.two or self.old.kinds[a] != self.new.kinds[b]:
            return False
        if self.old.kinds[a] == "unit":
            one, two = self.old.package(a), self.new.package(b)
            if self.one.get(one) != two and not self.add(one, two):
                return False
        self.one[a], self.two[b] = b, a
        return True


def pair(old: Drawing, new: Drawing, anchors: Iterable[tuple[int, int]]) -> Pairing:
    """Pair what can be paired; ``anchors`` are pairs that are sure (or tried out)."""
    pairing = Pairing(old, new)
    for a, b in anchors:
        pairing.add(a, b)
    for strict in (True, False):
        _Search(pairing, strict).run()
    _namesakes(pairing)
    _Search(pairing, False).run()
    return pairing


def sure_anchors(old: Drawing, new: Drawing) -> Iterator[tuple[int, int]]:
    """Supplies and ports of one name, and what people touch, see or plug in."""
    rails = [net for net in new.netlist.nets if net.rail is not None]
    for net in old.netlist.nets:
        if net.rail is None:
            continue
        same = [one for one in rails if one.rail == net.rail]
        chosen = next((one for one in same if one.name == net.name), None)
        if chosen is None and len(same) == 1:
            chosen = same[0]
        if chosen is not None:
            yield old.net_node[net.index], new.net_node[chosen.index]
    ports = {port.name: port for port in new.netlist.ports}
    for port in old.netlist.ports:
        other = ports.get(port.name)
        if other is not None and len(other.nets) == len(port.nets):
            for a, b in zip(port.nets, other.nets, strict=True):
                yield old.net_node[a], new.net_node[b]
    for name, node in old.part_node.items():
        other_node = new.part_node.get(name)
        if other_node is None:
            continue
        if name in old.looks[node].split() and old.looks[node] == new.looks[other_node]:
            yield node, other_node


def name_anchors(old: Drawing, new: Drawing) -> Iterator[tuple[int, int]]:
    """Parts of one name and function."""
    for name, node in old.part_node.items():
        other = new.part_node.get(name)
        if other is not None and old.rough[node] == new.rough[other]:
            yield node, other


@dataclass(slots=True)
class _Search:
    pairing: Pairing
    strict: bool
    sides: tuple[Drawing, Drawing] = field(init=False)
    colours: tuple[list[int], list[int]] = field(init=False)

    def __post_init__(self) -> None:
        self.sides = (self.pairing.old, self.pairing.new)
        self.colours = ([], [])

    def run(self) -> None:
        """Until nothing more is paired."""
        while self.unique() or self.likely(LIKE) or self.twins() or self.likely(0.0):
            pass

    def free(self, side: int) -> list[int]:
        taken: Mapping[int, int] = self.pairing.two if side else self.pairing.one
        return [node for node in range(len(self.sides[side].kinds)) if node not in taken]

    # refinement -------------------------------------------------------------------------------

    def unique(self) -> bool:
        """Refine, and pair what has a colour that no other node of its drawing has."""
        levels = list(self.refined())
        self.colours = levels[-1]
        for number in range(len(levels) - 1, -1, -1):
            one, two = (self.by_colour(side, levels[number][side]) for side in (0, 1))
            found = False
            for colour, nodes in one.items():
                others = two.get(colour, [])
                if len(nodes) == len(others) == 1:
                    strong = number > 1 or self.pairing.old.kinds[nodes[0]] == "part"
                    found |= strong and self.pairing.add(nodes[0], others[0])
            if found:
                return True
        return False

    def by_colour(self, side: int, colours: list[int]) -> dict[int, list[int]]:
        found: dict[int, list[int]] = {}
        for node in self.free(side):
            found.setdefault(colours[node], []).append(node)
        return found

    def refined(self) -> Iterator[tuple[list[int], list[int]]]:
        """The colours after no round, one round, and so on until no more are told apart."""
        numbers: dict[object, int] = {}

        def number(key: object) -> int:
            return numbers.setdefault(key, len(numbers))

        now: list[list[int]] = []
        for side, drawing in enumerate(self.sides):
            looks = drawing.looks if self.strict else drawing.rough
            partner: Mapping[int, int] = self.pairing.two if side else self.pairing.one
            fixed = [
                ("paired", node if not side else partner[node]) if node in partner else look
                for node, look in enumerate(looks)
            ]
            now.append([number(key) for key in fixed])
        free = (self.free(0), self.free(1))
        count = 0
        yield now[0], now[1]
        for _ in range(DEPTH):
            after = [list(colours) for colours in now]
            for side, drawing in enumerate(self.sides):
                colours, joins = now[side], drawing.joins
                for node in free[side]:
                    around = tuple(sorted((role, colours[other]) for role, other in joins[node]))
                    after[side][node] = number((colours[node], around))
            different = len({after[side][node] for side in (0, 1) for node in free[side]})
            if different == count:
                return
            count, now = different, after
            yield now[0], now[1]

    # the rest ---------------------------------------------------------------------------------

    def shared(self) -> dict[tuple[int, int], float]:
        """How many edges to paired neighbours each two free nodes have in common."""
        tables: list[dict[tuple[str, str, int], list[int]]] = []
        for side, drawing in enumerate(self.sides):
            partner: Mapping[int, int] = self.pairing.two if side else self.pairing.one
            table: dict[tuple[str, str, int], list[int]] = {}
            looks = drawing.looks if self.strict else drawing.rough
            for node in self.free(side):
                for role, other in drawing.joins[node]:
                    if other in partner:
                        place = partner[other] if side else other
                        table.setdefault((looks[node], role, place), []).append(node)
            tables.append(table)
        found: dict[tuple[int, int], float] = {}
        for key, nodes in tables[0].items():
            others = tables[1].get(key, [])
            if len(nodes) > CROWD or len(others) > CROWD:
                continue
            for a in nodes:
                for b in others:
                    found[a, b] = found.get((a, b), 0.0) + 1.0 / max(len(nodes), len(others))
        return found

    def likely(self, least: float) -> bool:
        """Pair by paired neighbours, the likest first."""
        old, new = self.sides
        ranked: list[tuple[float, bool, int, int]] = []
        for (a, b), score in self.shared().items():
            size = max(len(old.joins[a]), len(new.joins[b]))
            if score / size > least:
                ranked.append((-score / size, old.names[a] != new.names[b], a, b))
        found = False
        for _, _, a, b in sorted(ranked):
            found |= self.pairing.add(a, b)
        return found

    def twins(self) -> bool:
        """Pair nodes that nothing tells apart: those of one name, or the first of each."""
        old, new = self.sides
        one, two = (self.by_colour(side, self.colours[side]) for side in (0, 1))
        for colour, nodes in one.items():
            others = two.get(colour)
            if not others:
                continue
            settled = all(
                other in self.pairing.one for node in nodes for _, other in old.joins[node]
            )
            pairs = list(_by_name(nodes, others, old.names, new.names))
            for a, b in pairs if settled else pairs[:1]:
                self.pairing.add(a, b)
            return True
        return False


def _by_name(
    nodes: list[int], others: list[int], names: list[str], new: list[str]
) -> Iterator[tuple[int, int]]:
    """Pairs of one name first, then in order."""
    place = {new[node]: node for node in others}
    left = list(others)
    rest: list[int] = []
    for node in nodes:
        same = place.get(names[node])
        if same is not None and same in left:
            left.remove(same)
            yield node, same
        else:
            rest.append(node)
    yield from zip(rest, left, strict=False)


def _namesakes(pairing: Pairing) -> None:
    """Parts of one name that are left: one was exchanged for the other."""
    for name, node in pairing.old.part_node.items():
        other = pairing.new.part_node.get(name)
        if other is not None:
            pairing.add(node, other)
