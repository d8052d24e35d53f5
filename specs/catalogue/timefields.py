"""Reading what `times:` says of one family: delays, set-up and hold, widths, clocks."""

from __future__ import annotations

import re
from collections.abc import Iterator

from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.catalogue.timepins import Pins
from breadproof.specs.catalogue.times import Delay, Edge, Fastest, Stay, Turn, Width
from breadproof.specs.reading.yamltree import Table, Text, Tree

WORDS: dict[str, tuple[Edge, ...]] = {
    **{edge.value: (edge,) for edge in Edge},
    "pd": (Edge.LH, Edge.HL),
    "en": (Edge.ZH, Edge.ZL),
    "dis": (Edge.HZ, Edge.LZ),
}
"""The words before the numbers of a delay; the last three stand for two edges each."""

LIMIT = 100_000.0
"""No time of a chip is longer, in ns (nor clock faster, in MHz): a number beyond is a slip."""

_NUMBER = re.compile(r"[0-9]{1,6}(?:\.[0-9]{1,3})?")
_LETS_GO = (PinKind.THREE_STATE, PinKind.BIDIRECTIONAL)
_THREE_STATE = (Edge.ZH, Edge.ZL, Edge.HZ, Edge.LZ)


def read_delays(tree: Tree | None, pins: Pins) -> tuple[Delay, ...]:
    """``A# B# to Y#: plh 15 phl 15`` lines; the edges of a pair of pins stand once."""
    found: list[Delay] = []
    seen: dict[tuple[str, str, Edge], Text] = {}
    for key, value in _entries(tree, "delays", "A B to Y: plh 15 phl 15", pins):
        middle = _middle(key, " to ", pins)
        times = _edges(value, pins)
        if middle is None or times is None:
            continue
        numbers = pins.runs(key, 0, len(key.value))
        for number in numbers or ():
            starts = pins.named(key, 0, middle, number, pins.inputs)
            ends = pins.named(key, middle + len(" to "), len(key.value), number, pins.outputs)
            if not starts or not ends:
                break
            delay = Delay(starts=starts, ends=ends, times=times)
            if not (_can_let_go(delay, value, pins) and _once(delay, key, seen, pins)):
                break
            found.append(delay)
    return tuple(found)


def read_stays(tree: Tree | None, word: str, pins: Pins) -> tuple[Stay, ...]:
    """``D# before CLK# rise: 20`` lines; ``word`` is before (set-up) or after (hold)."""
    what = "setup" if word == "before" else "hold"
    between = f" {word} "
    found: dict[tuple[str, str, Turn], Stay] = {}
    for key, value in _entries(tree, what, f"D {word} CLK rise: 20", pins):
        middle = _middle(key, between, pins)
        ns = _number(value, pins)
        turn, end = _turn(key, pins)
        if middle is None or ns is None or turn is None:
            continue
        for number in pins.runs(key, 0, end) or ():
            held = pins.named(key, 0, middle, number, pins.inputs)
            about = pins.named(key, middle + len(between), end, number, pins.inputs)
            if not held or not about:
                break
            for pin in held:
                for reference in about:
                    if (pin, reference, turn) in found:
                        _twice(key, f"the {what} time of '{pin}'", pins)
                    stay = Stay(pin=pin, reference=reference, turn=turn, ns=ns)
                    found.setdefault((pin, reference, turn), stay)
    return tuple(found.values())


def read_widths(tree: Tree | None, pins: Pins) -> tuple[Width, ...]:
    """``CLK high low: 25`` lines: the pulse may be no shorter, high or low as is said."""
    found: dict[tuple[str, bool], Width] = {}
    for key, value in _entries(tree, "width", "CLR_n low: 20", pins):
        match = re.search(r"(?: +(?:high|low)){1,2}\Z", key.value)
        ns = _number(value, pins)
        if match is None:
            pins.wrong("a width is of a pin that is high or low", key, "Write CLK high low: 20.")
            continue
        if ns is None:
            continue
        for number in pins.runs(key, 0, match.start()) or ():
            for pin in pins.named(key, 0, match.start(), number, pins.inputs) or ():
                for level in match[0].split():
                    high = level == "high"
                    if (pin, high) in found:
                        _twice(key, f"the width of '{pin}' {level}", pins)
                    found.setdefault((pin, high), Width(pin=pin, high=high, ns=ns))
    return tuple(found.values())


def read_clocks(tree: Tree | None, pins: Pins) -> tuple[Fastest, ...]:
    """``CLK: 25`` lines, in MHz."""
    found: dict[str, Fastest] = {}
    for key, value in _entries(tree, "clock", "CLK: 25", pins):
        mhz = _number(value, pins)
        if mhz is None:
            continue
        for number in pins.runs(key, 0, len(key.value)) or ():
            for pin in pins.named(key, 0, len(key.value), number, pins.inputs) or ():
                if pin in found:
                    _twice(key, f"the clock of '{pin}'", pins)
                found.setdefault(pin, Fastest(pin=pin, mhz=mhz))
    return tuple(found.values())


def _entries(tree: Tree | None, what: str, example: str, pins: Pins) -> Iterator[tuple[Text, Text]]:
    if tree is None:
        return
    if not isinstance(tree, Table):
        pins.wrong(f"'{what}' is to be a mapping", tree, f"Write '{example}' lines.")
        return
    for key, value in tree:
        if isinstance(value, Text) and value.value.strip():
            yield key, value
        else:
            pins.wrong(f"an entry of '{what}' is one line", key, f"Write: {example}")


def _middle(key: Text, between: str, pins: Pins) -> int | None:
    """Where the word stands that parts the pins of a key."""
    if key.value.count(between) == 1:
        return key.value.index(between)
    before, after = ("A", "Y") if between == " to " else ("D", "CLK rise")
    pins.wrong(
        f"'{between.strip()}' is to stand once between the pins",
        key,
        f"Write {before}{between}{after}.",
    )
    return None


def _turn(key: Text, pins: Pins) -> tuple[Turn | None, int]:
    """The edge at the end of a key, and where the pins before it end."""
    head, _, last = key.value.rpartition(" ")
    turn = next((turn for turn in Turn if turn.value == last), None)
    if turn is None:
        pins.wrong("the edge is not named", key, "End with rise or fall: D before CLK rise.")
    return turn, len(head)


def _number(text: Text, pins: Pins, start: int = 0, word: str | None = None) -> float | None:
    word = text.value.strip() if word is None else word
    if _NUMBER.fullmatch(word) is None or float(word) > LIMIT:
        pins.wrong(
            f"'{word}' is no number of ns or MHz",
            text,
            "Write digits, such as 25 or 7.5, without a unit.",
            text.at(start, len(word)),
        )
        return None
    return float(word)


def _edges(text: Text, pins: Pins) -> tuple[tuple[Edge, float], ...] | None:
    """``plh 15 phl 15`` and the like."""
    words = [(match.start(), match[0]) for match in re.finditer(r"[^ ]+", text.value)]
    found: dict[Edge, float] = {}
    hint = f"Words: {', '.join(WORDS)}; each with its number: pd 15."
    if len(words) % 2:
        pins.wrong("each delay is a word and a number", text, hint)
        return None
    for (at, word), (start, digits) in zip(words[::2], words[1::2], strict=True):
        ns = _number(text, pins, start, digits)
        if word not in WORDS:
            pins.wrong(f"'{word}' is no delay", text, hint, text.at(at, len(word)))
            return None
        if ns is None:
            return None
        for edge in WORDS[word]:
            if edge in found:
                pins.wrong(f"t_{edge.value} is given twice", text, "Keep the longer.")
                return None
            found[edge] = ns
    return tuple(found.items())


def _can_let_go(delay: Delay, value: Text, pins: Pins) -> bool:
    """Only three-state outputs are enabled and disabled."""
    if not any(edge in _THREE_STATE for edge, _ in delay.times):
        return True
    for end in delay.ends:
        if pins.kind(end) not in _LETS_GO:
            pins.wrong(
                f"'{end}' is '{pins.kind(end).value}' and has no enable or disable time",
                value,
                "Write plh and phl, or pd for both.",
            )
            return False
    return True


def _once(delay: Delay, key: Text, seen: dict[tuple[str, str, Edge], Text], pins: Pins) -> bool:
    for start in delay.starts:
        for end in delay.ends:
            for edge, _ in delay.times:
                if (start, end, edge) in seen:
                    _twice(key, f"t_{edge.value} from '{start}' to '{end}'", pins)
                    return False
                seen[start, end, edge] = key
    return True


def _twice(key: Text, what: str, pins: Pins) -> None:
    pins.wrong(f"{what} is given twice", key, "Keep the one that is worse for the builder.")
