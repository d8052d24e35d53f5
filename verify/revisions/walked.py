"""A difference is believed only after both runs were walked from themselves alone.

The solver's model went through the and-inverter graph; here each board's own machine runs on
numbers, and afterwards each run is replayed through that board's Amaranth modules. What the two
runs are said to share is looked at, too.
"""

from __future__ import annotations

from dataclasses import dataclass

from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.settle import Round
from breadproof.specs.machine.trace import Trace
from breadproof.specs.machine.walk import Walker
from breadproof.verify.prove.extract import TraceMismatch
from breadproof.verify.revisions.apart import Difference
from breadproof.verify.revisions.items import Item
from breadproof.verify.revisions.links import Links
from breadproof.verify.revisions.start import Start, begun_alike


@dataclass(frozen=True, slots=True)
class Walked:
    """A run's rounds, step by step, and what memories hold at its end."""

    machine: Machine
    steps: tuple[tuple[Round[int], ...], ...]
    memories: tuple[tuple[int, ...], ...]

    @property
    def last(self) -> Round[int]:
        """The quiet moment at the end."""
        return self.steps[-1][-1]


def walk(machine: Machine, trace: Trace) -> Walked:
    """Walk a run again.

    Raises:
        TraceMismatch: it goes otherwise than the trace says.
    """
    place = 0
    walker = _Told(
        machine,
        lambda reader: trace.steps[place].free[reader],
        lambda loop, cut: _choice(trace, place, walker.round_number, f"{loop}.{cut}"),
        dict(trace.storage),
        dict(trace.steps[0].controls),
    )
    for unit, words in zip(machine.memories, walker.memories, strict=True):
        for address, word in trace.words.get(unit.label, {}).items():
            words[address] = word
    steps: list[tuple[Round[int], ...]] = []
    for number, wanted in enumerate(trace.steps):
        place = number
        walker.heard = []
        found = walker.step(wanted.controls) if number else walker.power_up()
        if [one.nets for one in found.rounds] != [one.nets for one in wanted.rounds]:
            raise TraceMismatch(f"a run of {machine.netlist.board} walks otherwise")
        steps.append(tuple(walker.heard))
    return Walked(machine, tuple(steps), tuple(tuple(words) for words in walker.memories))


def _choice(trace: Trace, step: int, number: int, name: str) -> int:
    rounds = trace.steps[step].rounds
    return rounds[number].choices.get(name, 0) if number < len(rounds) else 0


class _Told(Walker):
    """A walker whose rounds are kept."""

    heard: list[Round[int]]

    def advance(self, now: Round[int]) -> bool:
        """Keep the round, and go on."""
        self.heard.append(now)
        return super().advance(now)


def confirm(
    difference: Difference,
    old: Machine,
    new: Machine,
    links: Links,
    items: tuple[Item, ...],
    start: Start,
) -> tuple[Walked, Walked]:
    """Both runs, walked; they show the difference, and share what they must.

    Raises:
        TraceMismatch: they do not.
    """
    one, two = walk(old, difference.old), walk(new, difference.new)
    for before, after in zip(difference.old.steps, difference.new.steps, strict=True):
        for a, b in links.controls.items():
            if sorted(before.controls[a]) != sorted(after.controls[b]):
                raise TraceMismatch(f"control {a} stands otherwise in the two runs")
    for step, rounds in zip(difference.new.steps, one.steps, strict=True):
        if links.reads and links.followed(new, rounds[-1].levels) != dict(step.controls):
            raise TraceMismatch("inputs do not follow the board in the two runs")
    _same_content(difference, old, new, begun_alike(old, new, links, start), start)
    by_name = {item.name: item for item in items}
    for name in difference.items:
        if not differ(by_name[name], one, two):
            raise TraceMismatch(f"the runs that were found do not show that {name} differs")
    return one, two


def _same_content(
    difference: Difference, old: Machine, new: Machine, links: Links, start: Start
) -> None:
    before = {store.leaf: store.label for store in old.stores}
    after = {store.leaf: store.label for store in new.stores}
    for mine, other in links.of("store").items():
        if difference.old.storage[before[other]] != difference.new.storage[after[mine]]:
            raise TraceMismatch(f"{before[other]} begins otherwise in the two runs")
    for one, two in links.memories if start == "power-up" else ():
        words = difference.old.words.get(old.memories[one].label, {})
        if words != difference.new.words.get(new.memories[two].label, {}):
            raise TraceMismatch(f"{old.memories[one].label} begins otherwise in the two runs")


def differ(item: Item, one: Walked, two: Walked) -> bool:
    """Whether an item differs at the ends of two runs, in numbers."""
    a, b = one.last.levels, two.last.levels
    if any(bool(a[node]) is not level for node, level in item.when):
        return False
    if item.kind == "lamp":
        lamps = one.machine.lamps[str(item.old[0])], two.machine.lamps[str(item.new[0])]
        return a[lamps[0]] != b[lamps[1]]
    if item.kind == "memory":
        return one.memories[int(item.old[0])] != two.memories[int(item.new[0])]
    for before, after in zip(item.old, item.new, strict=True):
        x, y = one.machine.nets[int(before)], two.machine.nets[int(after)]
        known = a[x.known], b[y.known]
        level = a[x.level] ^ int(item.inverted)
        if known[0] != known[1] or (all(known) and level != b[y.level]):
            return True
        if a[x.fights] != b[y.fights] or (item.driven and a[x.driven] != b[y.driven]):
            return True
    return False
