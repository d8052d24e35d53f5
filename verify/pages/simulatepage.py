"""The page of `breadproof simulate`: how it ended, checks, steps, waves, memories, the board."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from breadproof import __version__
from breadproof.export.stimulus.player import MAX_ROUNDS, Player, Reason
from breadproof.export.stimulus.run import Difference
from breadproof.specs.reading.diagnostics import Span
from breadproof.verify.pages.benchviews import BenchView, bench_view
from breadproof.verify.pages.dumpviews import DumpView, dump_views
from breadproof.verify.pages.findingviews import Pieces, line_pieces, place_of
from breadproof.verify.pages.signs import Sign, sign_of
from breadproof.verify.pages.template import Section, page
from breadproof.verify.pages.waveviews import wave_view
from breadproof.verify.pictures.stickers import Sticker, stick
from breadproof.verify.pictures.waves import Waves
from breadproof.verify.report.played import Film, Played, lit_lamps, played
from breadproof.verify.report.rests import LEFT_OUT, SAFETY
from breadproof.verify.report.simulated import Told, power_on, remarks, seen
from breadproof.verify.report.words import count

_VERDICTS = {
    Reason.ENDED: "the script came to its end",
    Reason.CHECK: "a check fails",
    Reason.BREAK: "stopped where it was told to",
    Reason.OVERRUN: "what a clock waited for did not come",
    Reason.RESTLESS: "the board does not get quiet",
}
_MARKS = {Reason.BREAK: "stopped here", Reason.CHECK: "fails here"}
ID = "played"
"""What the run is called in the page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckView:
    """A check of the script, and how it went."""

    sign: Sign
    text: str
    says: str
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RowView:
    """A row of the table of steps; ``gap``: so many rows are left out before it."""

    step: int
    rounds: int
    done: str
    line: int
    levels: tuple[str, ...]
    gap: int
    wrong: bool


def simulate_page(told: Told, film: Film, player: Player, path: str) -> str:
    """The run as one HTML file; ``player`` has come to the end, ``path`` is the board file."""
    return _Page(told, film, player, path).text()


@dataclass(slots=True)
class _Page:
    told: Told
    film: Film
    player: Player
    path: str

    def text(self) -> str:
        told, result = self.told, self.told.result
        netlist = told.setting.machine.netlist
        drawn = played(told, self.film)
        checks, later = self.checks()
        rows = list(self.rows())
        memories = list(dump_views(told.setting, self.player, told.seed))
        ended = result.reason
        sign = sign_of("pass" if result.passed else "fail")
        sketch = Waves(
            drawn.picture, shaded=drawn.different, says=_MARKS.get(ended, "it ends here")
        )
        values = {
            "name": netlist.board,
            "title": f"{told.script}: {netlist.title}" if netlist.title else told.script,
            "verdict": Sign(word=_VERDICTS[ended], sign=sign.sign, tone=sign.tone),
            "counted": self.counted(),
            "sentence": self.next_step(),
            "command": "",
            "sections": self.contents(len(checks), memories),
            "end": self.end(),
            "differences": result.levels,
            "checks": checks,
            "later": later,
            "rows": rows,
            "names": [watched.name for watched in told.setting.watched],
            "drawn": wave_view(sketch, ID),
            "legend": self.legend(drawn),
            "memories": memories,
            "board": self.bench(),
            "grounds": self.grounds(),
            "file": f"{self.path}, {told.script}",
            "version": __version__,
        }
        return page("simulate.html", values)

    def contents(self, checks: int, memories: list[DumpView]) -> list[Section]:
        ended = self.told.result.reason is Reason.ENDED
        every = [
            None if ended else Section("end", "Where it ends"),
            Section("checks", "Checks", str(checks)) if checks else None,
            Section("waves", "Waves"),
            Section("steps", "Steps", f"{self.told.result.step + 1:,}"),
            Section("memories", "Memories", str(len(memories))) if memories else None,
            Section("board", "The board at the end"),
            Section("rests", "What this rests on"),
        ]
        return [one for one in every if one is not None]

    # how it ended -----------------------------------------------------------------------------

    def counted(self) -> str:
        result = self.told.result
        checks = self.told.setting.program.checks
        played = f"{count(result.step + 1, 'step')}, {count(result.rounds, 'round')}"
        if result.reason is Reason.ENDED and checks:
            return (
                f"{count(checks, 'check')}: {'it holds' if checks == 1 else 'all hold'}; {played}."
            )
        return f"{played}."

    def end(self) -> Mapping[str, object] | None:
        """Where it stopped, if not at the end of the script."""
        result, program = self.told.result, self.told.setting.program
        if result.reason is Reason.ENDED:
            return None
        entry = program.entries[result.entry]
        head = entry.text
        if result.reason is Reason.BREAK:
            head = f"{program.conditions[result.condition].text} holds"
        told = f"In step {result.step}, {count(result.rounds, 'round')} after power-on."
        if result.held >= 0:
            told += f" It held first in round {result.held} of that step."
        if result.reason is Reason.RESTLESS:
            told += (
                f" Something still changes after {MAX_ROUNDS} rounds; 'breadproof verify' names "
                "the nets."
            )
        return {
            "head": head,
            "says": entry.says,
            "told": told,
            "place": _place(entry.span),
            "number": entry.span.line,
            "file": entry.span.file,
            "line": _line(entry.span),
        }

    def next_step(self) -> str:
        result = self.told.result
        match result.reason:
            case Reason.ENDED:
                return "have 'breadproof verify' prove what must hold in every run."
            case Reason.CHECK if result.levels:
                return f"look at {result.levels[0].name} in step {result.step}, in the waves below."
            case Reason.RESTLESS:
                return f"see which nets go on: 'breadproof verify {self.path} --only quiet'."
            case _:
                return f"look at step {result.step}, in the waves below."

    # checks and steps -------------------------------------------------------------------------

    def checks(self) -> tuple[list[CheckView], int]:
        """The checks up to where it ended, and how many stand behind that in the script."""
        result, program = self.told.result, self.told.setting.program
        found: list[CheckView] = []
        later = 0
        for number, entry in enumerate(program.entries):
            if not entry.text.startswith("check "):
                continue
            if result.reason is not Reason.ENDED and number > result.entry:
                later += 1
                continue
            failed = result.reason is Reason.CHECK and number == result.entry
            found.append(
                CheckView(
                    sign=sign_of("fails" if failed else "holds"),
                    text=entry.text.removeprefix("check "),
                    says=entry.says,
                    place=_place(entry.span),
                )
            )
        return found, later

    def rows(self) -> Iterator[RowView]:
        told, result = self.told, self.told.result
        program = told.setting.program
        records = [*result.first, *result.last]
        for place, one in enumerate(records):
            entry = program.entries[one.entry]
            yield RowView(
                step=one.step,
                rounds=one.rounds,
                done=entry.text,
                line=entry.span.line,
                levels=tuple(seen(told, watched, one) for watched in told.setting.watched),
                gap=result.left_out if place == len(result.first) else 0,
                wrong=not result.passed and one is records[-1],
            )

    def legend(self, drawn: Played) -> str:
        words = ["A column is the end of a step."]
        if drawn.entries:
            words = [
                "A column is the end of an entry of the script; the last steps have their own."
            ]
        if drawn.picture.left_out:
            words.append(f"{drawn.picture.left_out} more signals are not drawn (--watch, --vcd).")
        return " ".join(words)

    # the board --------------------------------------------------------------------------------

    def bench(self) -> BenchView:
        """The board at the end: lamps that are lit, and what is not as a check wants it."""
        netlist = self.told.setting.machine.netlist
        lit = lit_lamps(self.told, self.film)
        found: dict[str, Sticker] = {}
        for one in self.told.result.levels:
            if one.expected:
                for label in self.places(one):
                    text = f"{one.name}: expected {one.expected}, got {one.got}"
                    stick(found, label, Sticker(text=text, kind="error"))
        return bench_view(netlist, found, "The board at the end of the run", lit=lit)

    def places(self, one: Difference) -> Iterator[str]:
        """The outputs that drive what a check speaks of, and the lamps."""
        setting = self.told.setting
        row, netlist = setting.sights.row, setting.machine.netlist
        nets = {place: name for name, place in row.nets.items()}
        lamps = {place: name for name, place in row.lamps.items()}
        levels = setting.program.conditions[self.told.result.condition].levels
        nodes = [node for name, _, _ in levels if name.name == one.name for node in name.nodes]
        for leaf in setting.sights.graph.cone(nodes):
            place = setting.sights.places.get(leaf, -1)
            net = netlist.net(nets[place]) if place in nets else None
            yield from (pin.label for pin in net.pins if pin.kind.drives) if net else ()
            if place in lamps:
                yield lamps[place].partition("[")[0]

    def grounds(self) -> list[str]:
        told = self.told
        words = f"{power_on(told)}."
        texts = [words[:1].upper() + words[1:]]
        texts.append("One run was played, not all: what holds here may fail in another run.")
        texts += remarks(told)
        return [*texts, LEFT_OUT, SAFETY]


def _place(span: Span) -> str:
    return f"{span.file}:{span.line}"


def _line(span: Span) -> Pieces:
    return line_pieces(span.text, [place_of(span)])
