"""One machine of several boards: their netlists side by side, and joined where the file says so.

What is on board ``store`` is called ``store/U1``, ``store/bus[3]``; formulas of the file that joins
the boards write ``store.bus[3]`` and ``store.U1.Y1``, those of a board's own file stay as they are.
A port that is joined to another board is no port any more: what drives it is on the bench.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal, TypedDict

from networkx.utils import UnionFind

from breadproof.specs.catalogue.vectors import indices
from breadproof.specs.formula.rewrite import renamed
from breadproof.specs.formula.syntax import Expr, Name, children
from breadproof.specs.netlist import model as m
from breadproof.specs.netlist.bounced import bounced
from breadproof.specs.netlist.controls import collect_controls
from breadproof.specs.netlist.resets import SAID, resets
from breadproof.specs.reading.accepts import Accept
from breadproof.specs.reading.board import Board
from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.yamltree import Text, near

_END = re.compile(r"(?P<stem>[^\[\]]+?)(?:\[(?P<left>\d{1,4})(?::(?P<right>\d{1,4}))?\])?\Z")


class _Current(TypedDict):
    supply_current: float | None
    supply_span: Span | None


Together = tuple[tuple[str, ...], ...] | Literal["all"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """A board of the machine under the name that the joining file gives it ("" for its own)."""

    name: str
    netlist: m.Netlist

    def called(self, name: str) -> str:
        """A name of the board as the machine has it."""
        return f"{self.name}{m.BETWEEN}{name}" if self.name else name


def assemble(board: Board, members: tuple[Member, ...], problems: Problems) -> m.Netlist:
    """The netlist of all boards; ``members`` begins with what the joining file itself has."""
    return _Assembly(board, members, problems).netlist()


@dataclass(slots=True)
class _Assembly:
    board: Board
    members: tuple[Member, ...]
    problems: Problems
    find: UnionFind[int] = field(default_factory=UnionFind)
    first: dict[str, int] = field(default_factory=dict)
    """Number of each member's first net among all."""
    taken: dict[str, set[int]] = field(default_factory=dict)
    """The nets of each member's ports that boards alone are joined to, by its own numbers."""
    instead: dict[str, str] = field(default_factory=dict)
    """Ports that are joined, by the machine's names, each with the port of the joining file that
    moves it now; "" if it has none."""
    boards: frozenset[str] = frozenset()
    """The boards by their names, also those that a board is made of."""

    def netlist(self) -> m.Netlist:
        nets: list[m.Net] = []
        owners: list[str] = []
        for member in self.members:
            self.first[member.name] = len(nets)
            for net in member.netlist.nets:
                nets.append(replace(net, name=member.called(net.name)))
                owners.append(member.name)
        self.boards = m.boards_of(
            member.called(name)
            for member in self.members
            for name in m.NetlistNames(member.netlist)
        )
        self.named()
        for number in range(len(nets)):
            self.find[number]
        for join in self.board.joins:
            self.join(join.ends, join.span)
        classes: dict[int, list[int]] = {}
        for number in range(len(nets)):
            classes.setdefault(self.find[number], []).append(number)
        number_of = {old: new for new, group in enumerate(classes.values()) for old in group}
        parts = tuple(part for member in self.members for part in self.parts(member, number_of))
        merged, aliases = self.merged(nets, classes, parts)
        crossed = {
            number_of[group[0]] for group in classes.values() if len({owners[n] for n in group}) > 1
        }
        ports = tuple(self.ports(number_of, crossed))
        found = collect_controls(parts, ports, merged)
        base = self.members[0].netlist
        return replace(
            base,
            parts=parts,
            nets=merged,
            vectors=tuple(
                replace(v, name=member.called(v.name), nets=self.moved(member, v.nets, number_of))
                for member in self.members
                for v in member.netlist.vectors
            ),
            ports=ports,
            controls=found.controls,
            contacts=found.contacts,
            resistors=found.resistors,
            lamps=found.lamps,
            diodes=found.diodes,
            links=found.links,
            formulas=tuple(f for member in self.members for f in self.formulas(member)),
            together=self.together(found.controls),
            reset=tuple(self.resets(found.controls, parts)),
            bounces=tuple(self.bounces(found.controls, parts)),
            layout=base.layout,
            aliases=aliases,
            accepts=tuple(a for member in self.members for a in self.accepts(member)),
            joined=tuple(self.joined(number_of, ports)),
            supply=self.supply(),
            rails=tuple(
                (member.called(name), volts)
                for member in self.members
                for name, volts in member.netlist.rails
            ),
            **self.current(number_of),
        )

    def named(self) -> None:
        """No board is called as something beside it, or nobody knew which of them is meant."""
        own = {*m.NetlistNames(self.members[0].netlist)}
        for name, _ in self.board.boards:
            if name.value in own:
                self.problems.error(
                    "name-twice",
                    f"'{name.value}' names a board and something else in this file",
                    name.span,
                    hint="Give the board another name, and write that in joins and formulas.",
                )

    def moved(
        self, member: Member, nets: tuple[int, ...], number_of: Mapping[int, int]
    ) -> tuple[int, ...]:
        return tuple(number_of[self.first[member.name] + net] for net in nets)

    def parts(self, member: Member, number_of: Mapping[int, int]) -> Iterator[m.Part]:
        for part in member.netlist.parts:
            name = member.called(part.name)
            pins = tuple(
                replace(
                    pin,
                    part=name,
                    net=None if pin.net is None else number_of[self.first[member.name] + pin.net],
                )
                for pin in part.pins
            )
            yield replace(part, name=name, pins=pins)

    def merged(
        self, nets: list[m.Net], classes: Mapping[int, list[int]], parts: tuple[m.Part, ...]
    ) -> tuple[tuple[m.Net, ...], tuple[tuple[str, int], ...]]:
        """One net for each class, called as its first supply or else its first net."""
        pins: dict[int, list[m.Pin]] = {}
        for part in parts:
            for pin in part.pins:
                if pin.net is not None:
                    pins.setdefault(pin.net, []).append(pin)
        found: list[m.Net] = []
        aliases: list[tuple[str, int]] = []
        for index, group in enumerate(classes.values()):
            rails = [nets[n] for n in group if nets[n].rail is not None]
            chosen = rails[0] if rails else nets[group[0]]
            volts = sorted({net.rail for net in rails if net.rail is not None})
            if len(volts) > 1:
                self.problems.error(
                    "rails-joined",
                    f"a join makes one net of supplies of {volts[0]:g} V and {volts[-1]:g} V",
                    chosen.span,
                    hint="Join grounds with grounds, and supplies of one voltage.",
                )
            found.append(replace(chosen, index=index, pins=tuple(pins.get(index, ()))))
            aliases += [(nets[n].name, index) for n in group if nets[n].name != chosen.name]
        old = [
            (member.called(name), self.find[self.first[member.name] + net])
            for member in self.members
            for name, net in member.netlist.aliases
        ]
        place = {root: index for index, root in enumerate(classes)}
        return tuple(found), (*aliases, *((name, place[root]) for name, root in old))

    def ports(self, number_of: Mapping[int, int], crossed: set[int]) -> Iterator[m.Port]:
        base = self.members[0]
        own = base.netlist.ports
        by_nets = {self.moved(base, port.nets, number_of): port.name for port in own}
        for member in self.members:
            for port in member.netlist.ports:
                nets = self.moved(member, port.nets, number_of)
                joined = [net in crossed and bool(member.name) for net in nets]
                if all(joined):
                    self.instead[member.called(port.name)] = by_nets.get(nets, "")
                    if nets not in by_nets:
                        self.taken.setdefault(member.name, set()).update(port.nets)
                    continue
                if any(joined):
                    self.problems.error(
                        "port-half",
                        f"only some nets of port '{member.called(port.name)}' are joined",
                        port.span,
                        hint="Join all of them, or make two vectors of it, each with a port.",
                    )
                yield replace(port, name=member.called(port.name), nets=nets)

    # supplies ---------------------------------------------------------------------------------

    def supply(self) -> float:
        """That of the boards, where the joining file neither says its own nor has parts."""
        base, *others = (member.netlist for member in self.members)
        found = {netlist.supply for netlist in others}
        asked = self.board.supply is not None or base.parts or len(found) != 1
        return base.supply if asked else found.pop()

    def current(self, number_of: Mapping[int, int]) -> _Current:
        """What the supply of all gives: what the joining file says, or else the boards.

        Boards on one rail may speak of one supply, so that the largest counts; those on rails of
        their own have one each, which is nothing that is known unless all of them say it.
        """
        base, *others = (member.netlist for member in self.members)
        if base.supply_current is not None:
            return {"supply_current": base.supply_current, "supply_span": base.supply_span}
        stated: dict[int, list[tuple[float, Span]]] = {}
        for member, netlist in zip(self.members[1:], others, strict=True):
            rail = next((net.index for net in netlist.nets if net.rail), None)
            if rail is not None:
                place = number_of[self.first[member.name] + rail]
                found = stated.setdefault(place, [])
                if netlist.supply_current is not None and netlist.supply_span is not None:
                    found.append((netlist.supply_current, netlist.supply_span))
        if not stated or not all(stated.values()):
            return {"supply_current": None, "supply_span": None}
        largest = [max(found, key=lambda one: one[0]) for found in stated.values()]
        total = sum(amperes for amperes, _ in largest)
        return {"supply_current": total, "supply_span": largest[0][1]}

    def joined(self, number_of: Mapping[int, int], left: tuple[m.Port, ...]) -> Iterator[m.Port]:
        """The ports of the way ``both`` that another board took, here or on a board of boards."""
        still = {port.name for port in left}
        for member in self.members:
            taken = [port for port in member.netlist.ports if port.direction == "both"]
            for port in (*taken, *member.netlist.joined):
                name = member.called(port.name)
                if name not in still:
                    nets = self.moved(member, port.nets, number_of)
                    yield replace(port, name=name, nets=nets)

    # names ------------------------------------------------------------------------------------

    def formulas(self, member: Member) -> Iterator[m.BoardFormula]:
        """Those of a board speak of it alone, also where they name what it does not have.

        What a board assumes of a port is no assumption once another board is joined to that: it
        is to be proved.
        """
        new = member.called if member.name else self.called
        names, taken = m.NetlistNames(member.netlist), self.taken.get(member.name, set())
        switches = {part.name for part in member.netlist.parts if part.positions}
        for formula in member.netlist.formulas:
            expr = renamed(formula.expr, new, switches if member.name else ())
            if formula.kind == "assume" and not taken.isdisjoint(_nets(formula.expr, names)):
                says = f"{member.name} takes for granted: {formula.says or formula.text.value}"
                formula = replace(formula, kind="assert", says=says)
            yield replace(formula, name=member.called(formula.name), expr=expr)

    def accepts(self, member: Member) -> Iterator[Accept]:
        for one in member.netlist.accepts:
            pin, net = one.pin, one.net
            if member.name:
                pin, net = pin and member.called(pin), net and member.called(net)
            else:
                pin, net = self.called(pin), self.called(net)
            yield replace(one, pin=pin, net=net)

    def resets(
        self, controls: tuple[m.Control, ...], parts: tuple[m.Part, ...]
    ) -> Iterator[tuple[str, str]]:
        """Those of the boards, as far as what they name is still moved by hand; then its own."""
        known = {*(one.name for one in controls), *(part.name for part in parts)}
        for member in self.members:
            for how, name in member.netlist.reset if member.name else ():
                called = name if how in SAID else self.moves(member, name)
                if how in SAID or called in known:
                    yield how, called
        yield from resets(self.board.reset, controls, parts, self.problems, self.called)

    def bounces(self, controls: tuple[m.Control, ...], parts: tuple[m.Part, ...]) -> Iterator[str]:
        """Those of the boards, then its own."""
        before: list[str] = []
        for member in self.members:
            before += [member.called(name) for name in member.netlist.bounces if member.name]
        yield from before
        own = self.board.bounces
        yield from bounced(own, controls, parts, self.problems, self.called, before)

    def moves(self, member: Member, control: str) -> str:
        """The machine's control for one of a board."""
        name = member.called(control)
        return self.instead.get(name) or name

    def called(self, path: str) -> str:
        """What the joining file writes ``store.we_n``; what is on its own board stays."""
        return m.called(path, self.boards)

    def together(self, controls: tuple[m.Control, ...]) -> Together:
        if self.board.together == "all":
            return "all"
        known = [control.name for control in controls]
        groups: list[tuple[str, ...]] = []
        for member in self.members:
            if member.netlist.together == "all":
                return "all"
            if member.name:
                own = [[self.moves(member, n) for n in group] for group in member.netlist.together]
                left = [tuple(n for n in group if n in known) for group in own]
                groups += [group for group in left if len(group) > 1]
        for group in self.board.together:
            for name in group:
                if self.called(name.value) not in known:
                    self.problems.error(
                        "control-missing",
                        f"'{name.value}' is no control",
                        name.span,
                        hint=m.written(near(self.called(name.value), known))
                        or "Write the board's name first: store.STORE.",
                    )
            groups.append(tuple(self.called(name.value) for name in group))
        return tuple(tuple(n for n in group if n in known) for group in groups)

    # joins ------------------------------------------------------------------------------------

    def join(self, ends: tuple[Text, Text], span: Span) -> None:
        found = [self.end(end) for end in ends]
        first, second = found
        if first is None or second is None:
            return
        if len(first) != len(second):
            self.problems.error(
                "join-width",
                f"{ends[0].value} has {len(first)} nets and {ends[1].value} has {len(second)}",
                span,
                hint="Join as many with as many; a part of a vector is written bus[3:0].",
            )
            return
        for a, b in zip(first, second, strict=True):
            self.find.union(a, b)

    def end(self, text: Text) -> tuple[int, ...] | None:
        """The nets of ``store.bus[7:0]``, ``store.clk``, ``store.J1`` or ``store.U1.3``, or of the
        joining file's own ``clk``, ``J1`` or ``U1.3``."""
        head, dot, rest = text.value.partition(".")
        names = [member.name for member in self.members if member.name]
        member = next((one for one in self.members if one.name == head and dot), None)
        if member is None:
            member, rest = self.members[0], text.value
            own = [*m.NetlistNames(member.netlist)]
            if head.partition("[")[0] not in own:
                self.problems.error(
                    "end-unknown",
                    f"there is no board '{head}'" if dot else f"this file has no '{head}'",
                    text.span,
                    hint=near(head, names if dot else [*own, *names])
                    or "Write BOARD.NET, such as store.bus[7:0].",
                )
                return None
        nets = self.nets(member, rest, text)
        return None if nets is None else tuple(self.first[member.name] + net for net in nets)

    def nets(self, member: Member, rest: str, text: Text) -> tuple[int, ...] | None:
        names = m.NetlistNames(member.netlist)
        rest = names.called(rest)
        whole = names.nets_of(rest)
        if whole is not None:
            return whole
        match = _END.match(rest)
        stem = match["stem"] if match else rest
        vector = names.vectors.get(stem)
        if match is not None and match["left"] and vector is not None:
            numbers = indices(int(match["left"]), int(match["right"] or match["left"]))
            places = indices(vector.left, vector.right)
            if all(number in places for number in numbers):
                return tuple(vector.nets[places.index(number)] for number in numbers)
        part = names.parts.get(stem.partition(".")[0])
        if part is not None:
            return self.pins(part, stem.partition(".")[2], text)
        known = [*names]
        where = f"board '{member.name}'" if member.name else "this file"
        self.problems.error(
            "end-unknown",
            f"{where} has no '{rest}'",
            text.span,
            hint=near(rest, known) or "A join ends at a net, a vector, a connector or a pin.",
        )
        return None

    def pins(self, part: m.Part, pin: str, text: Text) -> tuple[int, ...] | None:
        """The nets of a part's pin, or of all pins of a connector."""
        wanted = part.pins if not pin and part.device == "connector" else ()
        if pin:
            found = part.pin(pin)
            wanted = (found,) if found is not None else ()
        if not wanted:
            self.problems.error(
                "pin-missing",
                f"{part.name} has no pin '{pin}'" if pin else f"{part.name} is no connector",
                text.span,
                hint="Name a pin: store.U1.3."
                if not pin
                else f"Its pins are {', '.join(p.number for p in part.pins)}.",
            )
            return None
        open_pins = [one.number for one in wanted if one.net is None]
        if open_pins:
            self.problems.error(
                "join-open",
                f"pin {open_pins[0]} of {part.name} is on no net of its own board",
                text.span,
                hint="Wire it there first, or join fewer pins.",
            )
            return None
        return tuple(one.net for one in wanted if one.net is not None)


def _nets(expr: Expr, names: m.NetlistNames) -> Iterator[int]:
    """The nets that a formula names, pins by all that they may be: ``U1.A[3:0]``."""
    stack = [expr]
    while stack:
        here = stack.pop()
        stack += children(here)
        if isinstance(here, Name):
            head, _, rest = here.path.partition(".")
            yield from names.nets_of(head) or ()
            part = names.parts.get(head)
            pins = part.pins if part is not None and rest else ()
            for pin in pins:
                if pin.net is not None and (pin.name.startswith(rest) or pin.number == rest):
                    yield pin.net
