"""Resolvers: nets with several drivers, the bits of a vector together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from breadproof.export.lowering import values as v
from breadproof.export.lowering.layout import lay_out
from breadproof.export.lowering.merging import Assignments
from breadproof.export.lowering.netlogic import NetTexts
from breadproof.export.lowering.signals import NetSignals, Signals, Word
from breadproof.export.lowering.values import Value


@dataclass(frozen=True, slots=True, kw_only=True)
class _Resolver:
    name: str
    word: Word

    def drivers(self, texts: NetTexts) -> int:
        """The most drivers that any of the nets has."""
        return max(len(texts.groups[net]) for net in self.word.nets)


@dataclass(slots=True)
class Resolving:
    """The resolvers of a board, each made when something of it is asked for."""

    signals: Signals
    nets: NetSignals
    by_word: dict[str, _Resolver] = field(default_factory=dict)

    def output(self, net: int, what: str) -> Value:
        """What comes out of a net's resolver: "driven", "fights" or "level"."""
        word, bit = self.nets.places[net]
        if word.name not in self.by_word:
            name = self.signals.names.new(f"{word.name}_resolver")
            self.by_word[word.name] = _Resolver(name=name, word=word)
            for each in ("driven", "fights", "level"):
                self.signals.widths[f"self.{name}.{each}"] = len(word.nets)
        return self.signals.at(f"self.{self.by_word[word.name].name}.{what}", bit)

    def made(self, texts: NetTexts) -> Iterator[str]:
        """The attributes."""
        for one in self.by_word.values():
            sizes = [one.drivers(texts)]
            sizes += [len(one.word.nets)] if len(one.word.nets) > 1 else []
            yield from lay_out(f"self.{one.name} = Resolver({', '.join(map(str, sizes))})", 2)

    def submodules(self) -> Iterator[str]:
        """The submodules."""
        for one in self.by_word.values():
            yield from lay_out(f"m.submodules.{one.name} = self.{one.name}", 2)

    def assign(self, texts: NetTexts, word: Word, assigned: Assignments) -> None:
        """The inputs of a word's resolver, if it has one."""
        one = self.by_word.get(word.name)
        if one is None:
            return
        width = len(word.nets)
        for place in range(one.drivers(texts)):
            resolved = [
                (bit, texts.groups[net][place])
                for bit, net in enumerate(word.nets)
                if 1 < len(texts.groups[net]) > place
            ]
            labels = [label for _, group in resolved for label in group.labels]
            who = ", ".join(dict.fromkeys(label.partition(".")[0] for label in labels))
            for bit, group in resolved:
                drives = v.stretch(f"self.{one.name}.drives[{place}]", bit, 1, width)
                level = v.stretch(f"self.{one.name}.levels[{place}]", bit, 1, width)
                assigned.add(drives, group.drives, f"from {who}")
                assigned.add(level, group.level)
