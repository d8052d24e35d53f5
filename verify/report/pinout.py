"""A part as a page of text: the pin-out drawn as a DIP seen from above, function and source."""

from __future__ import annotations

from typing import Any

from breadproof.specs.catalogue.part import (
    Latch,
    Memory,
    Output,
    PartType,
    PinKind,
    PinType,
    Register,
    Role,
)
from breadproof.verify.report.known import Own, known_lines, known_object
from breadproof.verify.report.words import wrapped

_INTO = {
    PinKind.IN: "->",
    PinKind.OUT: "<-",
    PinKind.THREE_STATE: "<z",
    PinKind.OPEN_COLLECTOR: "<o",
    PinKind.BIDIRECTIONAL: "<>",
    PinKind.WIRED_AND: "oo",
    PinKind.SUPPLY: "==",
    PinKind.GROUND: "==",
    PinKind.PASSIVE: "--",
    PinKind.NOT_CONNECTED: "  ",
}
"""What leads from the pin's name, on the left, to the body."""
_MIRRORED = str.maketrans("<>", "><")
_LEGEND = {
    PinKind.IN: "-> in",
    PinKind.OUT: "<- out",
    PinKind.THREE_STATE: "<z out, three-state",
    PinKind.OPEN_COLLECTOR: "<o out, open collector",
    PinKind.BIDIRECTIONAL: "<> both ways",
    PinKind.WIRED_AND: "oo both ways, pulls low only",
    PinKind.SUPPLY: "== supply and ground",
    PinKind.NOT_CONNECTED: "blank: not connected",
}
BODY = 16


def part_page(part: PartType, width: int, own: Own | None = None) -> str:
    """All that is known of a part, for people; ``own`` if its file is the user's."""
    lines = [f"{part.number}  {part.title}", ""]
    lines += dip(part) if part.package.startswith("DIP-") else _plain_pins(part)
    legend = [text for kind, text in _LEGEND.items() if any(p.kind is kind for p in part.pins)]
    if legend:
        lines += ["", *wrapped(";  ".join(legend), width, "  ")]
    lines += ["", *_function(part, width), *known_lines(part, width, own)]
    return "\n".join(lines) + "\n"


# ------------------------------------------------------------------------- the drawing


def dip(part: PartType) -> list[str]:
    """The package from above, notch up: numbers, names with their roles, kinds by arrows."""
    by_number = {int(pin.number): pin for pin in part.pins if pin.kind is not PinKind.MOMENT}
    last = int(part.package.removeprefix("DIP-"))
    rows = last // 2
    left = [by_number.get(number) for number in range(1, rows + 1)]
    right = [by_number.get(number) for number in range(last, rows, -1)]
    margin = max(len(_named(pin, left=True)) for pin in left)
    half = BODY // 2 - 2
    top = f"{'':<{margin + 4}}+{'-' * half}\\__/{'-' * half}+"
    lines = [f"  {top}"]
    for place, (one, other) in enumerate(zip(left, right, strict=True)):
        body = f"{place + 1:<{BODY // 2}}{last - place:>{BODY // 2}}"
        inner = f"{_named(one, left=True):>{margin}} {_arrow(one)} |{body}|"
        outer = f"{_arrow(other).translate(_MIRRORED)[::-1]} {_named(other, left=False)}"
        lines.append(f"  {inner} {outer}".rstrip())
    lines.append(f"  {'':<{margin + 4}}+{'-' * BODY}+")
    return lines


def _named(pin: PinType | None, *, left: bool) -> str:
    """The name, outermost the role where the name does not tell it."""
    if pin is None:
        return ""
    if pin.kind is PinKind.NOT_CONNECTED:
        return "nc"
    if pin.role is Role.DATA:
        return pin.name
    role = f"({pin.role.value})"
    return f"{role} {pin.name}" if left else f"{pin.name} {role}"


def _arrow(pin: PinType | None) -> str:
    return _INTO[pin.kind] if pin else "  "


def _plain_pins(part: PartType) -> list[str]:
    """The pins of what is no DIP."""
    return [
        f"  {pin.number:>3}  {'' if pin.name == pin.number else pin.name}".rstrip()
        for pin in part.pins
        if pin.kind is not PinKind.MOMENT
    ]


# ------------------------------------------------------------------------- the function


def _function(part: PartType, width: int) -> list[str]:
    """The equations as the part file has them."""
    lines: list[str] = []
    for output in (*part.inner, *part.logic):
        lines += _equation(output, width)
    for store in part.storage:
        lines += _register(store, width) if isinstance(store, Register) else _latch(store, width)
    for memory in part.memories:
        lines += _memory(memory, width)
    for switch in part.switches:
        one, other = switch.joins
        lines += _line(f"{one} to {other}:", f"closed while {switch.when.text.value}", width)
    for moment in part.moments:
        lines += _line(f"{moment.name}:", f"at each change of it, {moment.says}", width)
    if not lines:
        return []
    return ["function", *lines, ""]


def _equation(output: Output, width: int) -> list[str]:
    text = output.level.text.value
    if output.when is not None:
        text = f"{text}   while {output.when.text.value}"
    return _line(f"{vector_name(output.names)} =", text, width)


def vector_name(names: tuple[str, ...]) -> str:
    """``Q[3:0]`` for Q3, Q2, Q1, Q0; a single name as it is."""
    if len(names) == 1:
        return names[0]
    stem = names[0].rstrip("0123456789")
    if all(name.startswith(stem) and name[len(stem) :].isdigit() for name in names):
        return f"{stem}[{names[0][len(stem) :]}:{names[-1][len(stem) :]}]"
    return f"{{{', '.join(names)}}}"


def _line(head: str, text: str, width: int) -> list[str]:
    return wrapped(" ".join(text.split()), width, f"  {head} ")


def _bits(name: str, width: int) -> str:
    return name if width == 1 else f"{name}[{width - 1}:0]"


def _register(store: Register, width: int) -> list[str]:
    edge = "rising" if store.rising else "falling"
    # The part file writes the edge as a function: rose(CLK).
    clock = store.clock.text.value.partition("(")[2].removesuffix(")")
    lines = _line(
        f"{_bits(store.name, store.width)}:",
        f"register, on the {edge} edge of {clock} takes {store.next.text.value}",
        width,
    )
    return lines + _asynchronous(store, width)


def _latch(store: Latch, width: int) -> list[str]:
    text = f"latch, follows {store.source.text.value} while {store.open.text.value}"
    return _line(f"{_bits(store.name, store.width)}:", text, width) + _asynchronous(store, width)


def _asynchronous(store: Register | Latch, width: int) -> list[str]:
    lines: list[str] = []
    if store.clear is not None:
        lines += _line("   ", f"cleared while {store.clear.text.value}", width)
    if store.preset is not None:
        lines += _line("   ", f"preset while {store.preset.text.value}", width)
    if isinstance(store, Register) and store.load is not None:
        load = store.load
        text = f"loaded with {load.source.text.value} while {load.when.text.value}"
        lines += _line("   ", text, width)
    return lines


def _memory(memory: Memory, width: int) -> list[str]:
    text = f"{memory.words:,} words of {memory.bits} bits, addressed by {memory.address.text.value}"
    if memory.write is not None and memory.source is not None:
        text += f", written with {memory.source.text.value} while {memory.write.text.value}"
    else:
        text += ", read only: the board gives its contents"
    return _line(f"{memory.name}:", text, width)


# ------------------------------------------------------------------------- for programs


def part_fields(part: PartType) -> dict[str, Any]:
    """A part in the list of ``--json``."""
    return {
        "number": part.number,
        "title": part.title,
        "does": part.does,
        "package": part.package,
        "families": list(part.families),
    }


def part_object(part: PartType, own: Own | None = None) -> dict[str, Any]:
    """One part for ``--json``: its pins and equations too."""
    return {
        **part_fields(part),
        **known_object(part, own),
        "pins": [
            {"number": p.number, "name": p.name, "kind": p.kind.value, "role": _role(p)}
            for p in part.pins
        ],
        "function": [line.strip() for line in _function(part, 10_000)[1:-1]],
    }


def _role(pin: PinType) -> str | None:
    return pin.role.value if pin.kind.reads else None
