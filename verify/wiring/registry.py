"""The list of wiring rules, and the run of all of them over a board."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring import (
    budget,
    buttons,
    crystals,
    diodes,
    edges,
    families,
    holes,
    inputs,
    legs,
    levels,
    loading,
    outputs,
    pulls,
    signals,
    supplies,
    voltages,
)
from breadproof.verify.wiring.accepting import accepted, nothing
from breadproof.verify.wiring.finding import Finding
from breadproof.verify.wiring.survey import Survey


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A wiring rule. ``severity`` is the highest that it gives; a finding may weigh less.

    ``code`` is never reused for anything else. ``first``: what it finds is told before all else,
    for it is why others find something.
    """

    code: str
    severity: Severity
    title: str
    check: Callable[[Survey], Iterable[Finding]]
    first: bool = False


RULES: tuple[Rule, ...] = (
    Rule(
        code="supply-missing",
        severity=Severity.ERROR,
        title="a chip has no supply or no ground",
        check=supplies.supply_missing,
    ),
    Rule(
        code="supply-wrong-rail",
        severity=Severity.ERROR,
        title="a supply or ground pin is on the wrong rail",
        check=supplies.supply_wrong_rail,
    ),
    Rule(
        code="supply-voltage",
        severity=Severity.ERROR,
        title="a chip's supply is outside what its family is made for",
        check=supplies.supply_voltage,
    ),
    Rule(
        code="decoupling-missing",
        severity=Severity.WARNING,
        title="fewer decoupling capacitors than chips",
        check=supplies.decoupling_missing,
    ),
    Rule(
        code="input-open",
        severity=Severity.ERROR,
        title="an input is left open",
        check=inputs.input_open,
    ),
    Rule(
        code="control-open",
        severity=Severity.ERROR,
        title="an enable, select, clear, preset, load, latch, write or clock pin is left open",
        check=inputs.control_open,
    ),
    Rule(
        code="gate-unused",
        severity=Severity.NOTE,
        title="an unused gate's inputs are left open",
        check=inputs.gate_unused,
    ),
    Rule(
        code="net-undriven",
        severity=Severity.ERROR,
        title="a net is read, and nothing drives it",
        check=inputs.net_undriven,
    ),
    Rule(
        code="net-alone",
        severity=Severity.WARNING,
        title="a net has only one pin",
        check=inputs.net_alone,
    ),
    Rule(
        code="outputs-joined",
        severity=Severity.ERROR,
        title="outputs that always drive are joined",
        check=outputs.outputs_joined,
    ),
    Rule(
        code="output-on-rail",
        severity=Severity.ERROR,
        title="an output is wired to a supply or to ground",
        check=outputs.output_on_rail,
    ),
    Rule(
        code="pull-up-missing",
        severity=Severity.ERROR,
        title="an open-collector net has no pull-up",
        check=outputs.pull_up_missing,
    ),
    Rule(
        code="diode-no-pull",
        severity=Severity.ERROR,
        title="diodes bring a net one level, and nothing gives it the other",
        check=diodes.diode_no_pull,
    ),
    Rule(
        code="pull-weak",
        severity=Severity.ERROR,
        title="a pull resistor is too weak for the inputs on its net",
        check=pulls.pull_weak,
    ),
    Rule(
        code="pull-strong",
        severity=Severity.ERROR,
        title="a pull resistor is too strong for an output that pulls against it",
        check=loading.pull_strong,
    ),
    Rule(
        code="fan-out",
        severity=Severity.ERROR,
        title="an output drives more inputs than it can",
        check=loading.fan_out,
    ),
    Rule(
        code="led-loads",
        severity=Severity.ERROR,
        title="an LED pulls a net that is read out of level, or loads an output too much",
        check=loading.led_loads,
    ),
    Rule(
        code="led-no-resistor",
        severity=Severity.ERROR,
        title="an LED has no resistor",
        check=pulls.led_no_resistor,
    ),
    Rule(
        code="level-mismatch",
        severity=Severity.ERROR,
        title="an output's guaranteed level is none for an input",
        check=levels.level_mismatch,
    ),
    Rule(
        code="over-voltage",
        severity=Severity.ERROR,
        title="a pin is pulled or driven above what it bears",
        check=voltages.over_voltage,
    ),
    Rule(
        code="family-unknown",
        severity=Severity.WARNING,
        title="a chip is not known to exist in its family",
        check=families.family_unknown,
    ),
    Rule(
        code="switch-no-pull",
        severity=Severity.ERROR,
        title="an input behind a switch floats while the switch is open",
        check=buttons.switch_no_pull,
    ),
    Rule(
        code="switch-idle",
        severity=Severity.WARNING,
        title="a button or switch gives a net one level in all its positions",
        check=buttons.switch_idle,
    ),
    Rule(
        code="switch-bounces",
        severity=Severity.WARNING,
        title="a button or switch reaches a clock, clear or write pin undebounced",
        check=buttons.switch_bounces,
    ),
    Rule(
        code="edge-slow",
        severity=Severity.WARNING,
        title="a capacitor makes an edge slow",
        check=edges.edge_slow,
    ),
    Rule(
        code="crystal-idle",
        severity=Severity.WARNING,
        title="a crystal is beside no gate",
        check=crystals.crystal_idle,
    ),
    Rule(
        code="wire-beside",
        severity=Severity.WARNING,
        title="a wire's end is alone beside a chip's column",
        check=holes.wire_beside,
    ),
    Rule(
        code="supplies-joined",
        severity=Severity.ERROR,
        title="wires join two supplies, or a supply and ground",
        check=holes.supplies_joined,
        first=True,
    ),
    Rule(
        code="rail-unfed",
        severity=Severity.ERROR,
        title="a rail, or a half of one, is joined to no supply",
        check=holes.rail_unfed,
        first=True,
    ),
    Rule(
        code="leg-open",
        severity=Severity.WARNING,
        title="one leg of a part is wired and the other is not",
        check=legs.leg_open,
    ),
    Rule(
        code="outputs-twinned",
        severity=Severity.ERROR,
        title="two outputs of a chip that are enabled together are joined",
        check=outputs.outputs_twinned,
    ),
    Rule(
        code="outputs-switched",
        severity=Severity.ERROR,
        title="a switch joins two outputs that always drive",
        check=signals.outputs_switched,
    ),
    Rule(
        code="bus-floats",
        severity=Severity.NOTE,
        title="a bus of three-state outputs has readers and no pull resistor",
        check=signals.bus_floats,
    ),
    Rule(
        code="strobe-gated",
        severity=Severity.NOTE,
        title="a clock, clear, preset, load, latch or write pin is fed by gates",
        check=signals.strobe_gated,
    ),
    Rule(
        code="grounds-parted",
        severity=Severity.ERROR,
        title="boards that share signals do not share a ground",
        check=signals.grounds_parted,
    ),
    Rule(
        code="current-budget",
        severity=Severity.ERROR,
        title="the board may take more current than its supply gives",
        check=budget.current_budget,
    ),
    Rule(
        code="accept-idle",
        severity=Severity.WARNING,
        title="something is accepted that does not fire",
        check=nothing,
    ),
)


def rule(code: str) -> Rule | None:
    """The rule of that code, or None."""
    return next((entry for entry in RULES if entry.code == code), None)


def check_wiring(netlist: Netlist) -> tuple[Finding, ...]:
    """All findings of all rules, in the order of the board file, then of the rules; what explains
    others comes first."""
    survey = Survey(netlist)
    told = [finding for entry in RULES for finding in entry.check(survey)]
    found = accepted(netlist, told, [entry.code for entry in RULES])
    ranks = {entry.code: rank for rank, entry in enumerate(RULES) if entry.first}
    last = len(RULES)

    def place(one: Finding) -> tuple[int, str, int, int]:
        return ranks.get(one.code, last), one.span.file, one.span.line, one.span.column

    return tuple(sorted(found, key=place))
