"""Small boards for the brute-force search, and the tiny parts that they are made of.

The parts are made up, so that a board has two to six bits of storage; the gates are those of the
catalogue.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PartType

_HEAD = "package: DIP-8\nfamilies: [HC, LS]\nsource: made up for the tests\n"
_SUPPLY = "  4: GND ground\n  8: VCC supply\n"
PARTS = {
    "9001": (  # a flip-flop with a clear
        "  1: CLR_n in clear\n  2: D in\n  3: CLK in clock\n  5: Q out\n  6: Q_n out\n",
        'logic: {Q: R, Q_n: "!R"}\n'
        'storage: {R: {clock: rose(CLK), next: D, clear: "!CLR_n"}}\n',
        "CLR_n | Q", "L | L",
    ),
    "9002": (  # a transparent latch, three-state
        "  1: LE in latch\n  2: D in\n  3: OE_n in enable\n  5: Q three-state\n",
        'logic: {Q: {level: L, when: "!OE_n"}}\nstorage: {L: {open: LE, from: D}}\n',
        "LE D OE_n | Q", "H H L | H",
    ),
    "9003": (  # a memory of two words of one bit, with a chip select
        "  1: WE_n in write\n  2: D in\n  3: A0 in address\n  5: Q out\n  6: CS_n in enable\n",
        'logic: {Q: "M[A0]"}\n'
        'memory: {M: {words: 2, bits: 1, address: A0, write: "!WE_n & !CS_n", from: D}}\n',
        "WE_n CS_n D A0 | Q", "L L H L | H",
    ),
    "9004": (  # a flip-flop on the falling edge, with preset and clear
        "  1: CLR_n in clear\n  2: D in\n  3: CLK_n in clock\n  5: Q out\n  6: PRE_n in preset\n",
        "logic: {Q: R}\n"
        'storage: {R: {clock: fell(CLK_n), next: D, clear: "!CLR_n", preset: "!PRE_n"}}\n',
        "CLR_n PRE_n | Q", "L H | L",
    ),
    "9005": (  # a flip-flop with an enable and an asynchronous load
        "  1: LD_n in load\n  2: D in\n  3: CLK in clock\n  5: Q out\n  6: EN in enable\n"
        "  7: P in\n",
        "logic: {Q: R}\n"
        'storage: {R: {clock: rose(CLK), next: "EN ? D : R", load: {when: "!LD_n", from: P}}}\n',
        "LD_n P | Q", "L H | H",
    ),
    "9006": (  # a two-bit counter
        "  1: CLR_n in clear\n  2: EN in enable\n  3: CLK in clock\n  5: Q1 out\n  6: Q0 out\n",
        'logic: {Q1: "R[1]", Q0: "R[0]"}\n'
        'storage: {"R[1:0]": {clock: rose(CLK), next: "EN ? R + 2\'d1 : R", clear: "!CLR_n"}}\n',
        "CLR_n | Q1 Q0", "L | L L",
    ),
}  # fmt: skip
CLOCKED = ("9001", "9004", "9005", "9006")
GATES = ("00", "02", "08", "32", "86", "14")


def write_parts(folder: Path) -> None:
    """The tiny parts as a catalogue folder of a board file in ``folder``."""
    own = folder / "parts"
    own.mkdir(exist_ok=True)
    for number, (pins, behaviour, columns, row) in PARTS.items():
        spare = [k for k in (1, 2, 3, 5, 6, 7) if f"  {k}: " not in pins]
        pins += "".join(f"  {k}: NC{k} nc\n" for k in spare)
        text = (
            f'part: "{number}"\ntitle: tiny part {number}\ndoes: flip-flop\n{_HEAD}'
            f"pins:\n{pins}{_SUPPLY}{behaviour}"
            f'rows:\n  - from: made up\n    columns: {columns}\n    table: ["{row}"]\n'
        )
        (own / f"{number}.yaml").write_text(text, encoding="utf-8")


@dataclass(slots=True)
class Sketch:
    """A board file in the making; pins that are left are tied so that they do nothing."""

    folder: Path
    parts: dict[str, str] = field(default_factory=dict)
    nets: dict[str, list[str]] = field(default_factory=dict)
    ports: dict[str, str] = field(default_factory=dict)
    types: dict[str, PartType] = field(default_factory=dict)
    open: set[str] = field(default_factory=set)

    def chip(self, name: str, number: str, family: str = "HC") -> str:
        self.parts[name] = f"74{family}{number}"
        self.types[name] = Catalogue((self.folder / "parts",)).part(number)
        return name

    def wire(self, net: str, *pins: str) -> None:
        self.nets.setdefault(net, []).extend(pins)

    def text(self, more: str = "") -> str:
        wired = {pin for pins in self.nets.values() for pin in pins} | self.open
        for name, kind in self.types.items():
            for pin in kind.pins:
                label = f"{name}.{pin.name}"
                if label in wired or not (pin.kind.reads or pin.name in ("VCC", "GND")):
                    continue
                high = pin.name == "VCC" or pin.name.endswith("_n")
                self.wire("VCC" if high else "GND", label)
        lines = ["board: small", "catalogue: parts", "parts:"]
        lines += [f"  {name}: {part}" for name, part in self.parts.items()]
        lines += ["nets:", *(f"  {net}: [{', '.join(pins)}]" for net, pins in self.nets.items())]
        lines += ["ports:", *(f"  {port}: {way}" for port, way in self.ports.items())]
        return "\n".join(lines) + "\n" + more


def sketch(
    folder: Path, chips: str, nets: dict[str, str], ports: str, others: dict[str, str] | None = None
) -> Sketch:
    """``chips`` as ``U1:9001 U2:00``, ``nets`` as net -> pins, ``ports`` are all "in"."""
    write_parts(folder)
    made = Sketch(folder)
    for entry in chips.split():
        name, _, number = entry.partition(":")
        family, _, number = number.rpartition("/")
        made.chip(name, number, family or "HC")
    made.parts |= others or {}
    for port in ports.split():
        made.ports[port] = "in"
    for net, pins in nets.items():
        made.wire(net, *pins.split())
    return made


RESISTOR = "{part: resistor, value: 1k}"
DIODE = "{part: diode}"
SMALL: dict[str, tuple[str, dict[str, str], str, dict[str, str]]] = {
    "one flip-flop": ("U1:9001", {"c": "U1.CLK", "d": "U1.D", "r": "U1.CLR_n", "q": "U1.Q"},
    "c d r", {}),
    "gated clock": (
        "U1:9001 U2:9001 U3:08",
        {"c": "U3.A1 U2.CLK", "g": "U3.Y1 U1.CLK", "e": "U2.Q U3.B1", "d": "U2.D U1.D",
         "q": "U1.Q"},
        "c d", {},
    ),
    "selected clock": (
        "U1:9001 U2:4053",
        {"c": "U2.Y10", "e": "U2.Y11", "s": "U2.S1", "g": "U2.Z1 U1.CLK", "d": "U1.D",
         "q": "U1.Q", "GND": "U2.E_n"},
        "c e s d", {},
    ),
    "clock let go by a switch": (
        "U1:9001 U2:4066",
        {"c": "U2.Y1", "e": "U2.E1", "g": "U2.Z1 U1.CLK R1.1", "GND": "R1.2", "d": "U1.D",
         "q": "U1.Q"},
        "c e d", {"R1": RESISTOR},
    ),
    "clock that floats behind a switch": (
        "U1:9001 U2:4066",
        {"c": "U2.Y1", "e": "U2.E1", "g": "U2.Z1 U1.CLK", "d": "U1.D", "q": "U1.Q"},
        "c e d", {},
    ),
    "two outputs through a switch": (
        "U1:9001 U2:4066 U3:14",
        {"c": "U1.CLK", "d": "U1.D", "q": "U1.Q U2.E1", "a": "U3.A1", "b": "U3.A2",
         "x": "U3.Y1 U2.Y1", "y": "U3.Y2 U2.Z1"},
        "c d a b", {},
    ),
    "clear from two diodes": (
        "U1:9001 U2:14",
        {"c": "U1.CLK", "d": "U1.D", "a": "U2.A1", "an": "U2.Y1 D1.K", "b": "D2.K",
         "r": "D1.A D2.A R1.1 U1.CLR_n", "VCC": "R1.2", "q": "U1.Q"},
        "c d a b", {"D1": DIODE, "D2": DIODE, "R1": RESISTOR},
    ),
    "clock from two diodes": (
        "U1:9001 U2:14",
        {"a": "U2.A1", "an": "U2.Y1 D1.A", "b": "D2.A U1.D",
         "g": "D1.K D2.K R1.1 U1.CLK", "GND": "R1.2", "q": "U1.Q"},
        "a b", {"D1": DIODE, "D2": DIODE, "R1": RESISTOR},
    ),
    "output against a diode": (
        "U1:9001 U2:14",
        {"c": "U1.CLK", "d": "U1.D", "a": "U2.A1", "an": "U2.Y1 D1.K", "q": "U1.Q D1.A"},
        "c d a", {"D1": DIODE},
    ),
    "ripple": (
        "U1:9001 U2:9001 U3:9001",
        {"c": "U1.CLK", "a": "U1.Q_n U1.D U2.CLK", "b": "U2.Q_n U2.D U3.CLK", "e": "U3.Q_n U3.D",
         "q": "U3.Q", "r": "U1.CLR_n U2.CLR_n U3.CLR_n"},
        "c r", {},
    ),
    "self-clearing counter": (
        "U1:9006 U2:00",
        {"c": "U1.CLK", "e": "U1.EN", "q1": "U1.Q1 U2.A1", "q0": "U1.Q0 U2.B1",
         "k": "U2.Y1 U1.CLR_n"},
        "c e", {},
    ),
    "latch of two NANDs": (
        "U1:00 U2:9001",
        {"s": "U1.A1", "r": "U1.B2", "q": "U1.Y1 U1.A2 U2.D", "n": "U1.Y2 U1.B1", "c": "U2.CLK",
         "k": "U2.Q"},
        "s r c", {},
    ),
    "bus of two": (
        "U1:9002 U2:125 U3:9001",
        {"bus": "U1.Q U2.Y1 U3.D", "e": "U1.OE_n", "f": "U2.G1_n", "d": "U2.A1 U1.D",
         "c": "U3.CLK U1.LE",
         "q": "U3.Q"},
        "e f d c", {},
    ),
    "bus with a pull-up": (
        "U1:125 U2:9001",
        {"bus": "U1.Y1 U2.D R1.1", "VCC": "R1.2", "f": "U1.G1_n", "d": "U1.A1", "c": "U2.CLK",
         "q": "U2.Q"},
        "f d c", {"R1": RESISTOR},
    ),
    "ring of one": ("U1:14 U2:9001", {"a": "U1.A1 U1.Y1 U2.D", "c": "U2.CLK", "q": "U2.Q"},
    "c", {}),
    "ring when enabled": (
        "U1:00 U2:9001",
        {"a": "U1.A1 U1.Y1 U2.D", "e": "U1.B1 U2.Q", "c": "U2.CLK", "q": "U2.Q_n"}, "c", {},
    ),
    "latch that is its own enable": (
        "U1:9002 U2:9001",
        {"e": "U1.LE", "d": "U1.D", "bus": "U1.Q U1.OE_n U2.D R1.1", "VCC": "R1.2", "c": "U2.CLK",
         "q": "U2.Q"},
        "e d c", {"R1": RESISTOR},
    ),
    "buffer that is its own enable": (
        "U1:125 U2:9001", {"x": "U1.Y1 U1.G1_n U2.D", "d": "U1.A1", "c": "U2.CLK", "q": "U2.Q"},
        "d c", {},
    ),
    "storage for ever": (
        "U1:9002 U2:14 U3:9001",
        {"e": "U1.LE", "GND": "U1.OE_n", "q": "U1.Q U2.A1 U3.D", "n": "U2.Y1 U1.D", "c": "U3.CLK",
         "k": "U3.Q"},
        "e c", {},
    ),
    "memory": (
        "U1:9003 U2:9001",
        {"w": "U1.WE_n", "s": "U1.CS_n", "a": "U1.A0 U2.Q", "d": "U1.D U2.D", "c": "U2.CLK",
         "q": "U1.Q"},
        "w s d c", {},
    ),
    "memory with a moving address": (
        "U1:9003 U2:9001 U3:14",
        {"c": "U2.CLK U3.A1", "w": "U3.Y1 U1.WE_n", "a": "U1.A0 U2.Q", "t": "U2.Q_n U2.D",
         "d": "U1.D", "GND": "U1.CS_n", "q": "U1.Q"},
        "c d", {},
    ),
    "divider beside its clock": (
        "U1:9001 U2:9001",
        {"c": "U1.CLK", "t": "U1.Q_n U1.D", "h": "U1.Q U2.CLK", "x": "U2.D", "q": "U2.Q"},
         "c x", {},
    ),
    "two clock gates in a row": (
        "U1:9001 U2:9001 U3:14",
        {"c": "U3.A1 U3.A2", "i": "U3.Y1 U1.CLK", "j": "U3.Y2 U2.CLK", "d": "U1.D",
         "m": "U1.Q U2.D",
         "q": "U2.Q"},
        "c d", {},
    ),
    "floating clock": (
        "U1:9001 U2:125",
        {"k": "U2.Y1 U1.CLK", "c": "U2.A1", "e": "U2.G1_n", "d": "U1.D", "q": "U1.Q"}, "c e d", {},
    ),
    "preset and clear together": (
        "U1:9004 U2:9004",
        {"c": "U1.CLK_n U2.CLK_n", "r": "U1.CLR_n", "p": "U1.PRE_n U2.PRE_n", "q": "U1.Q U2.D",
         "z": "U2.Q"},
        "c r p", {},
    ),
    "load at the edge": (
        "U1:9005 U2:9001",
        {"c": "U1.CLK U2.CLK", "l": "U2.Q U1.LD_n", "p": "U1.P U2.D", "e": "U1.EN",
         "q": "U1.Q U1.D"},
        "c p e", {},
    ),
    "selector with a hazard": (
        "U1:157 U2:9001",
        {"s": "U1.S", "a": "U1.A1", "b": "U1.B1", "y": "U1.Y1 U2.CLK", "GND": "U1.G_n",
         "t": "U2.Q_n U2.D",
         "q": "U2.Q"},
        "s a b", {},
    ),
    "wired or, and a switch": (
        "U1:125 U2:9001",
        {"x": "U1.Y1 SW.1 R1.1", "y": "SW.2 U2.D", "VCC": "R1.2", "a": "U1.A1", "GND": "U1.G1_n",
         "c": "U2.CLK", "q": "U2.Q"},
        "a c", {"SW": "{part: push-button}", "R1": RESISTOR},
    ),
}  # fmt: skip


def small(folder: Path, name: str) -> Sketch:
    """A board of `SMALL`."""
    chips, nets, ports, others = SMALL[name]
    return sketch(folder, chips, nets, ports, others)


def random_board(folder: Path, random: Random) -> Sketch:
    """Two to four chips, at most five bits of storage and three controls."""
    write_parts(folder)
    made = Sketch(folder)
    ports = ["c", "d", "e"][: random.choice((2, 3, 3))]
    made.ports = dict.fromkeys(ports, "in")
    made.nets = {port: [] for port in ports}
    numbers = [random.choice(CLOCKED)]
    numbers += random.choices((*CLOCKED, "9002", "9003"), k=random.choice((0, 1, 1, 2)))
    gates = random.choices((*GATES, "125", "157"), k=random.choice((1, 1, 2)))
    bits = sum(2 if number in ("9006", "9003") else 1 for number in numbers)
    while bits > 4:
        bits -= 2 if numbers.pop() in ("9006", "9003") else 1
    chips = [made.chip(f"U{n + 1}", number) for n, number in enumerate([*numbers, *gates])]
    sources = list(ports)
    places: dict[str, list[str]] = {}
    bus = random.random() < 0.5
    for name in chips:
        kind = made.types[name]
        outputs = [pin for pin in kind.pins if pin.kind.drives]
        if len(outputs) > 2:
            outputs = outputs[: random.choice((1, 1, 2))]
        for pin in outputs:
            net = f"{name}_{pin.name}"
            if pin.kind.value == "three-state" and bus:
                net = "bus"
            made.wire(net, f"{name}.{pin.name}")
            places.setdefault(name, []).append(net)
            if net not in sources:
                sources.append(net)
    if bus and "bus" in made.nets and random.random() < 0.4:
        made.parts["R1"] = RESISTOR
        made.wire("bus", "R1.1")
        made.wire("VCC", "R1.2")
    for place, name in enumerate(chips):
        _inputs(made, random, name, place, chips, places, ports, sources)
    for port in list(made.ports):
        if not made.nets[port]:
            del made.ports[port], made.nets[port]
    if not made.ports:
        made.ports["c"] = "in"
        made.wire("c", f"{made.chip('U9', '14')}.A1")
    return made


def _inputs(
    made: Sketch, random: Random, name: str, place: int, chips: list[str],
    places: dict[str, list[str]], ports: list[str], sources: list[str],
) -> None:  # fmt: skip
    kind = made.types[name]
    used = {str(k + 1) for k in range(len(places.get(name, ())))}
    loops = random.random() < 0.25
    later = {net for other in chips[place:] for net in places.get(other, ())}
    gate = kind.number in (*GATES, "125", "157")
    for pin in kind.pins:
        if not pin.kind.reads:
            continue
        if gate and pin.name[-1].isdigit() and pin.name[-1] not in used:
            continue
        if gate and pin.name == "G_n":
            made.wire("GND", f"{name}.{pin.name}")
            continue
        options = [net for net in sources if not (gate and net in later and not loops)]
        if pin.role.value == "clock" and random.random() < 0.6:
            options = ports[:1]
        if pin.role.value in ("clear", "preset", "load") and random.random() < 0.5:
            continue
        made.wire(random.choice(options or ports), f"{name}.{pin.name}")


def formulas(made: Sketch, random: Random, count: int) -> str:
    """Random formulas over a board's nets, as the end of its board file."""
    nets = [net for net in made.nets if net not in ("VCC", "GND")]
    lines = ["assert:"]
    for number in range(count):
        lines.append(f'  f{number}: {{says: "", formula: "{_property(random, nets)}"}}')
    lines.append("cover:")
    for number in range(2):
        lines.append(f'  c{number}: {{says: "", formula: "{_level(random, nets, 2)}"}}')
    return "\n".join(lines) + "\n"


def assumptions(made: Sketch, random: Random) -> str:
    """One or two assumptions about the ports, none of which can run into a dead end."""
    ports = list(made.ports)
    a, b = random.choice(ports), random.choice(ports)
    options = [
        f"always ({a} -> stable({b}))",
        f"always (fell({a}) -> next stable({a}))",
        f"!{a}",
        f"always (rose({a}) -> !prev({b}))",
        f"{a} until {b}" if a != b else f"{a}",
        f"(always stable({b})) @(rose({a}))" if a != b else f"always ({a} || {b})",
        f"never ({a} && {b})" if a != b else f"never fell({a})",
    ]
    chosen = random.sample(options, random.choice((1, 1, 2)))
    lines = [f'  a{n}: {{says: "", formula: "{text}"}}' for n, text in enumerate(chosen)]
    return "assume:\n" + "\n".join(lines) + "\n"


def _level(random: Random, nets: list[str], depth: int) -> str:
    net = random.choice(nets)
    kind = random.randrange(12)
    if depth <= 0 or kind < 3:
        return net
    if kind < 6:
        return f"{random.choice(('rose', 'fell', 'stable', 'prev'))}({net})"
    if kind == 6:
        return f"ever({net} {random.choice(('&&', '^', '||'))} {random.choice(nets)})"
    if kind == 7:
        return f"!({_level(random, nets, depth - 1)})"
    if kind == 8:
        return f"prev({net}, 2)"
    op = random.choice(("&&", "||", "==", "^"))
    return f"({_level(random, nets, depth - 1)} {op} {_level(random, nets, depth - 1)})"


def _property(random: Random, nets: list[str]) -> str:
    a, b, c = (_level(random, nets, 2) for _ in range(3))
    tick = random.choice(nets)
    return random.choice(
        (
            f"always ({a} -> {b})",
            f"never ({a} && {b})",
            f"always ({a} -> next ({b} || {c}))",
            f"always ({a} -> next[2] ({b} || {c}))",
            f"({a}) until ({b})",
            f"({a}) before ({b})",
            f"always (({a}) -> (({b}) until ({c})))",
            f"always (({a}) -> next (({b}) before ({c})))",
            f"(always ({a} -> next ({b}))) @(rose({tick}))",
            f"(never (rose({tick}) && {b})) @({a})",
            f"always ({a} || {b} || {c})",
            f"{a} -> always ({b} || {c})",
        )
    )
