"""Bus transceivers, as the function tables of the data books say it, from memory.

What is put on a pin that works both ways reads as None while nobody drives it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from tests.against.chips import Shown
from tests.against.functions import numbered
from tests.against.model import Bit, Model, Pins, flip, shown

Way = Callable[[Pins], bool]
Makes = type[Model]


def transceiver(count: int, to_b: Way, to_a: Way, *, inverts: str = "", first: int = 1) -> Makes:
    """Sides A1 … and B1 …; both ways at once are left out, since each would hold the other.
    ``inverts``: the sides that show the inverse of the other."""
    names = range(first, first + count)
    sides = numbered("A", names), numbered("B", names)

    class Transceiver(Model):
        clocks: ClassVar[tuple[str, ...]] = ()

        def may_move(self, p: Pins, pin: str) -> bool:
            if pin not in p.now or p[pin] is None or pin in (*sides[0], *sides[1]):
                return True
            after = Pins({**p.now, pin: flip(p[pin])})
            return not (to_b(after) and to_a(after))

        def shows(self, p: Pins) -> dict[str, Shown]:
            a, b = (p.bits(side) for side in sides)
            if to_b(p) and to_a(p):  # the first moment only
                return dict.fromkeys((*sides[0], *sides[1]))
            if "B" in inverts:
                a = [flip(x) for x in a]
            if "A" in inverts:
                b = [flip(x) for x in b]
            return shown(sides[0], b, on=to_a(p)) | shown(sides[1], a, on=to_b(p))

    return Transceiver


def registered(to_b: Way, to_a: Way, *, inverts: bool = False, open_a: bool = False) -> Makes:
    """646, 652 and kin: a register behind each side, clocked by CLKAB and CLKBA; SAB and SBA high
    send the stored data, low what is on the other side now. Both ways at once are left out.

    ``open_a``: A only pulls low, and what is on it while it lets go is not known."""
    sides = numbered("A", range(1, 9)), numbered("B", range(1, 9))

    class Registered(Model):
        clocks = ("CLKAB", "CLKBA")

        def __init__(self) -> None:
            self.a: list[Bit] = [None] * 8
            self.b: list[Bit] = [None] * 8

        def may_move(self, p: Pins, pin: str) -> bool:
            if pin in (*sides[0], *sides[1]):
                return True
            after = Pins({**p.now, pin: flip(p[pin])})
            return not (to_b(after) and to_a(after))

        def step(self, p: Pins) -> None:
            if p.rose("CLKAB"):
                self.a = self.bus(p, sides[0])
            if p.rose("CLKBA"):
                self.b = self.bus(p, sides[1])

        def bus(self, p: Pins, side: list[str]) -> list[Bit]:
            """What is on a side: what the chip drives, or else what somebody outside does."""
            levels = self.shows(p)
            own = [levels[pin] for pin in side]
            if open_a and side is sides[0]:
                own = [None if level == 1 else level for level in own]
            return [
                p[pin] if isinstance(level, str) else level
                for pin, level in zip(side, own, strict=True)
            ]

        def shows(self, p: Pins) -> dict[str, Shown]:
            if to_b(p) and to_a(p):
                return dict.fromkeys((*sides[0], *sides[1]))
            a, b = (p.bits(side) for side in sides)
            from_a = self.a if p.high("SAB") else a
            from_b = self.b if p.high("SBA") else b
            if inverts:
                from_a, from_b = [flip(x) for x in from_a], [flip(x) for x in from_b]
            return shown(sides[0], from_b, on=to_a(p)) | shown(sides[1], from_a, on=to_b(p))

    return Registered


def latched(*, inverts: bool) -> Makes:
    """543 and 544: a latch for each way, transparent while its CE and LE are low."""
    sides = {"A": numbered("A", range(8)), "B": numbered("B", range(8))}
    ways = (("A", "B"), ("B", "A"))

    def on(p: Pins, way: str) -> bool:
        return p.low(f"CE{way}_n", f"OE{way}_n")

    class Latched(Model):
        clocks = ("LEAB_n", "LEBA_n")

        def __init__(self) -> None:
            self.q: dict[str, list[Bit]] = {"AB": [None] * 8, "BA": [None] * 8}

        def may_begin(self, p: Pins) -> bool:
            # Open both ways, each side follows the other: no table says at which level that rests.
            return not (on(p, "AB") and on(p, "BA"))

        def may_move(self, p: Pins, pin: str) -> bool:
            if pin in (*sides["A"], *sides["B"]):
                return True
            after = Pins({**p.now, pin: flip(p[pin])})
            return not (on(after, "AB") and on(after, "BA"))

        def step(self, p: Pins) -> None:
            for source, to in (
                ways * 2
            ):  # what one way lets through may go on into the other's latch
                way, back = source + to, to + source
                if not p.low(f"CE{way}_n", f"LE{way}_n"):
                    continue
                self.q[way] = self.out(back) if on(p, back) else p.bits(sides[source])

        def out(self, way: str) -> list[Bit]:
            return [flip(x) for x in self.q[way]] if inverts else self.q[way]

        def shows(self, p: Pins) -> dict[str, Shown]:
            found: dict[str, Shown] = {}
            both = on(p, "AB") and on(p, "BA")
            for source, to in ways:
                levels: list[Bit] = [None] * 8 if both else self.out(source + to)
                found |= shown(sides[to], levels, on=on(p, source + to))
            return found

    return Latched


def low(*pins: str) -> Way:
    """While all are low."""
    return lambda p: p.low(*pins)


def chosen(direction: str, enable: str, level: int) -> Way:
    """While the enable is low and the direction is at a level."""
    return lambda p: p.low(enable) and p[direction] == level


CHIPS: dict[str, Makes] = {
    "242": transceiver(4, lambda p: p.low("GAB_n"), lambda p: p.high("GBA"), inverts="AB"),
    "543": latched(inverts=False),
    "544": latched(inverts=True),
    "620": transceiver(8, lambda p: p.high("GAB"), lambda p: p.low("GBA_n"), inverts="AB"),
    "621": transceiver(8, lambda p: p.high("GAB"), lambda p: p.low("GBA_n")),
    "622": transceiver(8, lambda p: p.high("GAB"), lambda p: p.low("GBA_n"), inverts="AB"),
    "638": transceiver(8, chosen("DIR", "G_n", 1), chosen("DIR", "G_n", 0), inverts="AB"),
    "639": transceiver(8, chosen("DIR", "G_n", 1), chosen("DIR", "G_n", 0)),
    "641": transceiver(8, chosen("DIR", "G_n", 1), chosen("DIR", "G_n", 0)),
    "642": transceiver(8, chosen("DIR", "G_n", 1), chosen("DIR", "G_n", 0), inverts="AB"),
    "643": transceiver(8, chosen("DIR", "G_n", 1), chosen("DIR", "G_n", 0), inverts="B"),
    "645": transceiver(8, chosen("DIR", "G_n", 1), chosen("DIR", "G_n", 0)),
    "648": registered(chosen("DIR", "G_n", 1), chosen("DIR", "G_n", 0), inverts=True),
    "651": registered(lambda p: p.high("GAB"), lambda p: p.low("GBA_n"), inverts=True),
    "653": registered(lambda p: p.high("GAB"), lambda p: p.low("GBA_n"), inverts=True, open_a=True),
    "654": registered(lambda p: p.high("GAB"), lambda p: p.low("GBA_n"), open_a=True),
    "861": transceiver(10, low("GAB_n"), low("GBA_n"), first=0),
    "862": transceiver(10, low("GAB_n"), low("GBA_n"), inverts="AB", first=0),
    "863": transceiver(9, low("GAB1_n", "GAB2_n"), low("GBA1_n", "GBA2_n"), first=0),
    "864": transceiver(9, low("GAB1_n", "GAB2_n"), low("GBA1_n", "GBA2_n"), inverts="AB", first=0),
    "243": transceiver(4, lambda p: p.low("GAB_n"), lambda p: p.high("GBA")),
    "245": transceiver(8, chosen("DIR", "G_n", 1), chosen("DIR", "G_n", 0)),
    "623": transceiver(8, lambda p: p.high("GAB"), lambda p: p.low("GBA_n")),
    "640": transceiver(8, chosen("DIR", "G_n", 1), chosen("DIR", "G_n", 0), inverts="AB"),
    "646": registered(chosen("DIR", "G_n", 1), chosen("DIR", "G_n", 0)),
    "652": registered(lambda p: p.high("GAB"), lambda p: p.low("GBA_n")),
}
