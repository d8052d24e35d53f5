"""What changed on the board, as a list of changes: what matters first, names and places last."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from breadproof.specs.netlist.model import Net, Netlist, Part, Pin
from breadproof.verify.revisions.drawing import INTERFACE, family_of
from breadproof.verify.revisions.matching import Matching, given, net_called
from breadproof.verify.revisions.samewiring import same_type

Group = Literal["parts", "wiring", "contents", "said", "names", "places"]
"""``said`` is what the board file says beside the wiring; ``names`` and ``places`` change
nothing that the board does."""
MATTERS: tuple[Group, ...] = ("parts", "wiring", "contents")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """``text`` is a sentence without its stop. ``parts`` and ``pins`` are those of the old board
    and of the new one, ``nets`` (old, new) are net numbers: what a difference can come from.
    ``formula`` is the name of one that is told of."""

    group: Group
    kind: str
    text: str
    parts: tuple[tuple[str, ...], tuple[str, ...]] = ((), ())
    pins: tuple[tuple[str, ...], tuple[str, ...]] = ((), ())
    nets: tuple[tuple[int, ...], tuple[int, ...]] = ((), ())
    formula: str = ""


def changes_of(matching: Matching) -> tuple[Change, ...]:
    """Changes of parts, wiring and contents, then of names; `said` and `places` have the rest."""
    return (
        *_parts(matching),
        *_wiring(matching),
        *_exchanged(matching),
        *_names(matching),
    )


# parts --------------------------------------------------------------------------------------------


def _parts(matching: Matching) -> Iterator[Change]:
    for part in matching.removed:
        nets = tuple(pin.net for pin in part.pins if pin.net is not None)
        text = f"{part.name} ({part.printed}) is gone"
        yield Change(
            group="parts", kind="part removed", text=text, parts=((part.name,), ()), nets=(nets, ())
        )
    for part in matching.added:
        nets = tuple(pin.net for pin in part.pins if pin.net is not None)
        text = f"{part.name} ({part.printed}) is new{_where(matching.new, part)}"
        yield Change(
            group="parts", kind="part added", text=text, parts=((), (part.name,)), nets=((), nets)
        )


def _where(netlist: Netlist, part: Part) -> str:
    """What a part of few pins joins."""
    nets = [netlist.nets[pin.net] for pin in part.pins if pin.net is not None]
    names = list(dict.fromkeys(net_called(net) for net in nets))
    if len(names) > 3 or any(not given(net.name) for net in nets):
        return ""
    return f", on {' and '.join(names)}" if names else ", on nothing"


def _exchanged(matching: Matching) -> Iterator[Change]:
    new = {part.name: part for part in matching.new.parts}
    for part in matching.old.parts:
        other = new.get(matching.parts.get(part.name, ""))
        if other is None:
            continue
        both = ((part.name,), (other.name,))
        called = part.name if part.name == other.name else f"{part.name} (now {other.name})"
        what = _difference(part, other)
        if part.name in matching.anew:
            what += ", wired anew"
        if what:
            yield Change(group="parts", kind="part exchanged", text=f"{called}: {what}", parts=both)
        if part.contents != other.contents and part.type.key == other.type.key:
            yield from _words(part, other, called)


def _difference(part: Part, other: Part) -> str:
    if part.type.key != other.type.key or part.device != other.device:
        return f"a {other.printed} in place of a {part.printed}"
    if part.family != other.family:
        return f"{family_of(other)} in place of {family_of(part)} ({other.printed})"
    if part.value != other.value:
        return f"{_value(other)} in place of {_value(part)}"
    if part.positions != other.positions:
        return f"positions {', '.join(other.positions)} in place of {', '.join(part.positions)}"
    for name in ("makes_before_breaks", "ways", "isolated", "common", "complement", "closed"):
        if getattr(part, name) != getattr(other, name):
            words = name.replace("_", " ")
            return f"{words} {getattr(other, name)} in place of {getattr(part, name)}"
    if not same_type(part.type, other.type):
        return f"the part file of the {other.printed} says something else"
    return ""


def _value(part: Part) -> str:
    if part.value is None:
        return "no value"
    unit = {"resistor": "ohm", "resistor-network": "ohm", "potentiometer": "ohm",
            "capacitor": "F"}.get(part.device, "Hz")  # fmt: skip
    for factor, prefix in (
        (1e6, "M"),
        (1e3, "k"),
        (1.0, ""),
        (1e-3, "m"),
        (1e-6, "u"),
        (1e-9, "n"),
    ):
        if part.value >= factor:
            return f"{part.value / factor:g} {prefix}{unit}"
    return f"{part.value / 1e-12:g} p{unit}" if part.value else f"0 {unit}"


def _words(part: Part, other: Part, called: str) -> Iterator[Change]:
    """Each word of a ROM that is another one."""
    bits = max((memory.bits for memory in part.type.memories), default=8)
    digits = (bits + 3) // 4
    count = max(len(part.contents), len(other.contents))
    erased = (1 << bits) - 1

    def word(words: tuple[int, ...], place: int) -> int:
        return words[place] if place < len(words) else erased

    for place in range(count):
        before, after = word(part.contents, place), word(other.contents, place)
        if before != after:
            width = max(2, (len(f"{count - 1:X}")))
            yield Change(
                group="contents",
                kind="word",
                text=f"{called}: {after:0{digits}X} at {place:0{width}X}, not {before:0{digits}X}",
                parts=((part.name,), (other.name,)),
            )


# wiring -------------------------------------------------------------------------------------------


def _wiring(matching: Matching) -> Iterator[Change]:
    """Nets joined and split, and what of the moved pins is not told by that."""
    told: set[str] = set()
    for change in (*_joined(matching), *_split(matching)):
        told |= set(change.pins[0])
        yield change
    groups: dict[tuple[int | None, int | None], list[tuple[Pin, Pin]]] = {}
    for a, b in matching.moved:
        if a.label not in told:
            groups.setdefault((_real(matching.old, a), _real(matching.new, b)), []).append((a, b))
    for (before, after), pins in groups.items():
        if before is None and after is None:
            continue
        yield _moved(matching, before, after, pins)
    yield from _ports(matching)


def _real(netlist: Netlist, pin: Pin) -> int | None:
    """The net of a pin, if that joins it with anything."""
    if pin.net is None:
        return None
    net = netlist.nets[pin.net]
    ports = any(pin.net in port.nets for port in netlist.ports)
    return pin.net if len(net.pins) > 1 or net.rail is not None or ports else None


def _moved(
    matching: Matching, before: int | None, after: int | None, pins: list[tuple[Pin, Pin]]
) -> Change:
    many = len(pins) > 1
    names = ", ".join(_pin_called(matching, a, b) for a, b in pins)
    old = "" if before is None else _old_net_called(matching, before)
    new = "" if after is None else net_called(matching.new.nets[after])
    alone = after is None or all(
        pin.label in {b.label for _, b in pins} for pin in matching.new.nets[after].pins
    )
    if before is None:
        text, kind = f"{names} {'are' if many else 'is'} now on {new}", "pin wired"
    elif after is None:
        text, kind = f"{names} {'are' if many else 'is'} off {old}, on nothing", "pin left open"
    elif alone and matching.new.nets[after].rail is None:
        text = f"{names} {'are' if many else 'is'} off {old}, on {new} alone"
        kind = "pin moved"
    else:
        text, kind = f"{names} moved from {old} to {new}", "pin moved"
    return Change(
        group="wiring",
        kind=kind,
        text=text,
        parts=(tuple(a.part for a, _ in pins), tuple(b.part for _, b in pins)),
        pins=(tuple(a.label for a, _ in pins), tuple(b.label for _, b in pins)),
        nets=(
            () if before is None else (before,),
            () if after is None else (after,),
        ),
    )


def _old_net_called(matching: Matching, number: int) -> str:
    """A net of the old board, with what it is called now where another one has its name."""
    old = net_called(matching.old.nets[number])
    now = matching.nets.get(number)
    if now is None or net_called(matching.new.nets[now]) == old:
        return old
    taken = any(net_called(net) == old for net in matching.new.nets)
    return f"{old} (now {net_called(matching.new.nets[now])})" if taken else old


def _pin_called(matching: Matching, a: Pin, b: Pin) -> str:
    name = f" ({a.name})" if a.name and a.name != a.number else ""
    return f"{a.label}{name}" if a.label == b.label else f"{a.label}{name}, now {b.label},"


def _joined(matching: Matching) -> Iterator[Change]:
    """Nets that are gone since all their pins are now on another net, beside pins of its own."""
    for net in matching.old.nets:
        labels = [pin.label for pin in net.pins if pin.label in matching.pins]
        if net.index in matching.nets or len(labels) < 2:
            continue
        now = {_new_net(matching, label) for label in labels}
        target = now.pop() if len(now) == 1 else None
        if target is None or target not in matching.nets_back:
            continue
        other = matching.old.nets[matching.nets_back[target]]
        kept = [
            p
            for p in other.pins
            if _new_net(matching, matching.pins.get(p.label) and p.label) == target
        ]
        if not kept:
            continue
        yield _whole(
            matching, "nets joined", f"{net_called(other)} and {net_called(net)} are joined",
            (labels, [matching.pins[label] for label in labels]),
            ((other.index, net.index), (target,)),
        )  # fmt: skip


def _split(matching: Matching) -> Iterator[Change]:
    """Nets that are new since some pins of an old one, and nothing else, are now on them."""
    old_net = {pin.label: pin.net for pin in matching.old.pins()}
    for net in matching.new.nets:
        labels = [pin.label for pin in net.pins if pin.label in matching.pins_back]
        if net.index in matching.nets_back or len(labels) < 2:
            continue
        before = [matching.pins_back[label] for label in labels]
        was = {old_net[label] for label in before}
        source = was.pop() if len(was) == 1 else None
        if source is None or source not in matching.nets:
            continue
        yield _whole(
            matching, "net split",
            f"{net_called(matching.old.nets[source])} is split: {', '.join(labels)} are apart now",
            (before, labels), ((source,), (matching.nets[source], net.index)),
        )  # fmt: skip


def _whole(
    matching: Matching,
    kind: str,
    text: str,
    pins: tuple[list[str], list[str]],
    nets: tuple[tuple[int, ...], tuple[int, ...]],
) -> Change:
    parts = tuple(tuple(label.rpartition(".")[0] for label in labels) for labels in pins)
    return Change(
        group="wiring",
        kind=kind,
        text=text,
        parts=(parts[0], parts[1]),
        pins=(tuple(pins[0]), tuple(pins[1])),
        nets=nets,
    )


def _new_net(matching: Matching, label: str | None) -> int | None:
    now = matching.pins.get(label or "")
    if now is None:
        return None
    part, _, number = now.rpartition(".")
    found = matching.new.part(part)
    pin = None if found is None else found.pin(number)
    return None if pin is None else pin.net


def _ports(matching: Matching) -> Iterator[Change]:
    new = {port.name: port for port in matching.new.ports}
    old = {port.name: port for port in matching.old.ports}
    for name, port in old.items():
        other = new.get(name)
        if other is None:
            yield Change(group="wiring", kind="port gone", text=f"port {name} is gone",
                         nets=(port.nets, ()))  # fmt: skip
        elif len(other.nets) != len(port.nets):
            text = f"port {name} has {len(other.nets)} nets, not {len(port.nets)}"
            yield Change(
                group="wiring", kind="port changed", text=text, nets=(port.nets, other.nets)
            )
        elif other.direction != port.direction:
            text = f"port {name} is '{other.direction}', not '{port.direction}'"
            yield Change(
                group="wiring", kind="port changed", text=text, nets=(port.nets, other.nets)
            )
    for name, port in new.items():
        if name not in old:
            yield Change(group="wiring", kind="port new", text=f"port {name} is new",
                         nets=((), port.nets))  # fmt: skip


# names --------------------------------------------------------------------------------------------


def _names(matching: Matching) -> Iterator[Change]:
    devices = {part.name: part.device for part in matching.old.parts}
    for a, b in matching.parts.items():
        if a != b:
            kind = "renamed" if devices[a] in INTERFACE else "renumbered"
            yield Change(group="names", kind=kind, text=f"{a} is now {b}", parts=((a,), (b,)))
    for name, before, after in matching.gates:
        now = matching.parts[name]
        text = f"{now}: " + ", ".join(f"{a} is {b}" for a, b in zip(before, after, strict=True))
        yield Change(group="names", kind="gates swapped", text=text, parts=((name,), (now,)))
    for one, two in sorted(matching.nets.items()):
        old, new = matching.old.nets[one], matching.new.nets[two]
        if (
            old.name != new.name
            and given(old.name)
            and given(new.name)
            and not _also(matching, old, new)
        ):
            text = f"{old.name} is now {new.name}"
            yield Change(group="names", kind="net renamed", text=text, nets=((one,), (two,)))


def _also(matching: Matching, old: Net, new: Net) -> bool:
    """Whether one of the names is a further name of the other's net."""
    return (old.name, new.index) in matching.new.aliases or (
        new.name, old.index
    ) in matching.old.aliases  # fmt: skip
