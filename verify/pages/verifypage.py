"""The page of `breadproof verify`: verdict, formulas, runs, wiring, standing checks, the board."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from breadproof import __version__
from breadproof.verify.board import BoardReport
from breadproof.verify.pages.benchviews import bench_view
from breadproof.verify.pages.findingviews import finding_views
from breadproof.verify.pages.resultviews import (
    ResultView,
    counted,
    result_view,
    standing_groups,
)
from breadproof.verify.pages.runviews import RunView, run_view, story_of
from breadproof.verify.pages.signs import sign_of
from breadproof.verify.pages.template import Names, Section, page
from breadproof.verify.pictures.stickers import finding_stickers, story_stickers
from breadproof.verify.prove.verdict import Result, failing
from breadproof.verify.report.culprits import Story
from breadproof.verify.report.findings import summary
from breadproof.verify.report.listing import next_step
from breadproof.verify.report.rests import grounds
from breadproof.verify.report.words import count, listed

_WORDS = {"fails": "fail", "unreachable": "cannot be reached", "undecided": "undecided"}


def verify_page(
    report: BoardReport, *, path: str, only: Sequence[str] = (), options: str = ""
) -> str:
    """The report as one HTML file; arguments as of `listing`."""
    return _Page(report, path, tuple(only), options).text()


@dataclass(slots=True)
class _Page:
    report: BoardReport
    path: str
    only: tuple[str, ...]
    options: str
    names: Names = field(default_factory=Names)
    stories: list[tuple[Result, Story]] = field(default_factory=list)
    """Those of what fails."""

    def text(self) -> str:
        report, netlist = self.report, self.report.machine.netlist
        groups, single = standing_groups(report.results)
        claims = [one for one in report.results if one.kind != "standing"]
        formulas = [self.view(one) for one in sorted(claims, key=_weight)]
        checks = [self.view(one) for one in sorted(single, key=_weight)]
        runs = list(self.runs())
        stickers = finding_stickers(report.wiring)
        for one, story in self.stories:
            story_stickers(stickers, one.name, story)
        board = bench_view(netlist, stickers, "The board as it stands on the bench")
        sentence, command = next_step(
            report,
            path=self.path,
            only=self.only,
            options=self.options,
            stories={one.name: story for one, story in self.stories},
        )
        values = {
            "name": netlist.board,
            "title": netlist.title,
            "verdict": sign_of(report.verdict),
            "counted": counted(report.results, summary(report.wiring), _WORDS),
            "sentence": sentence[:1].upper() + sentence[1:],
            "command": command,
            "only": listed(self.only),
            "sections": self.sections(formulas, runs, checks),
            "formulas": formulas,
            "runs": runs,
            "findings": finding_views(report.wiring, self.path, netlist.file, board.pins),
            "groups": groups,
            "checks": checks,
            "board": board,
            "grounds": grounds(report),
            "file": self.path,
            "version": __version__,
        }
        return page("verify.html", values)

    def view(self, result: Result) -> ResultView:
        formulas = self.report.machine.netlist.formulas
        text = next((one.text.value for one in formulas if one.name == result.name), "")
        standing = result.kind == "standing"
        return result_view(result, self.names.of(result.name), "" if standing else text)

    def runs(self) -> list[RunView]:
        """What fails first, then the covers."""
        traced = [(one, one.trace) for one in self.report.results if one.trace is not None]
        traced.sort(key=lambda pair: not failing(pair[0]))
        views: list[RunView] = []
        for one, trace in traced:
            story = story_of(self.report.machine, one, trace)
            if failing(one):
                self.stories.append((one, story))
            views.append(
                run_view(story, one, trace, self.names.of(one.name), one.name in self.only)
            )
        return views

    def sections(
        self, formulas: list[ResultView], runs: list[RunView], checks: list[ResultView]
    ) -> list[Section]:
        """The contents of the page."""
        wiring = summary(self.report.wiring) or "nothing is wrong"
        bad = count(len(checks), "to look at", "to look at") if checks else "all hold"
        every = [
            Section("formulas", "Formulas", str(len(formulas))) if formulas else None,
            Section("runs", "Runs", str(len(runs))) if runs else None,
            Section("wiring", "Wiring", wiring),
            Section("checks", "Checked on every board", bad),
            Section("board", "The board", ""),
            Section("rests", "What this rests on", ""),
        ]
        has_checks = any(one.kind == "standing" for one in self.report.results)
        return [one for one in every if one and (one.id != "checks" or has_checks)]


def _weight(result: Result) -> int:
    """What fails comes first, then what is undecided; otherwise the board file's order stays."""
    return 0 if failing(result) else 1 if result.verdict == "undecided" else 2
