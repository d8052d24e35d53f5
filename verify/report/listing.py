"""The listing of a report: what a person reads at a glance, and under it each counterexample."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from breadproof.specs.machine.trace import Trace
from breadproof.specs.netlist.model import Netlist, Pin
from breadproof.verify.board import BoardReport
from breadproof.verify.prove.answers import INTERRUPTED
from breadproof.verify.prove.verdict import Result, failing
from breadproof.verify.report.culprits import Story, tell
from breadproof.verify.report.entries import Entries
from breadproof.verify.report.findings import FindingTexts
from breadproof.verify.report.page import PLAIN, Page
from breadproof.verify.report.replay import replay
from breadproof.verify.report.rests import rests_on
from breadproof.verify.report.resultwords import (
    GROUPS,
    grounds_of,
    group_text,
    how,
    run_ends,
    shortened,
)
from breadproof.verify.report.storytext import story_lines
from breadproof.verify.report.words import count, listed, pin_called, printable, wrapped

MANY = 3
"""So many checks of which the same is to be said are told together."""


def listing(
    report: BoardReport, page: Page, *, path: str, only: Sequence[str] = (), options: str = ""
) -> str:
    """The whole report as text; ``path`` is the board file as the user typed it.

    ``options`` goes, behind a space, with every command that is proposed.

    Runs are drawn of what fails, and of the covers named in ``only``.
    """
    return "\n".join(_Listing(report, page, path, tuple(only), options).lines()) + "\n"


def next_step(
    report: BoardReport,
    *,
    path: str,
    only: Sequence[str] = (),
    options: str = "",
    stories: Mapping[str, Story] | None = None,
) -> tuple[str, str]:
    """What to do now, as a sentence, and the command for it or ""; arguments as of `listing`.

    ``stories`` are those that are known already, by the names of results.
    """
    listed_so_far = _Listing(report, PLAIN, path, tuple(only), options)
    listed_so_far.stories.update(stories or {})
    sentence, command = listed_so_far.next_step()
    return sentence, f"breadproof {command}" if command else ""


@dataclass(slots=True)
class _Listing:
    report: BoardReport
    page: Page
    path: str
    only: tuple[str, ...]
    options: str = ""
    netlist: Netlist = field(init=False)
    name: str = field(init=False)
    entries: Entries = field(init=False)
    stories: dict[str, Story] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.netlist = self.report.machine.netlist
        self.name = printable(self.netlist.board)
        self.entries = Entries(self.page)

    def lines(self) -> list[str]:
        lines = self.heading()
        lines += self.wiring()
        lines += self.standing()
        lines += self.formulas()
        lines += self.runs()
        lines += ["", *rests_on(self.report, self.page), ""]
        return lines + self.ending()

    # parts ------------------------------------------------------------------------------------

    def heading(self) -> list[str]:
        verdict = self.entries.verdict(self.report.verdict).rstrip()
        lines = [f"{self.page.paint(self.name, 'bold')}: {verdict}"]
        if self.netlist.title:
            lines += self.entries.text(self.netlist.title, 2)
        if self.only:
            alone = f"only {listed(self.only)} and the wiring were looked at"
            lines += self.entries.text(f"{alone}, and what that rests on.", 2)
        return lines

    def wiring(self) -> list[str]:
        texts = FindingTexts(entries=self.entries, path=self.path, file=self.netlist.file)
        return texts.lines(self.report.wiring)

    def standing(self) -> list[str]:
        results = [r for r in self.report.results if r.kind == "standing"]
        if not results:
            return []
        lines = self.entries.section("Checked on every board")
        groups: dict[str, list[Result]] = {}
        for result in results:
            groups.setdefault(result.name.partition(":")[0], []).append(result)
        for name, members in groups.items():
            good = [result for result in members if result.verdict == "holds"]
            if name in GROUPS and good:
                lines += self.entries.entry("holds", group_text(name, len(good), len(members)))
            else:
                lines += [line for result in good for line in self.single(result)]
            for alike in self.alike([one for one in members if one.verdict != "holds"]):
                if len(alike) < MANY:
                    lines += [line for result in alike for line in self.single(result)]
                else:
                    lines += self.several(name, alike)
        return lines

    def alike(self, results: list[Result]) -> list[list[Result]]:
        """Those without an answer of which the same is to be said, together."""
        groups: dict[object, list[Result]] = {}
        for result in results:
            same = result.verdict == "undecided" and result.trace is None
            key = tuple(self.facts(result)) if same else result.name
            groups.setdefault(key, []).append(result)
        return list(groups.values())

    def several(self, group: str, results: list[Result]) -> list[str]:
        names = [result.name.removeprefix(f"{group}:") for result in results]
        lines = self.entries.entry(results[0].verdict, f"{group}: {listed(names)}")
        return lines + [line for fact in self.facts(results[0]) for line in self.entries.text(fact)]

    def single(self, result: Result) -> list[str]:
        told = f"{result.name}: {result.says}".removesuffix(": ")
        lines = self.entries.entry(result.verdict, told)
        lines += [line for fact in self.facts(result) for line in self.entries.text(fact)]
        return lines + self.where_run(result)

    def facts(self, result: Result) -> list[str]:
        """What is said under the name of a check."""
        facts = [result.because, *result.notes, *grounds_of(result)]
        if result.verdict == "holds":
            facts.append(result.method)
        if result.verdict == "undecided":
            facts.insert(0, how(result))
        return [fact for fact in facts if fact]

    def formulas(self) -> list[str]:
        results = [r for r in self.report.results if r.kind != "standing"]
        if not results:
            return []
        lines = self.entries.section("Formulas")
        for result in results:
            lines += self.formula(result)
        return lines

    def formula(self, result: Result) -> list[str]:
        lines = self.entries.entry(result.verdict, f"{result.name}: {result.says}")
        facts = [how(result), f"{result.seconds:.2f} s"]
        if result.assumes:
            facts.append(f"assumes {listed(shortened(result.assumes))}")
        lines += self.entries.text("; ".join(fact for fact in facts if fact))
        if result.because:
            lines += self.entries.text(f"because {result.because}")
        if result.vacuous:
            never = listed([f"'{text}'" for text in result.vacuous])
            lines += self.entries.text(f"Says less than it seems: {never} never comes true.")
        for note in (*result.notes, *grounds_of(result)):
            lines += self.entries.text(note)
        return lines + self.where_run(result)

    def where_run(self, result: Result) -> list[str]:
        return self.entries.text("The run is below.") if self.drawn(result) else []

    # runs -------------------------------------------------------------------------------------

    def drawn(self, result: Result) -> bool:
        return result.trace is not None and (failing(result) or result.name in self.only)

    def runs(self) -> list[str]:
        lines: list[str] = []
        for result in self.report.results:
            if result.trace is None or not self.drawn(result):
                continue
            told = run_ends(result.kind, result.trace)
            lines += self.entries.section(f"Run: {result.name}", told)
            lines += self.entries.text(result.says, 2)
            lines += story_lines(self.story(result, result.trace), result.trace, self.page)
        return lines

    def story(self, result: Result, trace: Trace) -> Story:
        if result.name not in self.stories:
            self.stories[result.name] = tell(result, replay(self.report.machine, trace))
        return self.stories[result.name]

    # the end ----------------------------------------------------------------------------------

    def ending(self) -> list[str]:
        """The verdict again, what to do next, and the command for it, ready to be copied."""
        first = f"{self.name}: {self.entries.shown(self.report.verdict)}."
        sentence, command = self.next_step()
        lines = wrapped(f"{first} Next: {sentence}", self.page.width, "", "  ")
        painted = f"{self.name}: {self.entries.verdict(self.report.verdict).rstrip()}."
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
            file = self.path if first.span.file == self.netlist.file else first.span.file
            place = f"{file}:{first.span.line}, {first.code}"
            return f"{what} ({place}), then verify again.", ""
        if broken:
            drawn = [result for result in broken if result.trace is not None]
            return self.next_for((drawn or broken)[0], path)
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
            how = "fails" if result.verdict == "fails" else f"is {result.verdict}"
            return f"see why {result.name} {how}, above.", ""
        probe = self.probe(self.story(result, result.trace))
        return (
            f"do the steps of '{result.name}' with a probe on {probe}; "
            "for a waveform viewer its run is written by",
            f"verify {path} --only {result.name} --trace-dir runs",
        )

    def probe(self, story: Story) -> str:
        """The pin that suffers, or the end of the last chain."""
        rails = {pin.label for pin in self.netlist.pins() if self.on_rail(pin)}
        pins = list(story.cast.drives) or [one for one in story.cast.pins if one not in rails]
        if not pins:
            pins = [link.out for chain in story.chains for link in chain if link.out][-1:]
        shown = [pin_called(self.netlist, label) for label in pins[:2]]
        return listed(shown) if shown else "the nets it names"

    def on_rail(self, pin: Pin) -> bool:
        return pin.net is not None and self.netlist.nets[pin.net].rail is not None

    def next_undecided(self, results: list[Result]) -> str:
        names = [result.name for result in results]
        first = listed(names[:3]) if len(names) <= 3 else f"{names[0]} and {len(names) - 1} more"
        ways = {
            INTERRUPTED: "; run it again for what was interrupted",
            "time": "; what ran out of time may be decided with a longer --time-limit",
        }
        way = (text for why, text in ways.items() if any(why in one.because for one in results))
        return f"see what stands in the way of {first}, above{next(way, '')}."
