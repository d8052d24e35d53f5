"""Looking for parts by what they do, in the words that the trade has for it.

Words that mean the same in the trade (common practice) are one word here, on both sides: in the
question, and in a part's title and function. The list is of words only; what a part can do is in
its part file.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from breadproof.specs.catalogue.part import PartType, PinKind

_DIGITS = {
    "one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7",
    "eight": "8", "nine": "9", "ten": "10", "twelve": "12", "sixteen": "16",
}  # fmt: skip

_PHRASES: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(rf"\b(?:{pattern})\b"), f" {word} ")
    for pattern, word in (
        (r"(?:3|tri)[- ]?states?", "threestate"),
        (r"open[- ]?(?:collector|drain)s?|oc|od", "opencollector"),
        (r"flip[- ]?flops?|ffs?", "register"),
        (r"1[- ]?shots?|mono[- ]?flops?|multivibrators?", "monostable"),
        (r"7[- ]?segments?", "segment"),
        (r"(?:ex|exclusive|e|x)[- ]?nor", "xnor"),
        (r"(?:ex|exclusive|e|x)[- ]?or", "xor"),
        (r"and[- ]or[- ]invert|aoi", "aoi"),
        (r"not[- ]gates?", "inverter"),
        (r"and(?:[- ]gates?|\s*$)", "andgate gate"),
        (r"or(?:[- ]gates?|\s*$)", "orgate gate"),
        (r"schmitt(?:[- ]?trigger(?:s|ed)?)?", "schmitt"),
        (r"look[- ]?ahead", "lookahead"),
        (r"up[-/ ]?(?:and[- ])?down", "updown"),
        (r"arithmetic(?:[- ]logic(?:al)?)?[- ]units?|alus?", "alu"),
        (r"(?:static )?(?:random[- ]access memor(?:y|ies)|s?rams?)", "ram"),
        (r"electrically erasable (?:programmable )?read[- ]only memor(?:y|ies)|e2proms?", "eeprom"),
        (r"erasable programmable read[- ]only memor(?:y|ies)", "eprom"),
        (r"read[- ]only memor(?:y|ies)|proms?", "rom"),
        (r"j[- ]?k", "jk"),
        (r"d[- ]?types?|d", "dtype"),
        (r"([0-9]+)[- ]?k(?:ilo)?(?:byte|word)?s?[- ]?(?:x|by|×)[- ]?([0-9]+)(?:[- ]?bits?)?",
         r"\1k \2bit"),
        (r"([0-9]+)(?:[- ]?(?:line|channel|input)s?)?(?:[- ]?to[- ]?|:)([0-9]+)"
         r"(?:[- ]?(?:line|output)s?)?", r"\1to\2"),
        (r"([0-9]+)[- ]?(?:bits?|stages?)", r"\1bit"),
        (r"([0-9]+)[- ]?inputs?", r"\1input"),
    )
)  # fmt: skip

_SAME = {
    word: meaning
    for meaning, words in {
        "8bit": "octal octuple byte",
        "6bit": "hex hextuple",
        "4bit": "quad quadruple nibble",
        "3bit": "triple",
        "2bit": "dual double",
        "selector": "mux muxer multiplexer multiplexor multiplex",
        "demultiplexer": "demux demultiplexor distributor",
        "buffer": "driver",
        "invert": "inverter inverting inverted not",
        "analogue": "analog",
        "clear": "reset",
        "decade": "bcd decimal",
        "memory": "memorie",
        "timer": "555",
        "counter": "divider count",
        "adder": "add sum summer",
        "comparator": "compare comparer",
        "monostable": "pulse",
        "ripple": "asynchronous",
        "display": "lamp",
        "switch": "switche",
        "latch": "latche",
    }.items()
    for word in words.split()
}
_NOISE = frozenset(
    ("a", "an", "and", "by", "chip", "circuit", "for", "ic", "in", "of", "on", "or", "out", "part",
     "s", "the", "to", "with", "x")
)  # fmt: skip

_ALSO = {
    "ram": ("memory",),
    "rom": ("memory",),
    "eprom": ("rom", "memory"),
    "eeprom": ("rom", "memory"),
    "flash": ("rom", "memory", "eeprom"),
    "aoi": ("and", "or", "invert", "gate"),
    "xor": ("gate",),
    "segment": ("display",),
    "transceiver": ("buffer", "bidirectional"),
}
"""What a part with the one word can be called, too."""


_TRADE = {
    "decoder": ("demultiplexer",),  # with its enable as the data input
    "three-state buffer": ("bus",),
    "first-in first-out memory": ("fifo",),
}
"""What parts of a kind are called, too (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """What was found. ``parts`` have all the words.

    If there are none, ``nearest`` have the most of them, a word that few parts have counting for
    more; ``lacking`` are the words (as they were typed) that the first of these does not have, and
    ``meant`` words that somebody might have meant.
    """

    parts: tuple[PartType, ...]
    nearest: tuple[PartType, ...] = ()
    lacking: tuple[str, ...] = ()
    meant: tuple[str, ...] = ()


def search(parts: Sequence[PartType], question: str, most: int = 8) -> Search:
    """The parts that a question in the trade's words means, in the order given."""
    texts = {word: meanings for word in question.split() if (meanings := words_of(word))}
    wanted = words_of(question)
    known = {part.number: _words_of_part(part) for part in parts}
    have = {
        part.number: {word for word in wanted if _matches(word, known[part.number])}
        for part in parts
    }
    whole = tuple(part for part in parts if wanted and len(have[part.number]) == len(wanted))
    if whole:
        return Search(parts=whole)
    rare = {w: 1 / max(1, sum(w in words for words in have.values())) for w in wanted}
    score = {part.number: round(sum(rare[w] for w in have[part.number]), 9) for part in parts}
    best = max(score.values(), default=0)
    nearest = tuple(p for p in parts if best and score[p.number] == best)[:most]
    every = frozenset(word for words in known.values() for word in words)
    strange = [text for text, words in texts.items() if not any(_matches(w, every) for w in words)]
    held = have[nearest[0].number] if nearest else set[str]()
    lacking = [text for text, words in texts.items() if not set(words) <= held]
    meant = [near for text in strange for near in _near(text, every)]
    return Search(
        parts=(), nearest=nearest, lacking=tuple(lacking), meant=tuple(dict.fromkeys(meant))
    )


def words_of(text: str) -> tuple[str, ...]:
    """The words of a text, each as the one that stands for all that mean the same."""
    text = text.lower().replace("_", " ")
    text = re.sub(r"[a-z]+", lambda found: _DIGITS.get(found[0], found[0]), text)
    for pattern, word in _PHRASES:
        text = pattern.sub(word, text)
    found: dict[str, None] = {}
    for word in re.findall(r"[a-z0-9]+", text):
        single = word if len(word) < 4 or word.endswith("ss") else word.removesuffix("s")
        meaning = _SAME.get(single, single)
        if meaning not in _NOISE:
            found[meaning] = None
    return tuple(found)


def _words_of_part(part: PartType) -> frozenset[str]:
    found = set[str]()
    for form in (part, *part.variants):
        found |= set(words_of(f"{form.title} {form.does}"))
        kinds = {pin.kind for pin in form.pins}
        if PinKind.THREE_STATE in kinds:
            found.add("threestate")
        if PinKind.OPEN_COLLECTOR in kinds:
            found.add("opencollector")
        for memory in form.memories:
            words = memory.words
            found |= {f"{words // 1024}k" if words >= 1024 else str(words), f"{memory.bits}bit"}
    found |= {also for word in tuple(found) for also in _ALSO.get(word, ())}
    found |= set(_TRADE.get(part.does, ()))
    return frozenset({*found, part.number.lower(), part.package.lower(), *words_of(part.package)})


def _matches(word: str, words: Iterable[str]) -> bool:
    """Whether a word is there, or the beginning of one that is (``count`` of counter)."""
    return word in words or (len(word) > 3 and any(known.startswith(word) for known in words))


def _near(text: str, every: Iterable[str]) -> list[str]:
    plain = sorted(word for word in every if word.isalpha() and len(word) > 3)
    return get_close_matches(text.lower(), plain, n=2, cutoff=0.75)
