"""Strong operators on runs that never end, against the definitions of IEEE 1850-2010.

The monitors against an evaluator of runs that go round, and whole verdicts against a search of all
states of small boards for cycles (`tests.support.lassos`); the runs that are shown are evaluated,
too.
"""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from breadproof.export.replay import replay
from breadproof.specs.formula import syntax as s
from breadproof.specs.formula.parse import parse
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import Trace as Run
from breadproof.specs.machine.trace import TraceStep
from breadproof.specs.machine.watch import Watcher
from breadproof.specs.reading.diagnostics import BadInput
from breadproof.verify.prove import endless, statesearch
from breadproof.verify.prove.prover import prove_board
from breadproof.verify.prove.verdict import Result
from breadproof.verify.prove.witness import confirms
from tests.prove.boards import SMALL, Sketch, random_board, sketch, small
from tests.prove.test_assumptions import flop, prove
from tests.prove.test_brute import load
from tests.prove.test_formulas import PORTS, Trace, board, formula, level, reader
from tests.support.brute import Explorer
from tests.support.finite_traces import Read
from tests.support.lassos import Lasso, violates_for_ever

COPIES = 12
OBSERVED = 4


def monitored(machine: Machine, stem: Trace, loop: Trace) -> set[str]:
    """The formulas that an endless run violates: a bad step, or one awaited thing never comes."""
    whole = [*stem, *(loop * COPIES)]
    watcher = Watcher(machine, controls={port: (v,) for port, v in whole[0].items()})
    found: set[str] = set()
    waits: list[dict[tuple[str, int], int]] = []
    for number, step in enumerate(whole):
        if number:
            watcher.step({port: (v,) for port, v in step.items()})
        else:
            watcher.power_up()
        found |= {name for name, bad in watcher.said.items() if bad}
        waits.append(
            {
                (one.formula.name, place): watcher.at(awaited.node)
                for one in machine.logic.formulas
                for place, awaited in enumerate(one.awaited)
            }
        )
    last = waits[-OBSERVED * len(loop) :]
    return found | {key[0] for key in last[0] if all(step[key] for step in last)}


def strong(random: Random) -> str:
    """A property; in half of the cases all of it under a clock that may never tick."""
    text = formula(random, random.randint(1, 3))
    if random.random() < 0.4:
        text = f"({text}) @({random.choice(('rose(a)', 'fell(b)', 'c', 'a && d'))})"
    if random.random() < 0.3:
        text = f"always ({level(random, 1)} -> {random.choice(('', 'next '))}({text}))"
    return text


def nests(expr: s.Expr, inside: bool = False) -> bool:
    """Whether a clock stands within another: the standard lets the inner one begin at once, the
    product at a tick of the outer one. That is left out here, and not settled if it is strong."""
    if isinstance(expr, s.Clocked):
        return inside or nests(expr.operand, True)
    return any(nests(part, inside) for part in s.children(expr))


def words(random: Random, length: int) -> Trace:
    steps: Trace = [{port: random.getrandbits(1) for port in PORTS}]
    bias = {port: random.choice((0, 20, 60)) for port in PORTS}
    while len(steps) < length:
        steps.append({p: v ^ (random.randrange(100) < bias[p]) for p, v in steps[-1].items()})
    return steps


@pytest.mark.parametrize("seed", range(6))
def test_monitors_on_endless_runs(tmp_path: Path, seed: int) -> None:
    random = Random(seed)
    texts = [strong(random) for _ in range(40)]
    machine = board(tmp_path, texts)
    trees = [parse(text) for text in texts]
    sure = [n for n, tree in enumerate(trees) if not nests(tree)]
    assert not any(machine.logic.formulas[n].nested for n in sure)
    violated = Counter[bool]()
    for _ in range(10):
        word = words(random, random.randint(2, 7))
        cut = random.randrange(len(word))
        stem, loop = word[:cut], word[cut:]
        found = monitored(machine, stem, loop)
        run = Lasso([reader(step) for step in stem], [reader(step) for step in loop])
        for number in sure:
            expected = not run.holds(trees[number])
            assert (f"f{number}" in found) == expected, (texts[number], stem, loop)
            violated[expected] += 1
    assert len(sure) >= 20
    assert min(violated[True], violated[False]) > 40, violated


# verdicts -----------------------------------------------------------------------------------------


def strong_formulas(made: Sketch, random: Random, count: int) -> str:
    nets = [net for net in made.nets if net not in ("VCC", "GND")]
    lines = ["assert:"]
    for number in range(count):
        a, b, c = (bit(random, nets) for _ in range(3))
        text = random.choice(
            (
                f"always ({a} -> eventually! {b})",
                f"eventually! ({a} && {b})",
                f"always eventually! {a}",
                f"({a} || {b}) until! {c}",
                f"{a} before! {b}",
                f"always ({a} -> next (({b} || !{c}) until! {c}))",
                f"always ({a} -> next[2] eventually! {b})",
                f"(always ({a} -> eventually! {b})) @(rose({random.choice(nets)}))",
                f"(always ({a} -> next eventually! {b})) @({random.choice(nets)})",
                f"always ({a} -> ((eventually! {b}) && ({a} before! {c})))",
            )
        )
        lines.append(f'  f{number}: {{says: "", formula: "{text}"}}')
    return "\n".join(lines) + "\n"


def bit(random: Random, nets: list[str]) -> str:
    net = random.choice(nets)
    return random.choice((net, net, f"!{net}", f"rose({net})", f"(!{net} || prev({net}))"))


def fair(made: Sketch, random: Random) -> str:
    """Strong assumptions about the ports, sometimes a weak one beside them."""
    ports = list(made.ports)
    a, b = random.choice(ports), random.choice(ports)
    options = [
        f"always eventually! rose({a})",
        f"always eventually! {a}",
        f"always eventually! !{b}",
        f"eventually! ({a} != {b} || rose({b}))",
        f"always eventually! fell({b})",
        f"always ({a} -> stable({b}))" if a != b else f"always (rose({a}) -> next {a})",
    ]
    chosen = random.sample(options, random.choice((0, 1, 1, 2)))
    if not chosen:
        return ""
    lines = [f'  a{n}: {{says: "", formula: "{text}"}}' for n, text in enumerate(chosen)]
    return "assume:\n" + "\n".join(lines) + "\n"


def net_reader(step: TraceStep) -> Read:
    def read(expr: s.Expr) -> int:
        assert isinstance(expr, s.Name)
        return step.nets[expr.path]

    return read


def as_lasso(trace: Run) -> Lasso:
    assert trace.loop is not None
    reads = [net_reader(step) for step in trace.steps]
    return Lasso(reads[: trace.loop + 1], reads[trace.loop + 1 :])


def agree(machine: Machine, found: Counter[str]) -> None:
    """Each verdict is that of the search, both ways; "undecided" only over memories or pins."""
    netlist = machine.netlist
    explorer = Explorer(netlist, list(machine.free))
    space = explorer.explore()
    if space.never_quiet:
        found["not quiet"] += 1
        return
    by_name = {r.name: r for r in prove_board(machine, seconds=10)[1]}
    assumes = [f.expr for f in netlist.formulas if f.kind == "assume"]
    if "assumptions" in by_name:
        found["dead end"] += 1
        return
    for one in netlist.formulas:
        if one.kind == "assume":
            continue
        result = by_name[one.name]
        violated = violates_for_ever(space, assumes, one.expr)
        found[result.verdict] += 1
        match result.verdict:
            case "holds":
                assert not violated, (one.text.value, result)
            case "fails":
                assert violated, (one.text.value, result)
                assert result.trace is not None
                if result.trace.loop is not None:
                    found["goes round"] += 1
                    run = as_lasso(result.trace)
                    assert not run.holds(one.expr), (one.text.value, result)
                    assert all(run.holds(each) for each in assumes)
            case _:
                if result.because.startswith("it rests on pins"):
                    assert not violated, (one.text.value, result)
                else:
                    assert machine.memories, (one.text.value, result)


@pytest.mark.parametrize("name", SMALL)
def test_small_boards(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    monkeypatch.setattr(endless, "SOON", 0)  # the search of the states decides alone
    random = Random(f"endless {name}")
    found = Counter[str]()
    made = small(tmp_path, name)
    agree(load(made, strong_formulas(made, random, 3) + fair(made, random)), found)
    assert found


def random_machine(folder: Path, random: Random) -> Machine:
    while True:
        made = random_board(folder, random)
        machine = load(made, strong_formulas(made, random, 6) + fair(made, random))
        bits = len(machine.stores) + sum(len(c.bits) for c in machine.netlist.controls)
        bits += sum(memory.words * memory.bits for memory in machine.memories)
        if bits + 2 * len(machine.free) <= 8:
            return machine


@pytest.mark.parametrize("soon", [0, 3])
def test_random_boards(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, soon: int) -> None:
    monkeypatch.setattr(endless, "SOON", soon)
    found = Counter[str]()
    for seed in range(12):
        folder = tmp_path / str(seed)
        folder.mkdir()
        agree(random_machine(folder, Random(seed)), found)
    assert found["holds"] >= 3, found
    assert found["goes round"] >= 10, found


# by hand ------------------------------------------------------------------------------------------

CLOCK = "always eventually! rose(c)"
GOES_ON = '{c-goes-on: "always eventually! rose(c)"}'


@pytest.mark.parametrize(
    ("assumes", "formula", "verdict", "loop"),
    [
        # A D flip-flop (q takes d at the rising edge of c), worked out by hand.
        ([], "eventually! q", "fails", 0),
        ([CLOCK], "eventually! q", "fails", 0),  # d stays low
        ([CLOCK, "always d"], "eventually! q", "holds", None),
        ([CLOCK, "always (d -> next d)"], "always (d -> eventually! q)", "holds", None),
        (["always (d -> next d)"], "always (d -> eventually! q)", "fails", 0),
        ([CLOCK, "always eventually! d"], "always eventually! q", "fails", None),  # between edges
        ([CLOCK], "always eventually! (q == d)", "holds", None),
        ([CLOCK], "(d == q) until! rose(c)", "fails", None),
        ([], "(eventually! (q || !q)) @(rose(c))", "fails", 0),  # the clock need never tick
        ([CLOCK], "(eventually! (q || !q)) @(rose(c))", "holds", None),
        ([], "(always eventually! (q || !q)) @(rose(c))", "holds", None),  # no tick, no duty
    ],
)
def test_flip_flop(
    tmp_path: Path, assumes: list[str], formula: str, verdict: str, loop: int | None
) -> None:
    result = prove(flop(tmp_path, assumes, [formula]))["f0"]
    assert result.verdict == verdict, result
    if loop is not None:
        assert result.trace is not None
        assert result.trace.loop == loop


COUNTER = {"c": "U1.CLK", "e": "U1.EN", "q1": "U1.Q1", "q0": "U1.Q0"}


def counter(folder: Path, assumes: list[str], formula: str) -> Machine:
    lines = ["assume:"]
    lines += [f'  a{k}: {{says: "", formula: "{text}"}}' for k, text in enumerate(assumes)]
    lines += ["assert:", f'  f0: {{says: "", formula: "{formula}"}}', ""]
    return load(sketch(folder, "U1:9006", COUNTER, "c e"), "\n".join(lines))


@pytest.mark.parametrize(
    ("formula", "verdict", "steps"),
    [
        # A counter of two bits comes round every four edges, that is every eight steps.
        ("always eventually! (q1 && q0)", "holds", None),
        ("always (rose(q1) -> (q1 until! (q1 && q0 && !c)))", "holds", None),
        ("always (rose(q1) -> eventually! fell(q1))", "holds", None),
        ("(always (q0 -> (q0 until! !q0))) @(rose(c))", "holds", None),
        ("always (rose(q1) -> next eventually! (q1 && q0 && rose(e)))", "fails", None),
        ("eventually! (rose(q0) && q1 && e && prev(!e))", "fails", 8),  # once round
    ],
)
def test_counter(tmp_path: Path, formula: str, verdict: str, steps: int | None) -> None:
    result = prove(counter(tmp_path, [CLOCK, "always e"], formula))["f0"]
    assert result.verdict == verdict, result
    if steps is not None:
        assert result.steps == steps


def test_memories_are_not_searched(tmp_path: Path) -> None:
    """A word may stay unwritten for ever; that something comes is not proved over memories."""
    nets = {"w_n": "U1.WE_n", "d": "U1.D", "a": "U1.A0", "q": "U1.Q"}
    text = 'assert: {f0: {says: "", formula: "always (d -> eventually! q)"}, '
    text += 'f1: {says: "", formula: "always ((q || !q) && eventually! (q || !q))"}}\n'
    found = prove(load(sketch(tmp_path, "U1:9003", nets, "w_n d a"), text))
    assert (found["f0"].verdict, found["f0"].steps) == ("fails", 1)
    assert found["f1"].verdict in ("holds", "undecided")


def test_controls_that_change_together(tmp_path: Path) -> None:
    """One at a time, one of two controls always stands still; together both may go on changing."""
    text = "always eventually! (stable(c) || stable(d))"
    assert prove(flop(tmp_path, [], [text]))["f0"].verdict == "holds"
    for together in ("[[c, d]]", "all"):
        result = prove(flop(tmp_path, [], [text], f"together: {together}"))["f0"]
        assert (result.verdict, result.steps) == ("fails", 2)


def test_limits_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond the limits of the search nothing is claimed."""
    machine = flop(tmp_path, [CLOCK], ["always eventually! (q == d)"])
    for name, says in (("MAX_STARTS", "bits of storage"), ("MAX_STEPS", "steps of the states")):
        with monkeypatch.context() as patch:
            patch.setattr(statesearch, name, 1)
            result = prove(machine)["f0"]
            assert result.verdict == "undecided"
            assert says in result.because
            assert "no run of up to 16 steps goes round without it" in result.because


def test_modules_go_round_as_well(tmp_path: Path) -> None:
    """The replay through the Amaranth modules compares where the run comes back to."""
    never = "eventually! (rose(q0) && q1 && e && prev(!e))"
    machine = counter(tmp_path, [CLOCK, "always e"], never)
    trace = prove(machine)["f0"].trace
    assert trace is not None
    assert trace.same == ("U1.R[0]", "U1.R[1]")
    assert replay(machine.netlist, trace).agrees
    start = trace.steps[0].nets["q0"]
    edge = next(k for k, step in enumerate(trace.steps) if step.nets["q0"] != start)
    cut = replace(trace, loop=0, steps=trace.steps[: edge + 1])
    found = replay(machine.netlist, cut)
    assert not found.agrees
    assert "after the last step of the modules" in found.differences[0]


def test_nothing_happens_is_said_with_the_way_out(tmp_path: Path) -> None:
    result = prove(flop(tmp_path, [], ["eventually! q"]))["f0"]
    assert result.because == (
        "'q' never comes if nothing more happens after step 0. "
        f"If c goes on for ever, assume it: {GOES_ON}"
    )


def test_a_loop_that_does_not_go_round_is_refused(tmp_path: Path) -> None:
    """Each change to a run that goes round is noticed when it is walked with numbers."""
    machine = flop(tmp_path, [CLOCK], ["always (d -> eventually! q)"])
    trace = prove(machine)["f0"].trace
    assert trace is not None
    assert trace.loop is not None
    assert confirms(machine, "f0", trace)
    others = [k for k in range(-1, len(trace.steps) + 1) if k != trace.loop]
    right = [k for k in others if confirms(machine, "f0", replace(trace, loop=k))]
    assert not right
    for k, control in itertools.product(range(len(trace.steps)), ("c", "d")):
        step = trace.steps[k]
        turned = (1 - step.controls[control][0],)
        steps = list(trace.steps)
        steps[k] = replace(step, controls={**step.controls, control: turned})
        assert not confirms(machine, "f0", replace(trace, steps=tuple(steps))), (k, control)


def test_strong_assumptions_of_another_form_are_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as caught:
        flop(tmp_path, ["always (d -> eventually! c)"], ["never q"])
    assert "an assumption cannot be strong in this way (eventually!)" in str(caught.value)
    with pytest.raises(BadInput) as caught:
        flop(tmp_path, ["always eventually! q"], ["never q"])
    assert "an assumption speaks of what the board decides" in str(caught.value)


def test_strong_assumptions_that_cannot_be_kept_prove_nothing(tmp_path: Path) -> None:
    found: dict[str, Result] = prove(flop(tmp_path, [CLOCK, "always !rose(c)"], ["never q", "d"]))
    assert found["assumptions"].verdict == "undecided"
    assert found["f0"].verdict == found["f1"].verdict == "undecided"
