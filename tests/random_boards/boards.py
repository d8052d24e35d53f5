"""Random boards, as board files, from the shipped catalogue; and random stimuli for them.

Every board has two clocked chips or more, a clock that is derived and one that is gated, a bus with
two or more three-state sources, and a loop of gates. Gates mostly read what stands before them, so
that most boards get quiet; what is left to chance beyond that may fight, float or never settle.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from random import Random

from hypothesis import strategies as st

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PartType, PinKind, PinType, Role
from breadproof.specs.machine.machine import Machine
from tests.random_boards.timers import add_timers
from tests.support.witnesses import Controls, Start, Stimuli

CLOCKED = ("74", "161", "163", "164", "165", "173", "174", "175", "273", "374", "377", "574")
GATES = (
    "00", "02", "04", "08", "10", "11", "14", "20", "21", "27", "30", "32", "86",
    "138", "139", "151", "153", "157", "158", "283",
)  # fmt: skip
BUFFERS = ("125", "126", "240", "241", "244", "257", "541")
LATCHES = ("373", "573")
OTHERS = ("245", "189", "6116", "28C16")
WIRED_AND = ("48", "247", "622", "639", "641")
KINDS = (
    "port", "port", "button", "spdt", "dip", "oscillator", "jumper", "rotary", "supervisor",
    "crystal",
)  # fmt: skip
"""Kinds of controls."""
BOUNCING = tuple(f"{{part: {kind}" for kind in ("push-button", "spdt", "dip-switch", "rotary-dip"))
LOOPS = ("nand", "nor", "or", "select", "transceivers")
SWITCHES = ("4066", "4316", "4051", "4052", "4053")
PURE = {"161": "RCO", "163": "RCO", "74": "Q"}
"""Clocked chips with outputs that also follow an input at once: how these outputs begin."""


@cache
def part_type(number: str) -> PartType:
    return _CATALOGUE.part(number)


_CATALOGUE = Catalogue()


@dataclass(slots=True)
class Source:
    """A net with a level, and the place of the last chip it depends on at once (0: none)."""

    net: str
    place: int


@dataclass(slots=True)
class Sketch:
    """A board file in the making."""

    random: Random
    parts: dict[str, str] = field(default_factory=dict)
    nets: dict[str, list[str]] = field(default_factory=dict)
    ports: dict[str, str] = field(default_factory=dict)
    sources: list[Source] = field(default_factory=list)
    types: dict[str, PartType] = field(default_factory=dict)
    wired: set[str] = field(default_factory=set)
    chaos: int = 0
    """Percent of inputs that read anything, also what stands behind them."""
    clocks: list[str] = field(default_factory=list)
    derived: list[str] = field(default_factory=list)
    bounces: list[str] = field(default_factory=list)

    def chance(self, percent: int) -> bool:
        return self.random.randrange(100) < percent

    def wire(self, net: str, *pins: str) -> None:
        self.nets.setdefault(net, []).extend(pins)
        self.wired.update(pins)

    def chip(self, number: str, only: str = "") -> str:
        """Adds a chip of a random family, or this one; its supply is wired."""
        name = f"U{len(self.types) + 1}"
        kind = part_type(number)
        known = [family for family in ("LS", "HC") if family in kind.families]
        family = self.random.choice(known) if known else ("F" if "F" in kind.families else "")
        family = "" if only == "TTL" else family
        self.parts[name] = number if "MOS" in kind.families else f"74{family}{number}"
        self.types[name] = kind
        for pin in kind.pins:
            if pin.kind is PinKind.SUPPLY:
                self.wire("VCC", f"{name}.{pin.number}")
            elif pin.kind is PinKind.GROUND:
                self.wire("GND", f"{name}.{pin.number}")
        return name

    def resistor(self, ohms: str, a: str, b: str) -> None:
        name = f"R{sum(name[0] == 'R' for name in self.parts) + 1}"
        self.parts[name] = f"{{part: resistor, value: {ohms}}}"
        self.wire(a, f"{name}.1")
        self.wire(b, f"{name}.2")

    def text(self, title: str) -> str:
        lines = [f"board: {title}", "parts:"]
        for name, part in self.parts.items():
            lines.append(f"  {name}: {part}" if part[0] == "{" else f'  {name}: "{part}"')
        lines.append("nets:")
        lines += [f"  {net}: [{', '.join(pins)}]" for net, pins in self.nets.items() if pins]
        ports = {port: way for port, way in self.ports.items() if self.nets[port]}
        if ports:
            lines.append("ports:")
            lines += [f"  {port}: {way}" for port, way in ports.items()]
        if self.bounces:
            lines.append(f"bounces: [{', '.join(self.bounces)}]")
        return "\n".join(lines) + "\n"


def build(
    random: Random, joins: int = 25, timed: int = 20, bouncing: int = 15, *, wired: bool = False
) -> str:
    """The text of a board file; ``joins`` percent have analogue switches, as many diodes.

    ``timed`` percent have parts that take their time, in ``bouncing`` all buttons and switches
    bounce; ``wired`` ones have wired-and pins.
    """
    sketch = Sketch(random, chaos=random.choice((2, 5, 30)))
    _controls(sketch)
    numbers = [random.choice(CLOCKED) for _ in range(random.randint(2, 3))]
    numbers += [random.choice(GATES) for _ in range(random.randint(1, 3))]
    if sketch.chance(30):
        numbers.append(random.choice(LATCHES))
    if sketch.chance(40):
        numbers.append(random.choice(OTHERS))
    numbers += [random.choice(WIRED_AND) for _ in range(2)] if wired else []
    random.shuffle(numbers)
    numbers.append(random.choice(BUFFERS))
    numbers.append(random.choice((*BUFFERS, "374", "574", "173", "373", "573")))
    chips = [sketch.chip(number) for number in numbers]
    loop = random.choice(LOOPS)
    sketch.sources += [Source(net, 0) for name in chips for net in _storage_outputs(sketch, name)]
    _loop(sketch, loop)
    _bus(sketch, chips)
    for place, name in enumerate(chips, start=1):
        _outputs(sketch, name, place)
    for place, name in enumerate(chips, start=1):
        _inputs(sketch, name, place)
    _gated_clock(sketch)
    _extras(sketch)
    if sketch.chance(joins):
        _switches(sketch)
    if sketch.chance(joins):
        _diodes(sketch)
    if sketch.chance(timed):
        add_timers(sketch)
    if sketch.chance(bouncing):
        sketch.bounces = [name for name, part in sketch.parts.items() if part.startswith(BOUNCING)]
    return sketch.text("random-board")


def _controls(sketch: Sketch) -> None:
    """Three to six controls; the first one is the clock."""
    for number in range(sketch.random.randint(3, 6)):
        kind = sketch.random.choice(KINDS)
        name, net = f"C{number}", f"c{number}"
        match kind:
            case "port":
                sketch.nets[net] = []
                sketch.ports[net] = "in"
            case "button":
                sketch.parts[name] = "{part: push-button}"
                sketch.wire("GND", f"{name}.1")
                sketch.wire(net, f"{name}.2")
                sketch.resistor("4.7k", net, "VCC")
            case "spdt":
                sketch.parts[name] = f"{{part: spdt, positions: [UP{number}, DOWN{number}]}}"
                sketch.wire("VCC", f"{name}.1")
                sketch.wire(net, f"{name}.2")
                sketch.wire("GND", f"{name}.3")
            case "jumper":
                fixed = sketch.chance(30)
                named = "closed: 1-2" if fixed else f"positions: [UP{number}, DOWN{number}]"
                sketch.parts[name] = f"{{part: jumper, pins: 3, {named}}}"
                sketch.wire("GND" if fixed else "VCC", f"{name}.1")
                sketch.wire(net, f"{name}.2")
                sketch.wire("VCC" if fixed else "GND", f"{name}.3")
            case "rotary":
                options = (
                    "positions: 16, complement: true" if sketch.chance(50) else "positions: 10"
                )
                sketch.parts[name] = f"{{part: rotary-dip, {options}}}"
                sketch.wire("GND", f"{name}.C")
                for weight in ("1", "2", "4", "8"):
                    line = net if weight == "1" else f"{net}w{weight}"
                    sketch.wire(line, f"{name}.{weight}")
                    sketch.resistor("4.7k", line, "VCC")
                    sketch.sources += [Source(line, 0)] if line != net else []
            case "supervisor":
                # No chip has a pin of this name: in Verilog its wire could hide the module.
                _supervisor(sketch, f"SV{number}", net)
            case "crystal":
                sketch.parts[name] = "{part: crystal, frequency: 4 MHz}"
                pins = {p.name: p.number for p in part_type("04").pins}
                gate = sketch.chip("04")
                sketch.wire(net, f"{gate}.{pins['A1']}", f"{name}.1")
                sketch.wire(f"{net}far", f"{gate}.{pins['Y1']}", f"{name}.2")
                sketch.resistor("1M", net, f"{net}far")
                sketch.sources.append(Source(f"{net}far", 0))
            case "dip":
                sketch.parts[name] = "{part: dip-switch, ways: 2}"
                sketch.wire("GND", f"{name}.3", f"{name}.4")
                sketch.wire(net, f"{name}.1")
                sketch.wire(f"{net}b", f"{name}.2")
                sketch.resistor("4.7k", net, "VCC")
                sketch.resistor("4.7k", f"{net}b", "VCC")
                sketch.sources.append(Source(f"{net}b", 0))
            case _:
                sketch.parts[name] = "{part: oscillator, frequency: 1 MHz}"
                sketch.wire("GND", f"{name}.7")
                sketch.wire("VCC", f"{name}.14")
                sketch.wire(net, f"{name}.8")
        sketch.sources.append(Source(net, 0))
        sketch.clocks.append(net)


def _supervisor(sketch: Sketch, name: str, net: str) -> None:
    """A supervisor of any kind, its manual reset open or on any net there is."""
    drain, manual = sketch.chance(50), sketch.chance(50)
    options = ["output: open-drain" if drain else "output: push-pull"]
    options += ["active: high"] if sketch.chance(30) else []
    options += ["manual-reset: true"] if manual else []
    sketch.parts[name] = f"{{part: supervisor, {', '.join(options)}}}"
    sketch.wire("GND", f"{name}.1")
    sketch.wire(net, f"{name}.2")
    sketch.wire("VCC", f"{name}.{4 if manual else 3}")
    if drain:
        sketch.resistor("4.7k", net, "VCC")
    if manual and sketch.sources and sketch.chance(70):
        sketch.wire(sketch.random.choice(sketch.sources).net, f"{name}.MR_n")


def _storage_outputs(sketch: Sketch, name: str) -> list[str]:
    """Nets of the outputs that follow storage alone: everybody may read them."""
    kind = sketch.types[name]
    if kind.number not in CLOCKED or kind.number == "74":
        return []
    found = []
    for pin in kind.pins:
        if pin.kind is PinKind.OUT and not pin.name.startswith("RCO"):
            net = f"{name}_{pin.name}"
            sketch.wire(net, f"{name}.{pin.number}")
            found.append(net)
    sketch.derived += found
    return found


def _outputs(sketch: Sketch, name: str, place: int) -> None:
    for pin in sketch.types[name].pins:
        label = f"{name}.{pin.number}"
        if pin.kind.drives and label not in sketch.wired:
            net = f"{name}_{pin.name}"
            sketch.wire(net, label)
            sketch.sources.append(Source(net, place))


def _inputs(sketch: Sketch, name: str, place: int) -> None:
    kind = sketch.types[name]
    for pin in kind.pins:
        label = f"{name}.{pin.number}"
        if label in sketch.wired or pin.kind is not PinKind.IN or sketch.chance(4):
            continue
        sketch.wire(_choice(sketch, kind, pin, place), label)


def _choice(sketch: Sketch, kind: PartType, pin: PinType, place: int) -> str:
    """The net for an input."""
    random = sketch.random
    at_once = kind.number not in CLOCKED or pin.name in ("ENT",) or pin.role is Role.ENABLE
    limit = place - 1 if at_once and not sketch.chance(sketch.chaos) else 99
    before = [source.net for source in sketch.sources if source.place <= limit]
    match pin.role:
        case Role.CLOCK:
            if sketch.chance(55) or not sketch.derived:
                return sketch.clocks[0]
            return random.choice(sketch.derived if sketch.chance(60) else before)
        case Role.CLEAR | Role.PRESET | Role.LOAD | Role.WRITE if sketch.chance(60):
            return "GND" if kind.number == "173" else "VCC"
        case Role.CLEAR | Role.PRESET | Role.LOAD:
            return random.choice(sketch.clocks)
        case Role.ENABLE if sketch.chance(50):
            return "GND" if pin.name.endswith("_n") else "VCC"
        case Role.ADDRESS if sketch.chance(60):
            return random.choice(("VCC", "GND"))
        case _:
            return random.choice(before)


def _bus(sketch: Sketch, chips: list[str]) -> None:
    """Three-state and bidirectional outputs, on a bus of two lines; several on each."""
    place = len(chips)
    ends = [
        f"{name}.{pin.number}"
        for name in chips
        for pin in sketch.types[name].pins
        if pin.kind is PinKind.THREE_STATE or (pin.kind.both_ways and sketch.chance(70))
    ]
    lines = ["bus0", "bus1", "bus2"]
    by_chip: dict[str, int] = {}
    for end in ends:
        name = end.partition(".")[0]
        by_chip[name] = by_chip.get(name, -1) + 1
        if by_chip[name] < 3:
            sketch.wire(lines[by_chip[name]], end)
        elif sketch.chance(8):
            sketch.wire(sketch.random.choice(lines), end)
        elif sketch.chance(30):
            sketch.wire(f"aside{by_chip[name]}", end)
    for line in lines:
        if line not in sketch.nets:
            continue
        sketch.sources.append(Source(line, place))
        if sketch.chance(50):
            ohms = sketch.random.choice(("4.7k", "470", "1M"))
            sketch.resistor(ohms, line, "VCC" if sketch.chance(70) else "GND")
        if sketch.chance(15):
            sketch.ports[line] = "both"


def _loop(sketch: Sketch, loop: str) -> None:
    """A loop of gates that can hold a level."""
    s, r = (sketch.random.choice(sketch.sources).net for _ in range(2))
    match loop:
        case "nand" | "nor":
            name = sketch.chip("00" if loop == "nand" else "02")
            kind = sketch.types[name]
            pin = {p.name: f"{name}.{p.number}" for p in kind.pins}
            sketch.wire("q", pin["Y1"], pin["A2"])
            sketch.wire("q_n", pin["Y2"], pin["B1"])
            sketch.wire(s, pin["A1"])
            sketch.wire(r, pin["B2"])
        case "or":
            name = sketch.chip("32")
            pin = {p.name: f"{name}.{p.number}" for p in sketch.types[name].pins}
            sketch.wire("q", pin["Y1"], pin["A1"])
            sketch.wire(s, pin["B1"])
        case "select":
            name = sketch.chip("157")
            pin = {p.name: f"{name}.{p.number}" for p in sketch.types[name].pins}
            sketch.wire("q", pin["Y1"], pin["A1"])
            sketch.wire(s, pin["B1"])
            sketch.wire(r, pin["S"])
            sketch.wire("GND", pin["G_n"])
        case _:
            left, right = sketch.chip("245"), sketch.chip("245")
            pins = [
                {p.name: f"{name}.{p.number}" for p in sketch.types[name].pins}
                for name in (left, right)
            ]
            sketch.wire("q", pins[0]["A1"], pins[1]["B1"])
            sketch.wire("q_n", pins[0]["B1"], pins[1]["A1"])
            sketch.wire("VCC", pins[0]["DIR"], pins[1]["DIR"])
            sketch.wire("GND", pins[0]["G_n"])
            sketch.wire(s, pins[1]["G_n"])
            name = sketch.chip("125")
            pin = {p.name: f"{name}.{p.number}" for p in sketch.types[name].pins}
            sketch.wire("q", pin["Y1"])
            sketch.wire(r, pin["A1"])
            sketch.wire(sketch.random.choice(sketch.sources).net, pin["G1_n"])
    sketch.sources.append(Source("q", 0))


def _gated_clock(sketch: Sketch) -> None:
    """A flip-flop whose clock goes through a gate, and one that is clocked by the first."""
    gate, flop = sketch.chip(sketch.random.choice(("08", "32", "00", "02"))), sketch.chip("74")
    enable = sketch.random.choice(sketch.sources).net
    pin = {p.name: f"{name}.{p.number}" for name in (gate,) for p in sketch.types[name].pins}
    ff = {p.name: f"{flop}.{p.number}" for p in sketch.types[flop].pins}
    sketch.wire(sketch.clocks[0], pin["A1"])
    sketch.wire(enable, pin["B1"])
    sketch.wire("gated", pin["Y1"], ff["CLK1"])
    sketch.wire("half", ff["Q1"], ff["CLK2"])
    sketch.wire("half_n", ff["Q1_n"], ff["D1"])
    sketch.wire("VCC", ff["PRE1_n"], ff["PRE2_n"], ff["CLR2_n"])
    sketch.wire(sketch.random.choice(("VCC", *sketch.clocks)), ff["CLR1_n"])
    sketch.wire(sketch.random.choice(sketch.sources).net, ff["D2"])
    sketch.wire("quarter", ff["Q2"])


def _extras(sketch: Sketch) -> None:
    """Now and then: a button between two nets, a resistor in series, an input behind it."""
    # A short to a supply is no random find but a trap of its own: tests/traps.
    nets = [source.net for source in sketch.sources if source.net[0] != "c"]
    if sketch.chance(25):
        sketch.parts["CX"] = "{part: push-button}"
        a, b = sketch.random.choice(nets), sketch.random.choice(nets)
        if a != b:
            sketch.wire(a, "CX.1")
            sketch.wire(b, "CX.2")
        else:
            del sketch.parts["CX"]
    if sketch.chance(30):
        part = sketch.random.choice(("jumper, closed: true", "resistor, value: 0", "jumper"))
        sketch.parts["JX"] = f"{{part: {part}}}"
        sketch.wire(sketch.random.choice(nets), "JX.1")
        reader = sketch.chip("14")
        pin = {p.name: f"{reader}.{p.number}" for p in sketch.types[reader].pins}
        if sketch.chance(70):
            sketch.wire("linked", "JX.2", pin["A1"])
            if sketch.chance(50):
                sketch.resistor("4.7k", "linked", sketch.random.choice(("VCC", "GND")))
        else:
            sketch.wire(sketch.random.choice(nets), "JX.2")
    if sketch.chance(30):
        name = sketch.chip("14")
        sketch.resistor("100", sketch.random.choice(nets), "behind")
        pin = {p.name: f"{name}.{p.number}" for p in sketch.types[name].pins}
        sketch.wire("behind", pin["A1"])
        sketch.wire("inverted", pin["Y1"])


def _joinable(sketch: Sketch) -> list[str]:
    """Nets that may be joined: none that a control shorts to a supply."""
    return [source.net for source in sketch.sources if source.net[0] != "c"]


def _switches(sketch: Sketch) -> None:
    """A chip of analogue switches between any nets, new ones among them, and who reads those."""
    nets = _joinable(sketch)
    name, reader = sketch.chip(sketch.random.choice(SWITCHES)), sketch.chip("14")
    kind = sketch.types[name]
    for pin in kind.pins:
        label = f"{name}.{pin.number}"
        if pin.kind is PinKind.IN:
            calm = pin.role is Role.ENABLE and pin.name == "E_n" and sketch.chance(50)
            sketch.wire("GND" if calm else sketch.random.choice(sketch.sources).net, label)
        elif pin.name in kind.switch_pins and sketch.chance(55):
            fresh = sketch.random.choice(("joined0", "joined1"))
            sketch.wire(fresh if sketch.chance(45) else sketch.random.choice(nets), label)
    pins = {pin.name: f"{reader}.{pin.number}" for pin in sketch.types[reader].pins}
    for place, net in enumerate(("joined0", "joined1"), start=1):
        if net in sketch.nets:
            sketch.wire(net, pins[f"A{place}"])
            if sketch.chance(50):
                sketch.resistor("4.7k", net, sketch.random.choice(("VCC", "GND")))


def _diodes(sketch: Sketch) -> None:
    """Diodes between any nets, new ones among them, which are pulled, and who reads those."""
    random, nets = sketch.random, _joinable(sketch)
    fresh = ["wired0", "wired1", "wired2"]
    for number in range(random.randint(2, 6)):
        ends = [random.choice(fresh), random.choice(nets if sketch.chance(70) else fresh)]
        random.shuffle(ends)
        if ends[0] != ends[1]:
            sketch.parts[f"D{number}"] = "{part: diode}"
            sketch.wire(ends[0], f"D{number}.A")
            sketch.wire(ends[1], f"D{number}.K")
    reader = sketch.chip("14")
    pins = {pin.name: f"{reader}.{pin.number}" for pin in sketch.types[reader].pins}
    for place, net in enumerate(fresh, start=1):
        if net in sketch.nets:
            sketch.wire(net, pins[f"A{place}"])
            if sketch.chance(60):
                sketch.resistor("1k", net, random.choice(("VCC", "GND")))
            elif sketch.chance(50):
                sketch.resistor("10", net, random.choice(nets))


def stimuli(machine: Machine, random: Random, steps: int) -> Stimuli:
    """A random start, then one control changes a step."""
    netlist = machine.netlist
    now: dict[str, tuple[int, ...]] = {}
    for control in netlist.controls:
        now[control.name] = _position(random, control.exclusive, len(control.bits))
    start = Start(
        storage={store.label: random.getrandbits(1) for store in machine.stores},
        memories={
            memory.label: [random.getrandbits(memory.bits) for _ in range(memory.words)]
            for memory in machine.memories
            if memory.contents is None
        },
        controls=dict(now),
    )
    changes: list[Controls] = []
    clock = next(control.name for control in netlist.controls)
    for _ in range(steps):
        control = random.choice(netlist.controls)
        if random.randrange(100) < 40:
            control = next(c for c in netlist.controls if c.name == clock)
        bits = now[control.name]
        new = _position(random, control.exclusive, len(control.bits))
        if len(bits) == 1:
            new = (1 - bits[0],)
        now[control.name] = new
        changes.append({control.name: new})
    return Stimuli(start=start, changes=tuple(changes), seed=random.getrandbits(32))


def _position(random: Random, exclusive: bool, width: int) -> tuple[int, ...]:
    if exclusive and width == 2:
        return random.choice(((1, 0), (0, 1), (1, 0), (0, 1), (0, 0)))
    return tuple(random.getrandbits(1) for _ in range(width))


@st.composite
def boards(draw: st.DrawFn) -> str:
    """A board file."""
    return build(draw(st.randoms(use_true_random=False)))
