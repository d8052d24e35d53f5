"""Fingers and contacts that bounce, from the words that say what they do; no hidden chips.

A board is taken without ``bounces``, so that its controls are the contacts. What a contact may do
is said here once more (common practice: a contact that closes or opens does so several times before
it stays; a change-over contact does not get back to the other side): until the finger moves it is
where the finger is; it follows the finger's move at once; from then on it may open and close, a
change-over contact only at the place where the finger is or last was.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from breadproof.specs.netlist.model import Control, Netlist
from tests.support.brute import Controls, Explorer, Key, Space, Step, positions
from tests.support.brute_looks import Seen

Bits = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Contact:
    """One contact, or a change-over contact that breaks before it makes, and its finger.

    ``place`` is where the finger is or, between two places, last was.
    """

    finger: Bits
    contact: Bits
    place: Bits
    moved: bool = False

    @classmethod
    def resting(cls, bits: Bits) -> Contact:
        """At power-on; of a finger between two places nothing more needs to be known."""
        return cls(bits, bits, bits)

    def to(self, finger: Bits) -> Contact:
        """After a move of the finger."""
        return Contact(finger, finger, finger if any(finger) else self.finger, True)

    def bounced(self) -> Contact:
        """After a bounce."""
        if not self.moved:
            return self
        if len(self.contact) == 1:
            return replace(self, contact=(1 - self.contact[0],))
        return replace(self, contact=(0, 0) if any(self.contact) else self.place)


def later(here: Contact, control: Control) -> Iterator[Contact]:
    """All that one step can make of a control that bounces."""
    for bits in positions(control):
        if bits != here.finger:
            yield here.to(bits)
    if here.moved:
        yield here.bounced()


class FingerExplorer(Explorer):
    """All quiet moments of a board without ``bounces``, some controls of which have fingers.

    The first entry of a key says where the fingers are, the second where the contacts are.
    """

    def __init__(self, netlist: Netlist, names: Sequence[str]) -> None:
        super().__init__(netlist, [])
        self.named = [one for one in netlist.controls if one.name in names]
        assert all(one.exclusive or len(one.bits) == 1 for one in self.named)
        self.fingers: dict[str, Contact] | None = None
        """After the step that is being made; None while power comes on."""
        self.standing: dict[Key, dict[str, Contact]] = {}

    def keep(self, rounds: list[Seen]) -> Key:
        fingers = self.fingers
        if fingers is None:
            controls = self.bench.controls
            fingers = {one.name: Contact.resting(controls[one.name]) for one in self.named}
        base = super().keep(rounds)
        shown = {**self.bench.controls, **{name: one.finger for name, one in fingers.items()}}
        key: Key = (tuple(sorted(shown.items())), *base, tuple(sorted(fingers.items(), key=str)))
        self.snapshots.setdefault(key, self.snapshots.pop(base))
        self.standing[key] = fingers
        return key

    def changes(self, key: Key) -> Iterator[Controls]:
        """Nothing, another control, a move of a finger, or one bounce."""
        stand = self.standing[key]
        names = {one.name for one in self.named}
        self.fingers = stand
        for change in super().changes(key):
            if not names & set(change):
                self.fingers = stand
                yield change
        for control in self.named:
            for contact in later(stand[control.name], control):
                self.fingers = {**stand, control.name: contact}
                yield {control.name: contact.contact}


View = dict[str, Bits]
"""Where fingers and other controls are, and the levels of nets, by name."""
Broken = Callable[[View | None, View], bool]
"""Whether a step breaks a claim, by what was seen before it (None at first) and after it."""


def shortest(space: Space, broken: Broken) -> int | None:
    """Steps after the first to one that breaks a claim; None if there is none."""
    level: list[tuple[View | None, Step]] = [(None, step) for step in space.first]
    seen: set[Key] = set()
    depth = 0
    while level:
        following: list[tuple[View | None, Step]] = []
        for before, step in level:
            now = _view(step)
            if broken(before, now):
                return depth
            if step.to not in seen:
                seen.add(step.to)
                following += [(now, after) for after in space.steps[step.to]]
        level, depth = following, depth + 1
    return None


def _view(step: Step) -> View:
    controls: dict[str, Bits] = dict(step.to[0])  # type: ignore[call-overload]  # the fingers
    return controls | {name: (level,) for name, level in step.rounds[-1].nets.items()}
