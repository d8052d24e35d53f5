"""Nets from what wires, holes and rails join, beside the nets that the board file lists."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field

from networkx.utils import UnionFind

from breadproof.specs.breadboard.model import End, Layout, NetEnd, PinEnd, joined
from breadproof.specs.reading.diagnostics import Problems, Span

PinKey = tuple[str, str]
"""(part, pin number)"""


@dataclass(slots=True)
class Nets:
    """The nets of a board while they are found.

    ``names`` has one for each net, in order; ``taken`` tells the net of each pin, and where the
    file says so; ``aliases`` are further names of a net.
    """

    names: list[tuple[str, Span]] = field(default_factory=list)
    taken: dict[PinKey, tuple[int, Span]] = field(default_factory=dict)
    aliases: dict[str, int] = field(default_factory=dict)


def join(
    nets: Nets, layout: Layout, supplies: frozenset[str], problems: Problems
) -> tuple[Nets, dict[int, int]]:
    """The nets once everything is joined, and the new number of each old one.

    A net is called as the file calls it (that of a supply wins, then the first; the others are
    aliases), else by its first pin. A pin in a hole with nothing else is on no net.
    """
    work = _Joining(nets, layout, supplies, problems)
    return work.joined()


@dataclass(slots=True)
class _Joining:
    before: Nets
    layout: Layout
    supplies: frozenset[str]
    problems: Problems
    find: UnionFind[Hashable] = field(default_factory=UnionFind)
    index: dict[str, int] = field(default_factory=dict)
    places: dict[PinKey, Span] = field(default_factory=dict)

    def joined(self) -> tuple[Nets, dict[int, int]]:
        self.index = {name: place for place, (name, _) in enumerate(self.before.names)}
        for key, (net, span) in self.before.taken.items():
            self.places[key] = span
            self.find.union(net, key)
        for leg in self.layout.legs:
            key = (leg.pin.part, leg.pin.number)
            self.places.setdefault(key, leg.span)
            self.find.union(key, joined(leg.place))
        wired: list[Hashable] = []
        for wire in self.layout.wires:
            first, second = (self.node(end, wire.span) for end in wire.ends)
            self.find.union(first, second)
            wired.append(first)
        named = [(name, self.node(end, span), span) for name, end, span in self.layout.names]
        return self.numbered(wired, named)

    def node(self, end: End, span: Span) -> Hashable:
        if isinstance(end, PinEnd):
            self.places.setdefault((end.part, end.number), span)
            return (end.part, end.number)
        if isinstance(end, NetEnd):
            if end.name not in self.index:
                self.index[end.name] = len(self.before.names)
                self.before.names.append((end.name, span))
            return self.index[end.name]
        return joined(end)

    def numbered(
        self, wired: list[Hashable], named: list[tuple[str, Hashable, Span]]
    ) -> tuple[Nets, dict[int, int]]:
        """Roots become nets: first those with a name, in their order, then those of pins."""
        after = Nets()
        number: dict[Hashable, int] = {}
        moved: dict[int, int] = {}
        for old, (name, span) in enumerate(self.before.names):
            root = self.find[old]
            if root not in number:
                number[root] = len(after.names)
                after.names.append((name, span))
            else:
                self.another(name, span, number[root], after)
            moved[old] = number[root]
        known = {name: place for place, (name, _) in enumerate(after.names)} | after.aliases
        for name, node, span in named:
            self.name(name, self.find[node], span, number, after, known)
        lively = {self.find[node] for node in wired}
        counts: dict[Hashable, int] = {}
        for key in self.places:
            counts[self.find[key]] = counts.get(self.find[key], 0) + 1
        for key, span in self.places.items():
            root = self.find[key]
            if root not in number and (counts[root] > 1 or root in lively):
                number[root] = len(after.names)
                after.names.append((".".join(key), span))
            if root in number:
                after.taken[key] = (number[root], span)
        return after, moved

    def another(self, name: str, span: Span, place: int, after: Nets) -> None:
        """One more name of a net."""
        first = after.names[place]
        if name in self.supplies and first[0] not in self.supplies:
            after.names[place] = (name, span)
            name = first[0]
        after.aliases[name] = place

    def name(
        self,
        name: str,
        root: Hashable,
        span: Span,
        number: dict[Hashable, int],
        after: Nets,
        known: dict[str, int],
    ) -> None:
        """Give the net of a root one more name; ``known`` are all names so far."""
        if name in known and known[name] != number.get(root):
            self.problems.error(
                "name-twice",
                f"'{name}' names two nets",
                span,
                hint="Each net has a name of its own; rename one, or join them with a wire.",
                related=(("first here", after.names[known[name]][1]),),
            )
        elif root not in number:
            known[name] = number[root] = len(after.names)
            after.names.append((name, span))
        elif name not in known:
            known[name] = number[root]
            self.another(name, span, number[root], after)
