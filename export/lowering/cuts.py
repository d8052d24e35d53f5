"""Nets that depend on each other within a round: where registers cut them, how long they take.

Works on the netlist and the names in the part files' formulas alone: a net needs another if a pin
that reads the one is named in what drives the other.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import networkx as nx

from breadproof.specs.catalogue import part as c
from breadproof.specs.catalogue.vectors import pin_names
from breadproof.specs.formula import syntax as s
from breadproof.specs.netlist.drive import Driver, NetPlan, Path
from breadproof.specs.netlist.model import ChipSwitch, Netlist


@dataclass(frozen=True, slots=True, kw_only=True)
class Cuts:
    """``nets``: those whose readers see a register. ``loops``: each loop's nets, in order.

    ``ticks`` is the number of ticks in a round: enough for the longest chain of loops to settle,
    and one more, in which storage advances. ``behind`` maps each loop (by position) to the nets
    in its cone, itself included. ``within`` are the pairs of nets of which the second needs the
    first within one tick: without any loop.
    """

    nets: tuple[int, ...]
    loops: tuple[tuple[int, ...], ...]
    ticks: int
    behind: tuple[frozenset[int], ...]
    within: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What is known of nets whatever the board does (indices of nets).

    ``constant``: they have one level for ever; ``known``: they always have a level; ``driven``:
    some driver never lets go, so that no resistor has a say.
    """

    constant: frozenset[int]
    known: frozenset[int]
    driven: frozenset[int]


def find_cuts(netlist: Netlist, plans: tuple[NetPlan, ...], standing: Standing) -> Cuts:
    """Cut all loops.

    Starting anywhere, each tick settles at least one more bit of a cut net, if anything is left
    to settle (a net has two bits: its level, and whether it has one), so that a loop needs as many
    ticks as its cut nets have bits.
    """
    needs = dependencies(netlist, plans, standing)
    known = standing.known
    condensed = nx.condensation(needs)
    late: dict[int, int] = {}
    cuts: list[int] = []
    loops: list[tuple[int, ...]] = []
    behind: list[frozenset[int]] = []
    for part in nx.lexicographical_topological_sort(
        condensed, key=lambda one: min(condensed.nodes[one]["members"])
    ):
        members = sorted(condensed.nodes[part]["members"])
        late[part] = max((late[before] for before in condensed.predecessors(part)), default=0)
        if len(members) == 1 and not needs.has_edge(members[0], members[0]):
            continue
        cut = _cut(needs, members, known)
        cuts += cut
        loops.append(tuple(members))
        behind.append(frozenset(members) | nx.ancestors(needs, members[0]))
        late[part] += sum(1 if net in known else 2 for net in cut)
    return Cuts(
        nets=tuple(sorted(cuts)),
        loops=tuple(loops),
        ticks=max(late.values(), default=0) + 1,
        behind=tuple(behind),
        within=tuple(sorted(edge for edge in needs.edges if edge[0] not in set(cuts))),
    )


def _cut(needs: nx.DiGraph[int], members: list[int], known: frozenset[int]) -> list[int]:
    """Nets whose removal leaves no loop: always the one with most ways through it, for its bits."""
    left: nx.DiGraph[int] = nx.DiGraph(needs.subgraph(members))
    cut: list[int] = []
    while True:
        looping: list[int] = []
        for part in nx.strongly_connected_components(left):
            one = min(part)
            if len(part) > 1 or left.has_edge(one, one):
                looping += part
        if not looping:
            return cut

        def weight(net: int) -> tuple[bool, float, int]:
            ways = left.in_degree(net) * left.out_degree(net)
            return (not left.has_edge(net, net), -ways / (1 if net in known else 2), net)

        cut.append(min(looping, key=weight))
        left.remove_node(cut[-1])


def dependencies(
    netlist: Netlist, plans: tuple[NetPlan, ...], standing: Standing
) -> nx.DiGraph[int]:
    """An edge from each net to every net whose level depends on it within a round."""
    needed: dict[str, list[int]] = {}
    closed: dict[tuple[str, int], list[int]] = {}
    for part in netlist.parts:
        if part.device != "chip":
            continue
        nets = {pin.name: pin.net for pin in part.pins}
        for number, wanted in enumerate(switch_dependencies(part.type)):
            closed[part.name, number] = _nets_of(wanted, nets)
        for name, wanted in pin_dependencies(part.type).items():
            pin = part.pin(name)
            if pin is not None:
                needed[pin.label] = _nets_of(wanted, nets)
    needs: nx.DiGraph[int] = nx.DiGraph()
    needs.add_nodes_from(range(len(netlist.nets)))
    for plan in plans:
        if plan.net in standing.constant:
            continue
        drivers, paths = _concerned(plan, plans, standing)
        sources = [
            source
            for driver in drivers
            if driver.pin is not None
            for source in needed.get(driver.pin.label, ())
        ]
        sources += [
            source
            for closing in dict.fromkeys(closing for path in paths for closing in path)
            if isinstance(closing, ChipSwitch)
            for source in closed[closing.part, closing.number]
        ]
        needs.add_edges_from((source, plan.net) for source in sources)
    return needs


def _nets_of(pins: frozenset[str], nets: Mapping[str, int | None]) -> list[int]:
    """The nets of pins, those that are on one."""
    found = (nets[pin] for pin in sorted(pins))
    return [net for net in found if net is not None]


def _concerned(
    plan: NetPlan, plans: tuple[NetPlan, ...], standing: Standing
) -> tuple[list[Driver], list[Path]]:
    """All drivers that have a say in a net's level, and the contacts on all ways there."""
    nets = [plan.net]
    paths: list[Path] = []
    nets += [net for driver in plan.drivers for way in driver.over for net in way]
    if plan.net not in standing.driven:
        pulls = list(plan.pulls)
        pulls += [
            other
            for pull in plan.pulls
            if pull.passes != "both"
            for net in pull.through
            for other in plans[net].pulls
        ]
        nets += [net for pull in pulls for net in (pull.end, *pull.through)]
        paths += [pull.closed for pull in pulls]
        heavy = {
            net for p in plan.pulls for some in (*p.high_unless, *p.low_unless) for net in some
        }
        paths += [path for net, ways in plan.joined if net in heavy for path in ways]
        # Whether an end has a level may hang on the nets that diodes bring it from.
        nets += [
            net
            for end in {pull.end for pull in pulls}
            for driver in plans[end].drivers
            for way in driver.over
            for net in way
        ]
    drivers = [driver for net in sorted(set(nets)) for driver in plans[net].drivers]
    paths += [path for driver in drivers for path in driver.paths]
    return drivers, paths


Known = Mapping[str, frozenset[str]]
"""What the names of a part file need, as names of reading pins."""


def _known(part: c.PartType) -> Known:
    known = {pin.name: frozenset([pin.name]) for pin in part.pins if pin.kind.reads}
    for output in part.inner:
        wanted = _needed(known, output.level)
        known.update(dict.fromkeys(output.names, wanted))
    return known


def _needed(known: Known, *formulas: c.Formula | None) -> frozenset[str]:
    return frozenset(
        pin
        for formula in formulas
        if formula is not None
        for name in _names(formula.expr)
        for pin in known.get(name, ())
    )


def switch_dependencies(part: c.PartType) -> tuple[frozenset[str], ...]:
    """For each analogue switch the reading pins that decide whether it is closed."""
    known = _known(part)
    return tuple(_needed(known, switch.when) for switch in part.switches)


def pin_dependencies(part: c.PartType) -> Mapping[str, frozenset[str]]:
    """For each driving pin the reading pins that decide it within a round."""
    known = _known(part)
    found: dict[str, frozenset[str]] = {}
    for output in part.logic:
        bits = _bitwise(output)
        for position, name in enumerate(output.names):
            level = (
                _needed(known, output.level)
                if bits is None
                else frozenset(known.get(bits[position], ()))
            )
            found[name] = level | _needed(known, output.when)
    return found


def _bitwise(output: c.Output) -> tuple[str, ...] | None:
    """The pin behind each bit where the level is a plain row of pins, inverted or not."""
    expr = output.level.expr
    if isinstance(expr, s.Unary) and expr.op == "~":
        expr = expr.operand
    if not isinstance(expr, s.Part):
        return None
    names = tuple(_names(expr))
    return names if len(names) == len(output.names) else None


def _names(expr: s.Expr) -> list[str]:
    """The bits and names in an expression; a row of pins as its pins, in order."""
    found: list[str] = []
    stack = [expr]
    while stack:
        node = stack.pop()
        match node:
            case s.Part(base=s.Name() as base, left=s.Number() as left, right=s.Number() as right):
                found += pin_names(base.path, left.value, right.value)
            case s.Name():
                found.append(node.path)
            case _:
                stack.extend(reversed(s.children(node)))
    return found
