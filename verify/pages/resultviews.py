"""Results as a page shows them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from breadproof.verify.pages.signs import Tone, sign_of
from breadproof.verify.prove.verdict import Result
from breadproof.verify.report.resultwords import GROUPS, grounds_of, group_text, how, shortened
from breadproof.verify.report.words import listed


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultView:
    """A result; ``run``: its run is on the page."""

    id: str
    name: str
    word: str
    sign: str
    tone: Tone
    says: str
    formula: str
    facts: tuple[str, ...]
    run: bool


def result_view(result: Result, id_: str, formula: str) -> ResultView:
    """A result under the name ``id_``; ``formula`` is what its board file says, or ""."""
    sign = sign_of(result.verdict)
    return ResultView(
        id=id_,
        name=result.name,
        word=sign.word,
        sign=sign.sign,
        tone=sign.tone,
        says=result.says if result.says != formula else "",
        formula=formula,
        facts=tuple(_sentence(fact) for fact in _facts(result) if fact),
        run=result.trace is not None,
    )


def _facts(result: Result) -> list[str]:
    """How it was reached, what stands in the way, and what it rests on."""
    facts = [how(result)]
    if result.because:
        facts.append(f"because {result.because}")
    if result.assumes:
        facts.append(f"assumes {listed(shortened(result.assumes))}")
    if result.vacuous:
        never = listed([f"'{text}'" for text in result.vacuous])
        facts.append(f"says less than it seems: {never} never comes true")
    return [*facts, *result.notes, *grounds_of(result), *_files(result)]


def _files(result: Result) -> list[str]:
    return [f"evidence: {', '.join(result.evidence)}"] if result.evidence else []


def _sentence(text: str) -> str:
    """A fact as a sentence; names of parts, nets and formulas are left as they are."""
    first = text.partition(" ")[0].rstrip(":,")
    begins = text[0].upper() + text[1:] if first.isalpha() and first.islower() else text
    return begins if begins.endswith((".", "?", "!")) else f"{begins}."


def standing_groups(results: tuple[Result, ...]) -> tuple[list[str], list[Result]]:
    """What holds as a sentence a group, and what is to be looked at one by one."""
    groups: dict[str, list[Result]] = {}
    for result in results:
        if result.kind == "standing":
            groups.setdefault(result.name.partition(":")[0], []).append(result)
    texts: list[str] = []
    single: list[Result] = []
    for name, members in groups.items():
        good = [result for result in members if result.verdict == "holds"]
        single += [result for result in members if result.verdict != "holds"]
        if name in GROUPS and good:
            texts.append(_sentence(group_text(name, len(good), len(members))))
        else:
            texts += [_sentence(f"{one.name}: {one.says or one.method}") for one in good]
    return texts, single


def counted(results: tuple[Result, ...], wiring: str, words: Mapping[str, str]) -> str:
    """``21 of 23 formulas hold, 1 fails; wiring: 1 warning``; ``words`` are verdicts in plural."""
    formulas = [result for result in results if result.kind != "standing"]
    checks = [result for result in results if result.kind == "standing"]
    told: list[str] = []
    for what, members in (("formulas", formulas), ("checks", checks)):
        good = sum(one.verdict in ("holds", "covered") for one in members)
        if members:
            text = f"{good} of {len(members)} {what} hold"
            others = [
                f"{number} {words[verdict]}"
                for verdict in words
                if (number := sum(one.verdict == verdict for one in members))
            ]
            told.append(", ".join([text, *others]))
    return "; ".join([*told, f"wiring: {wiring or 'nothing is wrong'}"]) + "."
