"""Formulas to monitors: the IEEE 1850 simple subset over steps, as bits that are remembered.

A property is checked by obligations: ``active`` tells in which steps it must hold from there on;
`bad` comes out where an obligation is broken. That is exact for the simple subset, whose
properties move forward in time only (IEEE 1850-2010, 4.4.4). What a strong operator waits for is
an obligation that must not stay open for ever.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial

from breadproof.specs.formula import syntax as s
from breadproof.specs.formula.rewrite import renamed
from breadproof.specs.machine.blast import Bits, WrongFormula
from breadproof.specs.machine.boardscope import BoardBlaster, BoardScope
from breadproof.specs.machine.graph import Graph, Kind
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.steplogic import (
    Antecedent,
    Awaited,
    CompiledFormula,
    Gathered,
    MonitorBit,
    StepLogic,
)
from breadproof.specs.machine.strong import holds_without_ticks, is_fairness, is_strong
from breadproof.specs.machine.wide import wide
from breadproof.specs.netlist.model import BoardFormula, NetlistNames, begin_of, board_of, written
from breadproof.specs.reading.diagnostics import Problems


class FormulaCompiler:
    """Compiles all formulas of a board onto its graph."""

    def __init__(self, machine: Machine) -> None:
        """Start with the bit that is true in the first step only."""
        self.machine = machine
        self.graph = machine.graph
        self.monitors: list[MonitorBit] = []
        self.gathered: dict[tuple[int, bool], Gathered] = {}
        self.shared: dict[tuple[str, int, int], int] = {}
        self.names = NetlistNames(machine.netlist)
        self.first = self.remember("first", lambda leaf: Graph.FALSE, initial=True)

    def compile_all(self, problems: Problems) -> StepLogic:
        """All formulas; what is wrong with them goes to ``problems`` with its place."""
        compiled: list[CompiledFormula] = []
        for formula in self.machine.netlist.formulas:
            try:
                compiled.append(self.compile(formula))
            except WrongFormula as wrong:
                start, end = wrong.stretch.start, wrong.stretch.end
                problems.error(
                    "formula-meaning",
                    wrong.message,
                    formula.text.at(start, max(1, end - start)),
                    hint=wrong.hint,
                )
        return StepLogic(
            monitors=tuple(self.monitors),
            gathered=tuple(self.gathered.values()),
            formulas=tuple(compiled),
        )

    def remember(self, name: str, following: Callable[[int], int], initial: bool = False) -> int:
        """A new remembered bit; ``following`` makes its next level from its leaf."""
        leaf = self.graph.leaf("monitor", name, len(self.monitors))
        place = len(self.monitors)
        self.monitors.append(MonitorBit(leaf=leaf, next=Graph.FALSE, initial=initial))
        node = following(leaf)
        self.monitors[place] = MonitorBit(leaf=leaf, next=node, initial=initial)
        return leaf

    def gather(self, node: int, pulses: bool) -> int:
        """The leaf of a level that is gathered over the rounds of a step."""
        if node <= 1:
            return Graph.FALSE if pulses else node
        key = (node, pulses)
        if key not in self.gathered:
            leaf = self.graph.leaf("gathered", "pulses" if pulses else "ever", node)
            self.gathered[key] = Gathered(leaf=leaf, node=node, pulses=pulses)
        return self.gathered[key].leaf

    def compile(self, formula: BoardFormula) -> CompiledFormula:
        """One formula. Raises `WrongFormula`."""
        formula = replace(formula, expr=renamed(formula.expr, self.names.called))
        work = _Compiling(self, formula)
        if formula.kind == "cover":
            if s.is_temporal(formula.expr):
                raise WrongFormula(
                    "a cover asks for one moment",
                    formula.expr.stretch,
                    "Use levels, rose(), prev() and the like, without temporal operators.",
                )
            bad = work.boolean(formula.expr)
        else:
            work.check(formula.expr, self.first)
            bad = self.graph.or_(*work.bad)
        if formula.kind == "assume":
            for node in (bad, *(one.node for one in work.awaited)):
                self.only_controls(formula, node)
            if work.liveness and not is_fairness(formula.expr):
                raise WrongFormula(
                    f"an assumption cannot be strong in this way ({', '.join(work.liveness)})",
                    formula.expr.stretch,
                    "Use the weak form, without the '!'; or say that something goes on for ever: "
                    "always eventually! rose(clk).",
                )
        return CompiledFormula(
            formula=formula,
            kind=formula.kind,
            bad=bad,
            antecedents=tuple(work.antecedents),
            liveness=tuple(work.liveness),
            awaited=tuple(work.awaited),
            nested=work.nested,
            wide=tuple(wide(formula.expr, work.blaster())),
        )

    def only_controls(self, formula: BoardFormula, bad: int) -> None:
        """An assumption over what the board decides could assume the faults away."""
        nexts = {monitor.leaf: monitor.next for monitor in self.monitors}
        stack, seen = [bad], set[int]()
        own = begin_of(board_of(formula.name))
        while stack:
            node = stack.pop()
            if node in seen:
                continue
            seen.add(node)
            leaf = self.graph.leaf_of(node)
            if leaf is None:
                if self.graph.kinds[node] is Kind.READ:
                    raise self._not_control(formula, "a memory")
                stack.extend(self.graph.operands(node))
            elif leaf.kind == "monitor":
                stack.append(nexts[node])
            elif leaf.kind != "control":
                raise self._not_control(formula, leaf.name)
            elif own and not (leaf.name.startswith(own) or self.brought_in(leaf.name, own)):
                raise WrongFormula(
                    f"an assumption speaks of what another board does ({written(leaf.name)})",
                    formula.expr.stretch,
                    "Name the port itself, not what follows from it: what is assumed of a port is "
                    "proved where another board is joined to it.",
                )

    def brought_in(self, control: str, own: str) -> bool:
        """Whether a control is a port of a file that joins the board."""
        ports = (port.name for port in self.machine.netlist.ports)
        return control in ports and own.startswith(begin_of(board_of(control)))

    def _not_control(self, formula: BoardFormula, name: str) -> WrongFormula:
        said = written(name, board_of(formula.name))
        return WrongFormula(
            f"an assumption speaks of what the board decides ({said})",
            formula.expr.stretch,
            "Assume only about buttons, switches, oscillators, ports and their past.",
        )


@dataclass(slots=True)
class _Compiling:
    """One formula on its way; ``tick`` is the clock of what is being compiled."""

    compiler: FormulaCompiler
    formula: BoardFormula
    tick: int = Graph.TRUE
    bad: list[int] = field(default_factory=list)
    antecedents: list[Antecedent] = field(default_factory=list)
    liveness: list[str] = field(default_factory=list)
    awaited: list[Awaited] = field(default_factory=list)
    nested: bool = False

    @property
    def graph(self) -> Graph:
        return self.compiler.graph

    # what `boardscope.Memory` asks for ---------------------------------------------------------

    def gather(self, node: int, pulses: bool) -> int:
        return self.compiler.gather(node, pulses)

    def has_past(self) -> int:
        if self.tick == Graph.TRUE:
            return self.graph.not_(self.compiler.first)
        return self.shared("seen", Graph.TRUE, lambda leaf: self.graph.or_(leaf, self.tick))

    def previous(self, bits: Bits, steps: int) -> Bits:
        for _ in range(steps):
            bits = tuple(self.previous_bit(bit) for bit in bits)
        return bits

    def previous_bit(self, bit: int) -> int:
        """The level at the last tick before this step; at the first tick the level itself."""
        if bit <= 1:
            return bit
        graph, tick = self.graph, self.tick
        stored = self.shared("prev", bit, lambda leaf: graph.mux(tick, bit, leaf))
        return graph.mux(self.has_past(), stored, bit)

    def shared(self, what: str, node: int, following: Callable[[int], int]) -> int:
        """A remembered bit that formulas with the same need and clock share."""
        key = (what, node, self.tick)
        table = self.compiler.shared
        if key not in table:
            table[key] = self.compiler.remember(what, following)
        return table[key]

    def own(self, what: str, following: Callable[[int], int]) -> int:
        return self.compiler.remember(f"{self.formula.name}: {what}", following)

    # properties -------------------------------------------------------------------------------

    def blaster(self) -> BoardBlaster:
        board = board_of(self.formula.name)
        return BoardBlaster(self.graph, BoardScope(self.compiler.machine, self, board))

    def boolean(self, expr: s.Expr) -> int:
        return self.blaster().boolean(expr)

    def text(self, expr: s.Expr) -> str:
        return self.formula.text.value[expr.stretch.start : expr.stretch.end].strip()

    def needs_boolean(self, expr: s.Expr, where: str) -> int:
        if s.is_temporal(expr):
            if isinstance(expr, s.Implies) and not expr.both:
                left, right = self.text(expr.left), self.text(expr.right)
                hint = f"Only a level may stand there: !({left}) || ({right})."
                raise WrongFormula(f"'->' {where}", expr.stretch, hint)
            raise WrongFormula(
                f"a temporal operator {where}",
                expr.stretch,
                "The simple subset of IEEE 1850 wants a level there; turn the formula round.",
            )
        return self.boolean(expr)

    def check(self, expr: s.Expr, active: int) -> None:
        """Note in ``bad`` where ``expr`` is broken although ``active`` asked for it."""
        graph = self.graph
        match expr:
            case s.Always():
                held = graph.and_(self.ever_since(active), self.tick)
                if expr.never:
                    level = self.needs_boolean(expr.operand, "stands under never")
                    if isinstance(expr.operand, s.Binary) and expr.operand.op == "&&":
                        self.note_conjuncts(expr.operand, held)
                    self.bad.append(graph.and_(held, level))
                else:
                    self.check(expr.operand, held)
            case s.Next():
                self.check(expr.operand, self.delayed(active, expr.count))
            case s.Implies():
                self.implication(expr, active)
            case s.Ordering():
                self.ordering(expr, active)
            case s.Eventually():
                self.eventually(expr, active)
            case s.Clocked():
                self.clocked(expr, active)
            case s.Binary() if expr.op in ("&&", "||") and s.is_temporal(expr):
                self.junction(expr, active)
            case _:
                level = self.needs_boolean(expr, f"stands inside '{self.text(expr)}'")
                self.bad.append(graph.and_(active, graph.not_(level)))

    def ever_since(self, active: int) -> int:
        """From ``active`` on; from the first step on is always."""
        if active == self.compiler.first:
            return Graph.TRUE
        since = self.own("always", lambda leaf: self.graph.or_(leaf, active))
        return self.graph.or_(since, active)

    def note_conjuncts(self, expr: s.Expr, active: int) -> None:
        """Under never each of several factors must be possible, or the formula says nothing."""
        if isinstance(expr, s.Binary) and expr.op == "&&":
            self.note_conjuncts(expr.left, active)
            self.note_conjuncts(expr.right, active)
            return
        node = self.graph.and_(active, self.boolean(expr))
        self.antecedents.append(Antecedent(text=self.text(expr), node=node))

    def delayed(self, active: int, count: int) -> int:
        graph, tick = self.graph, self.tick
        for _ in range(count):
            waits = self.own("next", partial(graph.mux, tick, active))
            active = graph.and_(waits, tick)
        return active

    def implication(self, expr: s.Implies, active: int) -> None:
        left = self.needs_boolean(expr.left, "stands left of ->")
        if expr.both:
            right = self.needs_boolean(expr.right, "stands beside <->")
            self.bad.append(self.graph.and_(active, self.graph.xor(left, right)))
            return
        asked = self.graph.and_(active, left)
        self.antecedents.append(Antecedent(text=self.text(expr.left), node=asked))
        self.check(expr.right, asked)

    def ordering(self, expr: s.Ordering, active: int) -> None:
        """``a until b``; ``a before b`` is ``!b until (a & !b)`` (IEEE 1850, 6.2.1.5.2)."""
        graph, tick = self.graph, self.tick
        end = self.needs_boolean(expr.right, f"stands right of {expr.kind}")
        left = 0
        done = end
        if expr.kind == "before":
            left = self.needs_boolean(expr.left, "stands left of before")
            done = graph.and_(left, graph.not_(end))

        def following(leaf: int) -> int:
            open_now = graph.and_(graph.or_(leaf, active), graph.not_(done))
            if expr.kind == "before":
                open_now = graph.and_(open_now, graph.not_(end))
            return graph.mux(tick, open_now, graph.or_(leaf, active))

        pending = self.own(expr.kind, following)
        if expr.strong:
            self.liveness.append(f"{expr.kind}!")
            ended = done if expr.kind == "until" else graph.or_(done, end)
            awaited = expr.right if expr.kind == "until" else expr.left
            self.await_(self.text(awaited), graph.or_(pending, active), graph.and_(tick, ended))
        owed = graph.and_(graph.or_(pending, active), tick, graph.not_(done))
        if expr.kind == "before":
            self.bad.append(graph.and_(owed, end))
        else:
            self.check(expr.left, owed)

    def await_(self, text: str, open_now: int, ended: int) -> None:
        node = self.graph.and_(open_now, self.graph.not_(ended))
        self.awaited.append(Awaited(text=text, node=node))

    def eventually(self, expr: s.Eventually, active: int) -> None:
        graph = self.graph
        level = self.needs_boolean(expr.operand, "stands under eventually!")
        self.liveness.append("eventually!")
        comes = graph.and_(self.tick, level)
        waits = active
        if active != Graph.TRUE:
            pending = self.own(
                "eventually!",
                lambda leaf: graph.and_(graph.or_(leaf, active), graph.not_(comes)),
            )
            waits = graph.or_(pending, active)
        self.await_(self.text(expr.operand), waits, comes)

    def clocked(self, expr: s.Clocked, active: int) -> None:
        """From the first tick at or after the step that asks (IEEE 1850, 6.2.1.2).

        Of two clocks on the same property the inner one rules.
        """
        if isinstance(expr.operand, s.Clocked):
            self.check(expr.operand, active)
            return
        graph = self.graph
        if self.tick != Graph.TRUE and is_strong(expr):
            self.nested = True
        outer, event_clock = self.tick, Graph.TRUE
        self.tick = event_clock
        event = self.needs_boolean(expr.event, "stands in a clock")
        waits = self.own(
            "clock", lambda leaf: graph.and_(graph.or_(leaf, active), graph.not_(event))
        )
        if not holds_without_ticks(expr.operand):
            self.await_(self.text(expr.event), graph.or_(waits, active), event)
        self.tick = event
        self.check(expr.operand, graph.and_(graph.or_(waits, active), event))
        self.tick = outer

    def junction(self, expr: s.Binary, active: int) -> None:
        if expr.op == "&&":
            self.check(expr.left, active)
            self.check(expr.right, active)
            return
        level, temporal = expr.left, expr.right
        if s.is_temporal(level):
            level, temporal = temporal, level
        node = self.needs_boolean(level, "stands on both sides of ||")
        self.check(temporal, self.graph.and_(active, self.graph.not_(node)))
