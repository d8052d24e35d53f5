"""The page of `breadproof compare`: verdict, what changed, what it does, what is proved, boards."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import PurePath

from breadproof import __version__
from breadproof.verify.pages.benchviews import BenchView, bench_view
from breadproof.verify.pages.changeviews import PREFIXES, Changes, change_stickers, change_views
from breadproof.verify.pages.differviews import differ_view
from breadproof.verify.pages.proofviews import ProofView, proof_view
from breadproof.verify.pages.signs import Sign, Tone, sign_of
from breadproof.verify.pages.template import Names, page
from breadproof.verify.pages.template import Section as Entry
from breadproof.verify.report.rests import LEFT_OUT, SAFETY
from breadproof.verify.report.words import pin_called
from breadproof.verify.revisions.compare import Compared
from breadproof.verify.revisions.text import verdict_text
from breadproof.verify.revisions.words import Section, sections

TONES: dict[str, Tone] = {"good": "good", "bad": "bad", "open": "open", "": "told"}


def compare_page(compared: Compared, paths: tuple[str, str]) -> str:
    """The comparison as one HTML file; ``paths`` are the two board files as the user typed them."""
    return _Page(compared, paths).text()


@dataclass(slots=True)
class _Page:
    compared: Compared
    paths: tuple[str, str]
    names: Names = field(default_factory=Names)

    def text(self) -> str:
        compared = self.compared
        told = {section.title: section for section in sections(compared)}
        benches = self.bench(0), self.bench(1)
        changes = change_views(compared, self.paths, (benches[0].pins, benches[1].pins))
        does, rests = told.get("what it does"), told.get("what this rests on")
        proofs = proof_view(compared, self.names)
        difference = differ_view(compared)
        sign = sign_of(compared.verdict)
        sentence, command = self.next_step(proofs)
        values = {
            "name": " and ".join(self.shown()),
            "title": compared.new.title or compared.old.title,
            "verdict": Sign(word=verdict_text(compared), sign=sign.sign, tone=sign.tone),
            "counted": f"{_capital(told['changed on the board'].head)}.",
            "sentence": sentence,
            "command": command,
            "sections": list(self.contents(changes, does, proofs)),
            "changes": changes,
            "does": does,
            "tone": TONES[does.mark] if does is not None else "told",
            "difference": difference,
            "proofs": proofs,
            "proved": told.get("what is proved"),
            "benches": list(zip(("old", "new"), self.shown(), benches, strict=True)),
            "grounds": grounds(rests),
            "file": f"{self.paths[0]}, {self.paths[1]}",
            "version": __version__,
        }
        return page("compare.html", values)

    def shown(self) -> tuple[str, str]:
        """The names of the files, as far as they tell them apart."""
        names = PurePath(self.paths[0]).name, PurePath(self.paths[1]).name
        return self.paths if names[0] == names[1] else names

    def bench(self, side: int) -> BenchView:
        """One of the boards, with what changed on it marked."""
        compared = self.compared
        board = (compared.old, compared.new)[side]
        stickers = change_stickers(compared.changes, compared.parting, side)
        says = f"The {('old', 'new')[side]} board as it stands on the bench"
        return bench_view(board, stickers, says, prefix=PREFIXES[side])

    def contents(
        self, changes: Changes, does: Section | None, proofs: ProofView | None
    ) -> Iterator[Entry]:
        number = len(changes.matters) + len(changes.said)
        yield Entry("changed", "What changed", str(number) if number else "nothing")
        if does is not None:
            yield Entry("does", "What it does", self.compared.behaviour)
            yield Entry("proved", "What is proved", "" if proofs is None else proofs.counted)
        yield Entry("old-board", "The old board")
        yield Entry("new-board", "The new board")
        yield Entry("rests", "What this rests on")

    def next_step(self, proofs: ProofView | None) -> tuple[str, str]:
        """What to do, and a command for it or ""."""
        compared, where = self.compared, self.compared.parting
        if compared.wanted.wiring:
            return "", ""
        if compared.verdict == "pass":
            return "the new board can take the old one's place.", ""
        if where is not None and compared.behaviour == "differs":
            pin = pin_called(compared.new, where.pins[1])
            change = "" if where.change is None else f": {where.change.text}"
            return f"look at {pin} on the new board{change}.", ""
        worse = [row for row in proofs.told if row.tone == "bad"] if proofs is not None else []
        broken = next((row for row in worse if row.run), None)
        if broken is not None:
            command = shlex.join(["breadproof", "verify", self.paths[1], "--only", broken.name])
            return f"see how {broken.name} breaks on the new board.", command
        if worse:
            return f"mend the new board: {worse[0].says}.", ""
        if compared.behaviour == "undecided":
            return f"it is undecided because {compared.because}.", ""
        return "", ""


def grounds(rests: Section | None) -> list[str]:
    """What the verdicts rest on, a sentence or two each."""
    if rests is None:
        return [SAFETY]
    world = rests.head.removesuffix(f" {LEFT_OUT} {SAFETY}")
    return [_capital(world), LEFT_OUT, SAFETY]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
