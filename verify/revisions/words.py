"""A comparison in words: three sections, whatever they are printed on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from breadproof.specs.machine.trace import vector_text
from breadproof.specs.netlist.bouncing import finger_of
from breadproof.specs.netlist.model import written
from breadproof.verify.report.rests import LEFT_OUT, SAFETY
from breadproof.verify.report.storywords import word_text
from breadproof.verify.report.words import count, listed, moved, pin_called, standing
from breadproof.verify.revisions.apart import Difference
from breadproof.verify.revisions.changes import MATTERS, Change
from breadproof.verify.revisions.compare import SAME_WIRING, Compared
from breadproof.verify.revisions.items import Item
from breadproof.verify.revisions.verdicts import Row
from breadproof.verify.revisions.walked import Walked

SHOWN = 12
"""So many changes, or results, are told one by one; the rest is counted."""
NAMED = 6
"""So many names, words or places are told of what changes nothing, or is one of many."""
FEW = 3
"""Of more changes of one kind in what the file says not each gets a line."""
STEPS = 12
"""Of a longer run the first steps are left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Cells by row; the first row is the head."""

    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """``head`` is what a person reads first. ``mark``: "good", "bad", "open" or ""."""

    title: str
    head: str
    mark: str
    lines: tuple[tuple[str, str], ...]
    """(label, text); the label may be empty."""
    table: Table | None = None
    after: tuple[tuple[str, str], ...] = ()


def sections(compared: Compared) -> tuple[Section, ...]:
    """The board, what it does, what is proved."""
    if compared.wanted.wiring:
        return (_board(compared),)
    return (_board(compared), _behaviour(compared), _proofs(compared), _rests(compared))


# the board ----------------------------------------------------------------------------------------


def _board(compared: Compared) -> Section:
    changes = compared.changes
    matters = [change for change in changes if change.group in MATTERS]
    said = [change for change in changes if change.group == "said"]
    rest = [change for change in changes if change.group in ("names", "places")]
    head = [_counted(matters)] if matters else ["no change in wiring"]
    head += [f"{count(len(said), 'change')} in what the file says"] if said else []
    head += [_counted(rest)] if rest else []
    if not changes:
        head = ["nothing"]
    kinds = [change.kind for change in said]
    few = [change for change in said if kinds.count(change.kind) <= FEW]
    many = [change for change in said if kinds.count(change.kind) > FEW]
    lines = [("", text) for text in (*_told(matters), *_told(few))]
    lines += [*_grouped(many), *_grouped(rest)]
    return Section(title="changed on the board", head="; ".join(head), mark="", lines=tuple(lines))


def _counted(changes: Sequence[Change]) -> str:
    numbers: dict[str, int] = {}
    for change in changes:
        size = len(change.pins[0]) if change.kind.startswith("pin ") else 1
        numbers[change.kind] = numbers.get(change.kind, 0) + size
    return ", ".join(f"{number} {_plural(kind, number)}" for kind, number in numbers.items())


def _plural(kind: str, number: int) -> str:
    """``part removed``, ``parts removed``."""
    words = {
        "nets joined": ("join of nets", "joins of nets"),
        "gates swapped": ("package with gates swapped", "packages with gates swapped"),
        "word": ("word of a ROM", "words of ROMs"),
        "renumbered": ("part renumbered", "parts renumbered"),
        "renamed": ("part renamed", "parts renamed"),
        "moved": ("part moved to other holes", "parts moved to other holes"),
        "wires": ("change of wires", "changes of wires"),
    }
    if kind in words:
        return words[kind][number != 1]
    first, _, rest = kind.partition(" ")
    return kind if number == 1 else f"{first}s {rest}"


def _told(changes: Sequence[Change]) -> Iterator[str]:
    """One by one, words of one ROM together."""
    words: dict[tuple[str, ...], list[str]] = {}
    others: list[str] = []
    for change in changes:
        if change.kind == "word":
            words.setdefault(change.parts[0], []).append(change.text)
        else:
            others.append(change.text)
    yield from others[:SHOWN]
    if len(others) > SHOWN:
        yield f"and {count(len(others) - SHOWN, 'more change')}"
    for texts in words.values():
        head, _, first = texts[0].partition(": ")
        told = [first, *(text.partition(": ")[2] for text in texts[1:NAMED])]
        more = f"; and {count(len(texts) - NAMED, 'more word')}" if len(texts) > NAMED else ""
        yield f"{head}: {'; '.join(told)}{more}"


def _grouped(changes: Sequence[Change]) -> Iterator[tuple[str, str]]:
    """What changes nothing, a line a kind."""
    kinds: dict[str, list[str]] = {}
    for change in changes:
        kinds.setdefault(change.kind, []).append(change.text)
    for kind, texts in kinds.items():
        more = f", and {len(texts) - NAMED} more" if len(texts) > NAMED else ""
        yield kind, f"{'; '.join(texts[:NAMED])}{more}"


# what it does -------------------------------------------------------------------------------------


def _behaviour(compared: Compared) -> Section:
    match compared.behaviour:
        case "same":
            return _same(compared)
        case "undecided":
            lines = [("because", compared.because), *_moments(compared), *_scope(compared)]
            head = "UNDECIDED"
            answered = compared.answered
            left = answered is not None and "undecided" in answered.fates.values()
            searched = answered.searched if answered is not None and left else -1
            if searched >= 0:
                head += f": no difference in the first {count(searched, 'step')}"
            return Section(title="what it does", head=head, mark="open", lines=tuple(lines))
        case "differs":
            return _differs(compared)


def _same(compared: Compared) -> Section:
    lines: list[tuple[str, str]] = []
    if compared.answered is None:
        lines.append(("because", SAME_WIRING))
    else:
        kinds = _kinds(compared.items)
        lines += [("compared", kinds), *_moments(compared), *_begins(compared)]
        lines.append(("proof", compared.answered.method))
    lines += list(_scope(compared))
    head = f"THE SAME{_while(compared)}, in runs of any length"
    return Section(title="what it does", head=head, mark="good", lines=tuple(lines))


def _begins(compared: Compared) -> Iterator[tuple[str, str]]:
    """How runs begin, where that is not when power comes on."""
    if compared.begins:
        yield "begins", compared.begins


def _moments(compared: Compared) -> Iterator[tuple[str, str]]:
    """Which moments are compared where the new board is to be later."""
    latency = compared.latency
    if latency is not None:
        clock = latency.clock
        rises = "once" if latency.periods == 1 else f"{latency.periods} times"
        rise = "its last rise" if latency.periods == 1 else f"the last {latency.periods} rises"
        yield (
            "when",
            f"while {clock} is low and has risen {rises} or more, with the old board just before "
            f"{rise}; what is shown earlier is left out, and so are memories and nets inside",
        )


def _periods(compared: Compared) -> str:
    """By how much the new board is to be later."""
    latency = compared.latency
    assert latency is not None, "it is asked of such"
    return f"{count(latency.periods, 'period')} of {latency.clock}"


def _while(compared: Compared) -> str:
    latency = compared.latency
    if latency is not None:
        after = " after the reset" if compared.wanted.start == "reset" else ""
        return f", {_periods(compared)} later{after}"
    when = f" while {compared.wanted.when}" if compared.wanted.when else ""
    return when + (" after the reset" if compared.wanted.start == "reset" else "")


def _kinds(items: Sequence[Item]) -> str:
    words = {
        "lamp": ("lamp", "lamps"),
        "port": ("port", "ports"),
        "memory": ("memory", "memories"),
        "net": ("net of one name", "nets of one name"),
    }
    found: list[str] = []
    for kind, (one, many) in words.items():
        number = sum(item.kind == kind for item in items)
        if number:
            found.append(f"{number} {one if number == 1 else many}")
    return listed(found)


def _scope(compared: Compared) -> Iterator[tuple[str, str]]:
    """What the answer does not speak of."""
    if compared.gone:
        yield "gone", f"{listed(compared.gone)}, which the new board does not have"
    if compared.alone:
        yield "alone", f"{listed(compared.alone)}: on one board only, and moved at will"
    if compared.aside:
        bouncing = compared.matching.old.bounces or compared.matching.new.bounces
        also = ", or that speak of contacts that bounce" if bouncing else ""
        yield "aside", f"assumptions that only one board makes{also}: {listed(compared.aside)}"


def _differs(compared: Compared) -> Section:
    answered, found = compared.answered, None
    if answered is not None:
        found = answered.difference
    if found is None or answered is None:
        return Section(
            title="what it does", head="DIFFERENT", mark="bad", lines=tuple(_scope(compared))
        )
    names = listed([*found.items[:NAMED], *(["more"] if len(found.items) > NAMED else [])])
    when = _moment(compared, found)
    inside = all(item.kind == "net" for item in compared.items if item.name in found.items)
    seen = any(item.outside for item in compared.items)
    later = f" even {_periods(compared)} later" if compared.latency is not None else ""
    head = f"DIFFERENT{later}: {names}, {when}"
    if inside and seen:
        head += " (inside; lamps, ports and memories are "
        outside = [n.name for n in compared.items if n.outside]
        alike = all(answered.fates[name] == "same" for name in outside)
        head += "the same in all runs)" if alike else "not settled)"
    return Section(
        title="what it does",
        head=head,
        mark="bad",
        lines=(*_begins(compared), *_start(compared, found)),
        table=_run(compared, found),
        after=(
            *_shown(compared),
            *_moments(compared),
            *_parting(compared),
            *_others(compared),
            *_scope(compared),
        ),
    )


def _moment(compared: Compared, found: Difference) -> str:
    origin = "the reset" if compared.wanted.start == "reset" else "power-up"
    return found.moment(origin)


def _start(compared: Compared, found: Difference) -> Iterator[tuple[str, str]]:
    netlist, step = compared.moving[0], found.old.steps[0]
    told = [
        standing(netlist, control, step.controls[control.name])
        for control in netlist.controls
        if any(step.controls[control.name]) and control.kind != "moment"
    ]
    if told:
        more = [f"{len(told) - NAMED} more are not at rest"] if len(told) > NAMED else []
        yield "at first", listed([*told[:NAMED], *more])
    words = list(_held(compared, found))
    if words:
        more = [f"{len(words) - NAMED} more"] if len(words) > NAMED else []
        yield (
            "power-up",
            f"the chips come up with {listed([*words[:NAMED], *more])}, all else with 0",
        )


def _held(compared: Compared, found: Difference) -> Iterator[str]:
    """The storage of the old board that does not hold 0 when power comes on."""
    words: dict[str, dict[int, int]] = {}
    for store in compared.runs[0].machine.stores if compared.runs is not None else ():
        if not finger_of(store.part):
            bits = words.setdefault(f"{store.part}.{store.storage}", {})
            bits[store.bit] = found.old.storage.get(store.label, 0)
    for name, bits in words.items():
        if any(bits.values()):
            yield from word_text(name, bits, len(bits))


def _run(compared: Compared, found: Difference) -> Table | None:
    """What is done, and how the two boards look, step by step."""
    if compared.runs is None:
        return None
    items = [item for item in compared.items if item.name in found.items][:3]
    head = ("step", "", *(f"{item.name} {which}" for item in items for which in ("old", "new")))
    rows: list[tuple[str, ...]] = []
    steps, netlist = found.old.steps, compared.moving[0]
    for number, step in enumerate(steps):
        done = "power comes on" if not number else moved(netlist, steps[number - 1], step)
        cells = [
            text
            for item in items
            for text in (_cell(compared, item, 0, number), _cell(compared, item, 1, number))
        ]
        rows.append((str(number), done, *cells))
    return Table(rows=(head, *rows[-STEPS:]))


def _cell(compared: Compared, item: Item, side: int, step: int) -> str:
    """How an item looks on one board after a step."""
    assert compared.runs is not None, "there are runs to look at"
    run: Walked = compared.runs[side]
    what = (item.old, item.new)[side]
    levels = run.steps[step][-1].levels
    if item.kind == "lamp":
        return "lit" if levels[run.machine.lamps[str(what[0])]] else "dark"
    if item.kind == "memory":
        return _words(compared, item, side) if step == len(run.steps) - 1 else ""
    bits = [run.machine.nets[int(net)] for net in what]
    if any(levels[bit.fights] for bit in bits):
        return "fight"
    if not any(levels[bit.known] for bit in bits):
        return "floats"
    if not all(levels[bit.known] for bit in bits):
        return "".join("-" if not levels[b.known] else str(levels[b.level]) for b in bits)
    value = int("".join(str(levels[bit.level]) for bit in bits), 2)
    return vector_text(len(bits), value) if len(bits) > 1 else ("low", "high")[value]


def _words(compared: Compared, item: Item, side: int) -> str:
    """The words of a memory that differ."""
    assert compared.runs is not None, "there are runs to look at"
    mine, other = (
        compared.runs[k].memories[int((item.old, item.new)[k][0])] for k in (side, 1 - side)
    )
    places = [k for k, (a, b) in enumerate(zip(mine, other, strict=True)) if a != b]
    return ", ".join(f"{mine[place]:X} at {place:X}" for place in places[:3])


def _shown(compared: Compared) -> Iterator[tuple[str, str]]:
    """Which two moments of the run are not alike, where the new board is to be later."""
    found, difference = compared.shown, compared.answered and compared.answered.difference
    if found is None or not difference:
        return
    for item in compared.items:
        if item.name in difference.items[:NAMED]:
            one = _cell(compared, item, 0, found.old)
            two = _cell(compared, item, 1, found.new)
            yield (
                item.name,
                f"{one} after step {found.old} on the old board, {two} after step {found.new} on "
                "the new one",
            )


LEVELS = {0: "low", 1: "high", None: "with no level of its own"}


def _parting(compared: Compared) -> Iterator[tuple[str, str]]:
    where = compared.parting
    if where is None:
        return
    if where.open:
        keeps = {name for how, name in compared.old.reset if how == "keeps"}
        parts = dict.fromkeys(label.split(".")[0] for label in where.open)
        names = ", ".join(written(name) for name in parts if name not in keeps)
        way_out = f" ('keeps: [{names}]' under 'reset:', if it leaves them alone)" if names else ""
        yield (
            "not reset",
            f"{listed(where.open)}: not the same right after the reset, from what was stored "
            f"before or by what was changed{way_out}",
        )
    a, b = where.pins
    name = pin_called(compared.old, a)
    if a != b:
        name += f", now {pin_called(compared.new, b)},"
    one, two = (LEVELS[level] for level in where.levels)
    yield (
        "first pin",
        f"{name} is {one} on the old board and {two} on the new one in step {where.step}",
    )
    if where.change is not None:
        yield "comes from", where.change.text


def _others(compared: Compared) -> Iterator[tuple[str, str]]:
    answered = compared.answered
    if answered is None:
        return
    same = [item for item in compared.items if answered.fates[item.name] == "same"]
    left = [item for item in compared.items if answered.fates[item.name] == "undecided"]
    if same:
        yield "the same", f"{_kinds(same)}, in all runs"
    if left:
        yield "open", f"{_kinds(left)}: not looked at beyond that"


# what is proved -----------------------------------------------------------------------------------


def _proofs(compared: Compared) -> Section:
    title = "what is proved"
    if compared.proved is None:
        if compared.same_wiring and compared.answered is None:
            head = "as before: nothing that a proof rests on has changed"
            return Section(title=title, head=head, mark="good", lines=())
        return Section(title=title, head="not looked at", mark="", lines=())
    rows = compared.proved.rows
    numbers = {effect: sum(row.effect == effect for row in rows) for effect in EFFECTS}
    head = ", ".join(f"{number} {EFFECTS[e]}" for e, number in numbers.items() if number)
    told = [
        row
        for effect in ("worse", "open", "better", "new", "gone")
        for row in rows
        if row.effect == effect
    ]
    told = [row for row in told if row.kind != "standing" or row.effect in ("worse", "open")]
    lines = [_row(row) for row in told[:SHOWN]]
    if len(told) > SHOWN:
        lines.append(("", f"and {len(told) - SHOWN} more"))
    mark = "bad" if numbers["worse"] else "open" if numbers["open"] else "good"
    return Section(title=title, head=head or "nothing", mark=mark, lines=tuple(lines))


def _rests(compared: Compared) -> Section:
    """What every verdict rests on (design.md, sections 4 and 9)."""
    world = "one control changes at a time, and the boards settle in between (fundamental mode)"
    together = compared.old.together, compared.new.together
    if any(together):
        world += ", but for controls that both files let change together"
    return Section(
        title="what this rests on",
        head=f"{world}. {LEFT_OUT} {SAFETY}",
        mark="",
        lines=(),
    )


EFFECTS = {
    "worse": "worse",
    "open": "open now",
    "better": "better",
    "new": "new",
    "gone": "gone",
    "unchanged": "unchanged",
}
"""What becomes of a result, in the order in which it is told."""


def _row(row: Row) -> tuple[str, str]:
    name = row.new_name or row.old_name
    if row.old_name and row.new_name and row.old_name != row.new_name:
        name = f"{row.old_name}, now {row.new_name}"
    match row.effect:
        case "gone":
            text = f"gone (it was: {row.old})"
        case "new":
            text = f"new: {row.new}"
        case _:
            text = f"{row.old or 'not there'}, now {row.new}"
    if row.result is not None and row.result.trace is not None and row.effect == "worse":
        text += f", {count(len(row.result.trace.steps) - 1, 'step')} after power-up"
    if row.because and row.effect == "open":
        text += f": {row.because}"
    return name, text
