"""Every kind of node goes through every walk over the graph.

Expected levels are the Boolean truth tables and, for swings, Kleene's strong three-valued logic
(S. C. Kleene, Introduction to Metamathematics, 1952, section 64), written out by hand.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable

import pytest

from breadproof.specs.formula import syntax as s
from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Settler
from breadproof.specs.machine.steplogic import StepLogic
from breadproof.specs.machine.walk import Numbers
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.prove.aig import Aig

X = (1, 1)
LOW, HIGH = (0, 1), (1, 0)
NAMES = {0: LOW, 1: HIGH, 2: X}
AND = {(0, 0): 0, (0, 1): 0, (0, 2): 0, (1, 1): 1, (1, 2): 2, (2, 2): 2}
OR = {(0, 0): 0, (0, 1): 1, (0, 2): 2, (1, 1): 1, (1, 2): 1, (2, 2): 2}
XOR = {(0, 0): 0, (0, 1): 1, (0, 2): 2, (1, 1): 0, (1, 2): 2, (2, 2): 2}


def empty_machine(graph: Graph) -> Machine:
    """A machine of nothing but a graph."""
    netlist = Netlist(
        file="", board="none", title="", supply=5.0, parts=(), nets=(), vectors=(), ports=(),
        controls=(), contacts=(), resistors=(), lamps=(), formulas=(), together=(),
    )  # fmt: skip
    return Machine(
        netlist=netlist, wired=netlist, graph=graph, order=(), controls={}, legal=Graph.TRUE,
        stores=(), memories=(), loops=(), nets=(), pins={}, drives={}, lamps={}, strobes=(),
        free={}, logic=StepLogic(monitors=(), gathered=(), formulas=()),
    )  # fmt: skip


def one_of_each() -> tuple[Graph, dict[Kind, int], int, int]:
    """A graph with a node of every kind over two leaves."""
    graph = Graph()
    a, b = graph.leaf("control", "a"), graph.leaf("control", "b")
    nodes = {
        Kind.CONST: Graph.TRUE,
        Kind.LEAF: a,
        Kind.NOT: graph.not_(a),
        Kind.AND: graph.and_(a, b),
        Kind.OR: graph.or_(a, b),
        Kind.XOR: graph.xor(a, b),
        Kind.READ: graph.read(0, 0, (a, b)),
        Kind.WAS: graph.was(a),
    }
    assert set(nodes) == set(Kind)
    return graph, nodes, a, b


@pytest.mark.parametrize(("kind", "table"), [(Kind.AND, AND), (Kind.OR, OR), (Kind.XOR, XOR)])
def test_swings_are_three_valued(kind: Kind, table: dict[tuple[int, int], int]) -> None:
    """Swings of two-input nodes are Kleene's tables, in either order."""
    graph, nodes, a, b = one_of_each()
    settler = Settler(empty_machine(graph), Numbers(), [])
    for left, right in itertools.product(range(3), repeat=2):
        levels = {a: NAMES[left], b: NAMES[right]}
        found = settler.swing(nodes[kind], levels.__getitem__, levels.__getitem__, never_read)
        assert found == NAMES[table[min(left, right), max(left, right)]], (kind, left, right)


def never_read(node: int, address: object) -> tuple[int, int]:
    """No memory is read here."""
    raise AssertionError("no memory")


@pytest.mark.parametrize("kind", list(Kind))
def test_rebuild_keeps_every_kind(kind: Kind) -> None:
    """Putting the same operands in gives the same node; new ones give the same kind."""
    graph, nodes, _, _ = one_of_each()
    node = nodes[kind]
    assert graph.rebuild(node, list(graph.operands(node))) == node
    if graph.operands(node):
        fresh = [graph.leaf("control", f"fresh{k}") for k, _ in enumerate(graph.operands(node))]
        assert graph.kinds[graph.rebuild(node, fresh)] is kind


@pytest.mark.parametrize("make", [Numbers, Aig], ids=["numbers", "literals"])
def test_algebras_agree_with_truth_tables(make: Callable[[], Numbers | Aig]) -> None:
    """Both algebras of levels follow the Boolean tables on constants."""
    of = make()
    for a, b in itertools.product((0, 1), repeat=2):
        assert of.and_([a, b]) == (a and b)
        assert of.or_([a, b]) == (a or b)
        assert of.xor(a, b) == (a != b)
        assert of.not_(a) == 1 - a


def test_hazards_are_kept() -> None:
    """``a & !a`` is not folded: a gate with an inverter in one leg can pulse (textbook hazard)."""
    graph, _, a, _ = one_of_each()
    settler = Settler(empty_machine(graph), Numbers(), [])
    pulse = graph.and_(a, graph.not_(a))
    levels = {a: X, graph.not_(a): X}
    assert settler.swing(pulse, levels.__getitem__, levels.__getitem__, never_read) == X


def test_formula_kinds_have_children_in_order() -> None:
    """Every kind of formula is walked by `children` (closed set)."""
    at = s.Stretch(start=0, end=1)
    x, y, z = (s.Name(path=name, stretch=at) for name in "xyz")
    samples: list[tuple[s.Expr, tuple[s.Expr, ...]]] = [
        (s.Number(value=1, width=None, signed=True, stretch=at), ()),
        (x, ()),
        (s.Index(base=x, at=y, stretch=at), (x, y)),
        (s.Part(base=x, left=y, right=z, stretch=at), (x, y, z)),
        (s.Slide(base=x, at=y, width=z, down=False, stretch=at), (x, y, z)),
        (s.Unary(op="!", operand=x, stretch=at), (x,)),
        (s.Binary(op="&", left=x, right=y, stretch=at), (x, y)),
        (s.Conditional(test=x, then=y, other=z, stretch=at), (x, y, z)),
        (s.Concat(items=(x, y), times=None, stretch=at), (x, y)),
        (s.Concat(items=(x, y), times=z, stretch=at), (z, x, y)),
        (s.Call(function="rose", arguments=(x,), stretch=at), (x,)),
        (s.Always(operand=x, never=True, stretch=at), (x,)),
        (s.Next(count=2, operand=x, stretch=at), (x,)),
        (s.Eventually(operand=x, stretch=at), (x,)),
        (s.Ordering(kind="until", strong=True, left=x, right=y, stretch=at), (x, y)),
        (s.Implies(left=x, right=y, both=False, stretch=at), (x, y)),
        (s.Clocked(operand=x, event=y, stretch=at), (x, y)),
    ]
    assert {type(expr) for expr, _ in samples} == set(s.Expr.__args__)
    for expr, parts in samples:
        assert s.children(expr) == parts
