"""A board beside a Verilog module, in words and as JSON (``beside.schema.json``)."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from breadproof.specs.machine.trace import to_json, vector_text
from breadproof.verify.report.page import Page
from breadproof.verify.report.rests import LEFT_OUT, SAFETY
from breadproof.verify.report.words import count, listed, moved, printable, standing
from breadproof.verify.revisions.apart import Difference
from breadproof.verify.revisions.beside import Beside
from breadproof.verify.revisions.items import Item
from breadproof.verify.revisions.start import reset_words
from breadproof.verify.revisions.text import VERDICTS, as_markdown, section_lines
from breadproof.verify.revisions.words import Section, Table

SCHEMA = 1
STEPS = 12
"""Of a longer run the first steps are left out."""


def text(found: Beside, page: Page, paths: tuple[str, str]) -> str:
    """The comparison as text, ending in a newline."""
    one, two = (page.paint(printable(path), "bold") for path in paths)
    lines = [f"{one} and {two} (module {found.hardware.module.name})"]
    for section in sections(found):
        lines += ["", *section_lines(section, page)]
    lines += ["", f"{verdict_text(found)} ({found.seconds:.1f} s)"]
    return "\n".join(lines) + "\n"


def markdown(found: Beside, paths: tuple[str, str]) -> str:
    """The same as Markdown."""
    return as_markdown(paths, verdict_text(found), sections(found))


def verdict_text(found: Beside) -> str:
    """The answer in a few words."""
    verdict = {**VERDICTS, "pass": "the same behaviour", "fail": "not the same behaviour"}
    return verdict[found.verdict]


def sections(found: Beside) -> tuple[Section, ...]:
    """What the comparison says, section by section."""
    return _behaviour(found), _rests(found)


def _behaviour(found: Beside) -> Section:
    title = "what it does"
    since = " after the reset" if found.start == "reset" else ""
    while_ = f" while {found.when}" if found.when else ""
    lines = [("compared", _compared(found)), ("read as", _read(found)), *_begins(found)]
    match found.behaviour:
        case "same":
            assert found.answered is not None, "it is proved"
            return Section(
                title=title, head=f"THE SAME{while_}{since}, in runs of any length", mark="good",
                lines=(*lines, ("proof", found.answered.method), *_scope(found)),
            )  # fmt: skip
        case "undecided":
            searched = -1 if found.answered is None else found.answered.searched
            head = "UNDECIDED"
            if found.answered and "undecided" in found.answered.fates.values() and searched >= 0:
                head += f": no difference in the first {count(searched, 'step')}"
            return Section(
                title=title, head=head, mark="open",
                lines=(("because", found.because), *lines, *_scope(found)),
            )  # fmt: skip
        case "differs":
            return _differs(found, since, tuple(lines))


def _compared(found: Beside) -> str:
    names = [item.name for item in found.mapped.items]
    moments = f"at quiet moments at which {found.when}" if found.when else "at every quiet moment"
    return f"{count(len(names), 'output')} {moments}: {listed(names)}"


def _read(found: Beside) -> str:
    module = found.hardware.module
    words = [count(len(module.flops), "flip-flop"), count(len(module.gates), "gate")]
    rams = [f"memory {name}" for name in module.rams]
    kinds = listed([*rams, *words])
    edges = {flop.rising for flop in module.flops.values()}
    edges |= {ram.rising for ram in module.rams.values()}
    if not edges:
        return kinds
    how = "rises" if edges == {True} else "falls" if edges == {False} else "rises and falls"
    return f"{kinds}; a clock edge is a step in which {found.mapped.clock_net} {how}"


def _begins(found: Beside) -> Iterator[tuple[str, str]]:
    """How the runs begin, where that is to be said."""
    if found.start == "reset":
        yield "begins", reset_words(found.board, found.beats)
    elif found.hardware.module.flops or found.hardware.module.rams:
        yield "begins", "when power comes on, with the same storage as the ports file says"
    for one, two in found.mapped.links.memories if found.start == "reset" else ():
        board, module = found.board.memories[one], found.hardware.machine.memories[two]
        yield "as if", f"{module.storage} held then what {board.label} holds, whatever that is"


def _scope(found: Beside) -> Iterator[tuple[str, str]]:
    if found.left:
        yield "left out", f"{listed(found.left)}, which the ports file does not name"
    if found.assumed:
        yield "assumed", listed(found.assumed)
    if found.aside:
        yield "aside", f"assumptions that speak of contacts that bounce: {listed(found.aside)}"


def _differs(found: Beside, since: str, lines: tuple[tuple[str, str], ...]) -> Section:
    assert found.answered is not None, "it was asked"
    difference = found.answered.difference
    assert difference is not None, "there is one"
    origin = "the reset" if since else "power-up"
    moment = difference.moment(origin)
    fates = found.answered.fates
    same = [name for name, fate in fates.items() if fate == "same"]
    left = [name for name, fate in fates.items() if fate == "undecided"]
    after = [("the same", f"{listed(same)}, in all runs")] if same else []
    after += [("open", f"{listed(left)}: not looked at beyond that")] if left else []
    return Section(
        title="what it does",
        head=f"DIFFERENT: {listed(difference.items)}, {moment}",
        mark="bad",
        lines=(*lines, *_start(found, difference)),
        table=_run(found, difference),
        after=(*after, *_scope(found)),
    )


def _start(found: Beside, difference: Difference) -> Iterator[tuple[str, str]]:
    netlist, step = found.board.netlist, difference.old.steps[0]
    told = [
        standing(netlist, control, step.controls[control.name])
        for control in netlist.controls
        if any(step.controls[control.name]) and control.kind != "moment"
    ]
    if told:
        yield "at first", listed(told)


def _run(found: Beside, difference: Difference) -> Table:
    """What is done, and how both look, step by step."""
    items = [item for item in found.mapped.items if item.name in difference.items][:3]
    names = [f"{item.name} {which}" for item in items for which in ("board", "Verilog")]
    rows: list[tuple[str, ...]] = []
    steps, netlist = difference.old.steps, found.board.netlist
    for number, step in enumerate(steps):
        done = "power comes on" if not number else moved(netlist, steps[number - 1], step)
        cells = [_cell(found, item, side, number) for item in items for side in (0, 1)]
        rows.append((str(number), done, *cells))
    return Table(rows=(("step", "", *names), *rows[-STEPS:]))


def _cell(found: Beside, item: Item, side: int, step: int) -> str:
    """How an output looks on one side after a step."""
    assert found.runs is not None, "there are runs to look at"
    run = found.runs[side]
    what = (item.old, item.new)[side]
    levels = run.steps[step][-1].levels
    if item.kind == "lamp":
        return "lit" if levels[run.machine.lamps[str(what[0])]] else "dark"
    bits = [run.machine.nets[int(net)] for net in what]
    if any(levels[bit.fights] for bit in bits):
        return "fight"
    turned = int(item.inverted and not side)
    shown = "".join(str(levels[b.level] ^ turned) if levels[b.known] else "-" for b in bits)
    if "-" in shown:
        return "floats" if len(bits) == 1 else shown
    return vector_text(len(bits), int(shown, 2)) if len(bits) > 1 else ("low", "high")[int(shown)]


def _rests(found: Beside) -> Section:
    """What every verdict rests on (design.md, sections 4 and 9)."""
    reading = (
        "The Verilog is read as synthesis reads it, through yosys: sensitivity lists, delays and "
        "initial values do not count. One control changes at a time, and the board settles in "
        "between (fundamental mode)"
    )
    together = ""
    if found.netlist.together:
        together = " but for controls that its file lets change together"
    return Section(
        title="what this rests on",
        head=f"{reading}{together}. {LEFT_OUT} {SAFETY}",
        mark="",
        lines=(),
    )


# JSON ---------------------------------------------------------------------------------------------


def json_text(found: Beside) -> str:
    """The comparison as JSON text, ending in a newline."""
    return json.dumps(_object(found), indent=1, ensure_ascii=False) + "\n"


def _object(found: Beside) -> dict[str, Any]:
    module, answered = found.hardware.module, found.answered
    fates = {} if answered is None else answered.fates
    return {
        "schema": SCHEMA,
        "old": {"board": found.netlist.board, "file": found.netlist.file},
        "new": {
            "module": module.name,
            "file": found.hardware.machine.netlist.file,
            "flip_flops": len(module.flops),
            "gates": len(module.gates),
        },
        "verdict": found.verdict,
        "seconds": round(found.seconds, 6),
        "behaviour": {
            "verdict": found.behaviour,
            "because": found.because,
            "after": found.start,
            "when": found.when or None,
            "clock": found.mapped.clock_net or None,
            "method": "" if answered is None else answered.method,
            "searched": None if answered is None or answered.searched < 0 else answered.searched,
            "outputs": [
                {"name": item.name, "verdict": fates.get(item.name, "undecided")}
                for item in found.mapped.items
            ],
            "left_out": list(found.left),
            "assumes": list(found.assumed),
            "assumptions_left_aside": list(found.aside),
            "unclean": list(found.unclean),
            "difference": _difference(found),
        },
    }


def _difference(found: Beside) -> dict[str, Any] | None:
    difference = None if found.answered is None else found.answered.difference
    if difference is None:
        return None
    return {
        "outputs": list(difference.items),
        "steps": difference.steps,
        "shortest": difference.shortest,
        "fewest": difference.fewest,
        "old": to_json(found.board.netlist, difference.old),
        "new": to_json(found.hardware.machine.netlist, difference.new),
    }
