"""The faults of a board as text for a terminal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from breadproof.verify.faults.counts import Counts, by_kind, counted, percent
from breadproof.verify.faults.fault import KIND_SAYS, Fault
from breadproof.verify.faults.judged import GROUPS, Apart, Group, Judged, Means
from breadproof.verify.faults.run import INTERRUPTED, FaultReport
from breadproof.verify.report.page import Page
from breadproof.verify.report.words import count, listed, pin_called, printable, wrapped

WIDE = 90
"""A page of so many columns has room for the kinds in words."""
SAYS: dict[Group, str] = {
    "detected": "a check tells of it",
    "undetected": "the board does something else, and no check tells of it",
    "redundant": "proved to make no difference, in runs of any length",
    "unclassified": "not settled: it counts as not detected",
}
COLOURS: dict[Group, str] = {
    "detected": "green",
    "undetected": "red",
    "redundant": "",
    "unclassified": "yellow",
}
MEANS: dict[Means, str] = {
    "rule": "wiring rules",
    "standing": "standing checks",
    "formula": "formulas",
}


def text(report: FaultReport, page: Page, *, every: bool = False) -> str:
    """The report; with ``every`` it lists what is detected, too."""
    netlist = report.sound.netlist
    lines = [f"{page.paint(printable(netlist.board), 'bold')}: single wiring faults", ""]
    lines += _table(report, page)
    lines += _detectors(report, page)
    faults = {fault.name: fault for fault in report.faults}
    shown: tuple[Group, ...] = ("undetected", "unclassified", "redundant")
    for group in (*shown, "detected") if every else shown:
        found = [one for one in report.judged if one.group == group]
        if found:
            head = f"{group.capitalize()} ({len(found)}): {SAYS[group]}"
            lines += ["", page.paint(head, COLOURS[group])]
            for one in found:
                if one.because != INTERRUPTED:
                    lines += _fault(report, faults[one.fault], one, page)
            cut = sum(one.because == INTERRUPTED for one in found)
            if cut:
                lines += wrapped(f"{cut} of them: {INTERRUPTED}", page.width, "  ")
    lines += ["", *_rests(report, page), "", *_summary(report, page)]
    return "\n".join(lines) + "\n"


def _table(report: FaultReport, page: Page) -> Iterator[str]:
    """The kinds in words, or by their names where the page is narrow."""
    wide = page.width >= WIDE
    rows: list[tuple[str, ...]] = [("", "faults", *GROUPS, "coverage")]
    kinds = by_kind(report)
    for kind, counts in kinds.items():
        rows.append((KIND_SAYS[kind] if wide else kind, *_cells(counts)))
    if len(kinds) > 1:
        rows.append(("all", *_cells(counted(report.judged))))
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    for row in rows:
        first, *rest = row
        cells = [cell.rjust(width) for cell, width in zip(rest, widths[1:], strict=True)]
        yield f"  {first:<{widths[0]}}  {'  '.join(cells)}".rstrip()


def _cells(counts: Counts) -> tuple[str, ...]:
    numbers = (str(number) for number in counts.groups.values())
    return (str(counts.all), *numbers, percent(counts.coverage))


def _detectors(report: FaultReport, page: Page) -> Iterator[str]:
    found = [one.detector for one in report.judged if one.detector is not None]
    if not found:
        return
    yield ""
    yield "Detected by"
    width = max(len(word) for word in MEANS.values())
    for means, word in MEANS.items():
        names = Counter(one.name for one in found if one.means == means)
        if names:
            told = ", ".join(f"{name} {number}" for name, number in names.most_common())
            head = f"  {word:<{width}} {sum(names.values()):>5}  "
            yield from wrapped(told, page.width, head)


def _fault(report: FaultReport, fault: Fault, judged: Judged, page: Page) -> Iterator[str]:
    yield from wrapped(f"{fault.name}: {fault.says}", page.width, "  ", "      ")
    told: list[tuple[str, str]] = []
    if judged.detector is not None:
        by = judged.detector
        weight = " (a warning)" if by.warning else ""
        told.append(("by", f"{by.name}{weight}: {by.says}"))
    if judged.apart is not None:
        told += difference(report, judged.apart)
    if judged.because:
        told.append(("why", judged.because))
    for label, words in told:
        yield from wrapped(words, page.width, f"      {label:<8}")


def difference(report: FaultReport, apart: Apart) -> Iterator[tuple[str, str]]:
    """The shortest run that differs, in words, and what a formula would have to tell."""
    netlist = report.sound.netlist
    start, *moves = apart.moves or ("",)
    if start:
        yield "start", start
    for number, move in enumerate(moves, 1):
        yield f"step {number}", move
    yield (
        "differs",
        listed(
            [
                f"{name} holds another word" if without == "another word"
                else f"{name} is {with_it}, and should be {without}"
                for name, without, with_it in apart.items
            ]
        ),
    )  # fmt: skip
    if apart.pin:
        without, with_it = (_level(level) for level in apart.levels)
        pin = pin_called(netlist, apart.pin)
        yield "first", f"{pin} reads {with_it}, and should read {without}"
    yield "missing", missing(apart)


def missing(apart: Apart) -> str:
    """The formula that would detect a fault, as far as the run tells."""
    names = [name for name, *_ in apart.items]
    told = listed(names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")
    verb = "hold" if all(name.endswith(".M") for name in names) else "show"
    return f"a formula that says what {told} {verb}{'s' if len(names) == 1 else ''}"


def _level(level: int | None) -> str:
    return "nothing" if level is None else "high" if level else "low"


def _rests(report: FaultReport, page: Page) -> Iterator[str]:
    """What is meant by a fault, and how many are left out."""
    told = (
        f"Counted once: {count(report.collapsed, 'more fault')} of the same wiring as one that is "
        "counted. "
        if report.collapsed
        else ""
    )
    told += "One fault at a time. "
    if "type" in report.wanted.kinds:
        told += (
            "A chip of a near type is one of the catalogue that fits the socket: the same family, "
            "supply, ground and directions of pins. "
        )
    told += "Left out: bad chips, bad contacts, and faults that come and go."
    yield from wrapped(told, page.width)
    failing = [one.name for one in report.sound.results if one.verdict in ("fails", "unreachable")]
    if failing:
        told = f"Without a fault these fail already, and detect nothing: {listed(failing)}."
        yield from wrapped(told, page.width)


def _summary(report: FaultReport, page: Page) -> Iterator[str]:
    counts = counted(report.judged)
    share = percent(counts.coverage)
    told = f"{printable(report.sound.netlist.board)}: "
    if counts.coverage is None:
        told += "no fault that makes a difference"
    else:
        told += f"fault coverage {share}"
        told += f", {counts.groups['detected']} of {counts.telling} that may make a difference"
    if counts.warned:
        told += (
            f"; of {counts.warned} of them a wiring rule only warns: {percent(counts.firm)} by "
            "errors and formulas alone (--strict looks for formulas that tell of the others)"
        )
    bad = counts.groups["undetected"] + counts.groups["unclassified"]
    colour = "green" if not bad else "red" if counts.groups["undetected"] else "yellow"
    for line in wrapped(f"{told} ({report.seconds:.0f} s)", page.width):
        yield page.paint(line, colour)
