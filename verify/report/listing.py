"""The listing of a report: what a person reads at a glance, and under it each counterexample."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from dataclasses import dataclass, field

from breadproof.specs.machine.trace import Trace
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.board import BoardReport
from breadproof.verify.prove.verdict import Result, failing
from breadproof.verify.report.culprits import Story, tell
from breadproof.verify.report.page import Page
from breadproof.verify.report.replay import replay
from breadproof.verify.report.rests import rests_on
from breadproof.verify.report.storytext import story_lines
from breadproof.verify.report.words import count, listed, pin_called, printable, wrapped
from breadproof.verify.wiring.finding import Finding

COLOURS = {
    "pass": "green",
    "holds": "green",
    "covered": "green",
    "fail": "red",
    "fails": "red",
    "unreachable": "red",
    "error": "red",
    "undecided": "yellow",
    "warning": "yellow",
    "note": "blue",
    "accepted": "blue",
}
GROUPS = {
    "fights": ("net", "it is never driven by two at once", "none is ever driven by two at once"),
    "glitch": ("pin", "it may not pulse", "none may pulse"),
    "race": ("pin", "what it takes in stands still", "what they take in stands still"),
    "float": ("pin", "it never reads a floating net", "none reads a floating net"),
    "program": ("pin", "it never programs its chip", "none programs its chip"),
}
"""What a group of standing checks is about, and what is said of one that holds and of several."""
_VERDICT = 12


def listing(
    report: BoardReport, page: Page, *, path: str, only: Sequence[str] = (), options: str = ""
) -> str:
    """The whole report as text; ``path`` is the board file as the user typed it.

    ``options`` goes, behind a space, with every command that is proposed.

    Runs are drawn of what fails, and of the covers named in ``only``.
    """
    return "\n".join(_Listing(report, page, path, tuple(only), options).lines()) + "\n"


@dataclass(slots=True)
class _Listing:
    report: BoardReport
    page: Page
    path: str
    only: tuple[str, ...]
    options: str = ""
    netlist: Netlist = field(init=False)
    name: str = field(init=False)
    stories: dict[str, Story] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.netlist = self.report.machine.netlist
        self.name = printable(self.netlist.board)

    def lines(self) -> list[str]:
        lines = self.heading()
        lines += self.wiring()
        lines += self.standing()
        lines += self.formulas()
        lines += self.runs()
        lines += ["", *rests_on(self.report, self.page), ""]
        return lines + self.ending()

    def shown(self, word: str) -> str:
        """A verdict as it is printed: what is not well in capitals, since a pipe has no colour."""
        return word if COLOURS[word] in ("green", "blue") else word.upper()

    def verdict(self, word: str) -> str:
        """A verdict in its column."""
        shown = self.shown(word)
        return self.page.paint(shown, COLOURS[word]) + " " * max(1, _VERDICT - len(shown))

    def section(self, title: str, told: str = "") -> list[str]:
        return ["", self.page.paint(title, "bold") + (f"  {told}" if told else "")]

    def text(self, text: str, indent: int = 2 + _VERDICT) -> list[str]:
        return wrapped(text, self.page.width, " " * indent)

    def entry(self, verdict: str, text: str) -> list[str]:
        """An entry with its verdict in front."""
        room = " " * (2 + _VERDICT)
        lines = wrapped(text, self.page.width, room)
        return [f"  {self.verdict(verdict)}{lines[0][len(room) :]}", *lines[1:]]

    # parts ------------------------------------------------------------------------------------

    def heading(self) -> list[str]:
        verdict = self.verdict(self.report.verdict).rstrip()
        lines = [f"{self.page.paint(self.name, 'bold')}: {verdict}"]
        if self.netlist.title:
            lines += self.text(self.netlist.title, 2)
        if self.only:
            alone = f"only {listed(self.only)} and the wiring were looked at"
            lines += self.text(f"{alone}, and what that rests on.", 2)
        return lines

    def wiring(self) -> list[str]:
        open_ones = [f for f in self.report.wiring if not f.accepted]
        numbers = {
            severity: sum(f.severity.value == severity for f in open_ones)
            for severity in ("error", "warning", "note")
        }
        words = [count(n, severity) for severity, n in numbers.items() if n]
        left = len(self.report.wiring) - len(open_ones)
        words += [f"{left} accepted"] if left else []
        lines = self.section("Wiring", listed(words) or "nothing is wrong")
        for severity in numbers:
            for finding in open_ones:
                if finding.severity.value == severity:
                    lines += self.finding(finding)
        for finding in self.report.wiring:
            if finding.accepted:
                lines += self.accepted(finding)
        return lines

    def accepted(self, finding: Finding) -> list[str]:
        """One that the board file accepts: what it is, and why it stays."""
        place = f"{self.path}:{finding.span.line}:{finding.span.column}"
        lines = self.entry("accepted", f"{finding.message}.")
        lines += self.text(f"{place}  [{finding.code}]  {', '.join(finding.pins)}".rstrip())
        return lines + self.text(f"Accepted because: {finding.accepted}")

    def finding(self, finding: Finding) -> list[str]:
        place = f"{self.path}:{finding.span.line}:{finding.span.column}"
        lines = self.entry(finding.severity.value, f"{finding.message}.")
        lines += self.text(f"{place}  [{finding.code}]  {', '.join(finding.pins)}".rstrip())
        return lines + (self.text(finding.hint) if finding.hint else [])

    def standing(self) -> list[str]:
        results = [r for r in self.report.results if r.kind == "standing"]
        if not results:
            return []
        lines = self.section("Checked on every board")
        groups: dict[str, list[Result]] = {}
        for result in results:
            groups.setdefault(result.name.partition(":")[0], []).append(result)
        for name, members in groups.items():
            good = [result for result in members if result.verdict == "holds"]
            if name in GROUPS and good:
                lines += self.entry("holds", self.group(name, len(good), len(members)))
            else:
                lines += [line for result in good for line in self.single(result)]
            for result in members:
                if result.verdict != "holds":
                    lines += self.single(result)
        return lines

    def group(self, name: str, good: int, every: int) -> str:
        """``glitch: 24 pins, none may pulse``."""
        noun, one, several = GROUPS[name]
        number = count(good, noun) if good == every else f"{good} of {count(every, noun)}"
        return f"{name}: {number}, {one if good == 1 else several}"

    def single(self, result: Result) -> list[str]:
        lines = self.entry(result.verdict, f"{result.name}: {result.says}".removesuffix(": "))
        facts = [result.because, *result.notes]
        if result.verdict == "holds":
            facts.append(result.method)
        if result.verdict == "undecided":
            facts.insert(0, self.how(result))
        lines += [line for fact in facts if fact for line in self.text(fact)]
        return lines + self.where_run(result)

    def formulas(self) -> list[str]:
        results = [r for r in self.report.results if r.kind != "standing"]
        if not results:
            return []
        lines = self.section("Formulas")
        for result in results:
            lines += self.formula(result)
        return lines

    def formula(self, result: Result) -> list[str]:
        lines = self.entry(result.verdict, f"{result.name}: {result.says}")
        facts = [self.how(result), f"{result.seconds:.2f} s"]
        if result.assumes:
            facts.append(f"assumes {listed(_shortened(result.assumes))}")
        lines += self.text("; ".join(fact for fact in facts if fact))
        if result.because:
            lines += self.text(f"because {result.because}")
        if result.vacuous:
            never = listed([f"'{text}'" for text in result.vacuous])
            lines += self.text(f"Says less than it seems: {never} never comes true.")
        for note in result.notes:
            lines += self.text(note)
        return lines + self.where_run(result)

    def how(self, result: Result) -> str:
        match result.verdict:
            case "holds" | "unreachable":
                proved = "proved" if result.verdict == "holds" else "proved that no run gets there"
                return f"{proved}: {result.method}" if result.method else proved
            case "fails":
                return f"breaks {_after(result.steps)}"
            case "covered":
                return f"reached {_after(result.steps)}"
            case "undecided":
                if result.method:
                    return f"over levels alone it holds ({result.method})"
                if result.steps == 0:
                    return ""
                if result.kind == "cover":
                    return f"no run of up to {count(result.steps, 'step')} gets there"
                return f"no counterexample in the first {count(result.steps, 'step')}"

    def where_run(self, result: Result) -> list[str]:
        return self.text("The run is below.") if self.drawn(result) else []

    # runs -------------------------------------------------------------------------------------

    def drawn(self, result: Result) -> bool:
        return result.trace is not None and (failing(result) or result.name in self.only)

    def runs(self) -> list[str]:
        lines: list[str] = []
        for result in self.report.results:
            if result.trace is None or not self.drawn(result):
                continue
            word = "reached" if result.kind == "cover" else "goes wrong"
            told = f"{word} {_after(len(result.trace.steps) - 1)}"
            lines += self.section(f"Run: {result.name}", told)
            lines += self.text(result.says, 2)
            lines += story_lines(self.story(result, result.trace), result.trace, self.page)
        return lines

    def story(self, result: Result, trace: Trace) -> Story:
        if result.name not in self.stories:
            self.stories[result.name] = tell(result, replay(self.report.machine, trace))
        return self.stories[result.name]

    # the end ----------------------------------------------------------------------------------

    def ending(self) -> list[str]:
        """The verdict again, what to do next, and the command for it, ready to be copied."""
        first = f"{self.name}: {self.shown(self.report.verdict)}."
        sentence, command = self.next_step()
        lines = wrapped(f"{first} Next: {sentence}", self.page.width, "", "  ")
        painted = f"{self.name}: {self.verdict(self.report.verdict).rstrip()}."
        lines[0] = lines[0].replace(first, painted, 1)
        return [*lines, f"  breadproof {command}"] if command else lines

    def next_step(self) -> tuple[str, str]:
        """What to do, and the arguments of the command for it or ""."""
        errors = [f for f in self.report.wiring if f.fails]
        broken = [r for r in self.report.results if failing(r)]
        open_ones = [r for r in self.report.results if r.verdict == "undecided"]
        path = f"{shlex.quote(self.path)} {self.options}".rstrip()
        if errors:
            first = errors[0]
            what = f"mend {listed(first.pins[:3])}" if first.pins else "mend the wiring"
            place = f"{self.path}:{first.span.line}, {first.code}"
            return f"{what} ({place}), then verify again.", ""
        if broken:
            return self.next_for(broken[0], path)
        if open_ones:
            return self.next_undecided(open_ones), ""
        if self.only:
            return "look at everything.", f"verify {path}"
        warnings = sum(f.severity.value == "warning" and not f.accepted for f in self.report.wiring)
        look = f"look at the {count(warnings, 'warning')}, then " if warnings else ""
        name = shlex.quote(f"{self.name}.v")
        return f"{look}write it as Verilog.", f"export {path} --to verilog -o {name}"

    def next_for(self, result: Result, path: str) -> tuple[str, str]:
        """What to do about a result that fails."""
        if result.trace is None:
            return f"see why {result.name} is {result.verdict}, above.", ""
        probe = self.probe(self.story(result, result.trace))
        return (
            f"do the steps of '{result.name}' with a probe on {probe}; "
            "for a waveform viewer its run is written by",
            f"verify {path} --only {result.name} --trace-dir runs",
        )

    def probe(self, story: Story) -> str:
        """The pin that suffers, or the end of the last chain."""
        pins = list(story.cast.drives) or list(story.cast.pins)
        if not pins:
            pins = [link.out for chain in story.chains for link in chain if link.out][-1:]
        shown = [pin_called(self.netlist, label) for label in pins[:2]]
        return listed(shown) if shown else "the nets it names"

    def next_undecided(self, results: list[Result]) -> str:
        names = [result.name for result in results]
        first = listed(names[:3]) if len(names) <= 3 else f"{names[0]} and {len(names) - 1} more"
        return (
            f"see what stands in the way of {first}, above; "
            "what ran out of time may be decided with a longer --time-limit."
        )


def _after(steps: int) -> str:
    return "at the first quiet moment after power-up" if steps == 0 else f"in step {steps}"


def _shortened(assumes: Sequence[str]) -> list[str]:
    """``open-high:U3.5`` and its like as one phrase."""
    named = [name for name in assumes if not name.startswith("open-high:")]
    pins = [name.partition(":")[2] for name in assumes if name.startswith("open-high:")]
    if pins:
        more = f" and {len(pins) - 3} more" if len(pins) > 3 else ""
        what = "open input" if len(pins) == 1 else "open inputs"
        shown = ", ".join(pins[:3])
        named.append(f"that {what} {shown}{more} {'reads' if len(pins) == 1 else 'read'} high")
    return named
