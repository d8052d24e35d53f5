"""A drawing of more than 100 packages as EDIF 2 0 0, written after the standard (from memory).

The lamp rack of a stage-light workshop: registers on one data bus, each with a driver and a bar of
eight lamps; decoders pick a register, gates make its enable, and a chain of exclusive ors runs over
all of them. It is written as drawing programs write: gates one by one with the package's designator
and pin numbers of their own, names that need a rename, nets and ports as arrays, properties of
several words, supply pins that no symbol shows, test pins and mounting holes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

# Pins of the data books, from memory.
REGISTER_D = (3, 4, 7, 8, 13, 14, 17, 18)
REGISTER_Q = (2, 5, 6, 9, 12, 15, 16, 19)
DRIVER_A = (2, 3, 4, 5, 6, 7, 8, 9)
DRIVER_Y = (18, 17, 16, 15, 14, 13, 12, 11)
DECODER_Y = (15, 14, 13, 12, 11, 10, 9, 7)
GATES = ((1, 2, 3), (4, 5, 6), (9, 10, 8), (12, 13, 11))
FAMILIES = ("LS", "HCT", "F", "ACT")

MAPPING = """\
# The lamp rack's symbols.
hidden-supplies: true
part-number: [Part Number]
cells:
  OR2: {part: "74LS32"}           # its part number says the family
  "CAP*": capacitor
  RES_NET: {part: resistor-network, ways: 8, isolated: true}
  LAMPS: {part: led-bar, ways: 8}
  "TESTPIN*": ignore
designators: {"MH?": ignore}
values: {"SN74HCT138N": 74HCT138}
"""


@dataclass(slots=True)
class Sketch:
    """Instances, and the ports of each net; ``wired`` are the pins that these are."""

    uses: list[str] = field(default_factory=list)
    nets: dict[str, list[str]] = field(default_factory=dict)
    packages: dict[str, str] = field(default_factory=dict)
    wired: dict[str, set[str]] = field(default_factory=dict)

    def use(self, name: str, cell: str, designator: str, more: str = "") -> None:
        self.packages[name] = designator
        self.uses.append(
            f"(instance {name} (viewRef n (cellRef {cell} (libraryRef symbols)))"
            f' (designator "{designator}"){more})'
        )

    def join(self, net: str, instance: str, *ports: int | str, pin: int = 0) -> None:
        refs = [f"(portRef {_port(port)} (instanceRef {instance}))" for port in ports]
        self.nets.setdefault(net, []).extend(refs)
        labels = {f"{self.packages[instance]}.{pin or port}" for port in ports}
        self.wired.setdefault(net, set()).update(labels)

    def chips(self) -> set[str]:
        """The designators of all chips."""
        return {name for name in self.packages.values() if name[0] == "U"}


def _port(port: int | str) -> str:
    return f"&{port}" if isinstance(port, int) else port


def rack(channels: int = 48, notes: int = 0) -> tuple[str, Sketch]:
    """The text, and what it was written from; ``notes`` properties more for each instance."""
    sketch = Sketch()
    extra = "".join(
        f' (property (rename n{k} "Note {k}") (string "checked"))' for k in range(notes)
    )
    gate = 0

    def gates(symbol: str, family: str, a: str, b: str, y: str, first: int) -> None:
        """One gate; four of them are one package."""
        nonlocal gate
        gate += 1
        package = f"U{first + (gate - 1) // 4}"
        pins = GATES[(gate - 1) % 4]
        more = "".join(
            f' (portInstance {port} (designator "{pin}"))'
            for port, pin in zip(("I0", "I1", "O"), pins, strict=True)
        )
        number = f' (property Part Number (string "74{family}{"32" if symbol == "OR2" else "86"}"))'
        name = f"g{first}_{gate}"
        sketch.use(name, symbol, package, more + number + extra)
        for port, net, pin in zip(("I0", "I1", "O"), (a, b, y), pins, strict=True):
            sketch.join(net, name, port, pin=pin)

    decoders = (channels + 7) // 8
    for channel in range(channels):
        family = FAMILIES[channel % len(FAMILIES)]
        register, driver = f"U{101 + 2 * channel}", f"U{102 + 2 * channel}"
        sketch.use(
            f"r{channel}",
            "REG377",
            register,
            f' (property Part Number (string "SN74{family}377N")){extra}',
        )
        sketch.use(
            f"d{channel}",
            "DRV541",
            driver,
            f' (property Part Number (string "74{family}541")){extra}',
        )
        sketch.use(f"n{channel}", "RES_NET", f"RN{channel + 1}", ' (property Value (string "330"))')
        sketch.use(f"l{channel}", "LAMPS", f"LB{channel + 1}", extra)
        sketch.join("load_n", f"r{channel}", 11)
        sketch.join(f"/EN{channel}", f"r{channel}", 1)
        sketch.join("GND", f"d{channel}", 1, 19)
        for bit in range(8):
            sketch.join(f"D<{bit}>", f"r{channel}", REGISTER_D[bit])
            sketch.join(f"Q{channel}<{bit}>", f"r{channel}", REGISTER_Q[bit])
            sketch.join(f"Q{channel}<{bit}>", f"d{channel}", DRIVER_A[bit])
            sketch.join(f"N${100 * channel + bit}", f"d{channel}", DRIVER_Y[bit])
            sketch.join(f"N${100 * channel + bit}", f"n{channel}", 2 * bit + 1)
            sketch.join(f"N${100 * channel + bit + 10}", f"n{channel}", 2 * bit + 2)
            sketch.join(f"N${100 * channel + bit + 10}", f"l{channel}", 16 - bit)
            sketch.join("+5V", f"l{channel}", bit + 1)
    for channel in range(channels):
        gates("OR2", "HCT", f"SEL{channel // 8}#<{channel % 8}>", "/WR", f"/EN{channel}", 300)
    gate = 0
    for channel in range(channels):
        before = f"CHAIN-{channel}" if channel else f"Q{channels - 1}<7>"
        after = f"CHAIN-{channel + 1}" if channel + 1 < channels else "odd"
        gates("XOR2", "LS", before, f"Q{channel}<0>", after, 400)
    for number in range(decoders):
        _decoder(sketch, f"c{number}", f"U{1 + number}", number, extra)
    _first_decoder(sketch, decoders, extra)
    for number in range(len(sketch.chips())):
        sketch.use(f"k{number}", "CAP100N", f"C{number + 1}", ' (property Value (string "100NF"))')
        sketch.join("+5V", f"k{number}", 1)
        sketch.join("GND", f"k{number}", 2)
    sketch.use("tp1", "TESTPIN", "TP1")
    sketch.join("load_n", "tp1", 1)
    sketch.use("mh1", "HOLE", "MH1")
    return "\n".join(_file(sketch)), sketch


def _decoder(sketch: Sketch, name: str, designator: str, number: int, extra: str) -> None:
    sketch.use(name, "DEC", designator, f' (property Part Number (string "SN74HCT138N")){extra}')
    for bit in range(3):
        sketch.join(f"A<{bit}>", name, bit + 1)
    sketch.join("GND", name, 4)
    sketch.join(f"GROUP#<{number}>", name, 5)
    sketch.join("+5V", name, 6)
    for output, pin in enumerate(DECODER_Y):
        sketch.join(f"SEL{number}#<{output}>", name, pin)


def _first_decoder(sketch: Sketch, decoders: int, extra: str) -> None:
    sketch.use("c_all", "DEC", "U50", f' (property Part Number (string "SN74HCT138N")){extra}')
    for bit in range(3):
        sketch.join(f"A<{bit + 3}>", "c_all", bit + 1)
    sketch.join("GND", "c_all", 4, 5)
    sketch.join("+5V", "c_all", 6)
    for output, pin in enumerate(DECODER_Y[:decoders]):
        sketch.join(f"GROUP#<{output}>", "c_all", pin)


CELLS = {
    "REG377": [p for p in range(1, 20) if p != 10],
    "DRV541": [p for p in range(1, 20) if p != 10],
    "DEC": [p for p in range(1, 16) if p != 8],
    "RES_NET": range(1, 17),
    "LAMPS": range(1, 17),
    "CAP100N": range(1, 3),
    "TESTPIN": range(1, 2),
    "HOLE": range(0),
}


def _file(sketch: Sketch) -> Iterator[str]:
    yield "(edif lamp_rack (edifVersion 2 0 0) (edifLevel 0) (keywordMap (keywordLevel 0))"
    yield '(status (written (timeStamp 2026 11 25 9 30 0) (author "workshop") (program "drawing")))'
    yield "(external symbols (edifLevel 0) (technology (numberDefinition))"
    for name, pins in CELLS.items():
        ports = " ".join(f"(port &{pin} (direction INOUT))" for pin in pins)
        yield f"(cell {name} (cellType GENERIC) (view n (viewType NETLIST) (interface {ports})))"
    for name in ("OR2", "XOR2"):
        ports = (
            "(port I0 (direction INPUT)) (port I1 (direction INPUT)) (port O (direction OUTPUT))"
        )
        yield f"(cell {name} (cellType GENERIC) (view n (viewType NETLIST) (interface {ports})))"
    yield ")"
    yield "(library rack (edifLevel 0) (technology (numberDefinition))"
    yield "(cell sheet (cellType GENERIC) (view n (viewType NETLIST) (interface"
    yield '(port (array (rename D "D<7:0>") 8) (direction INPUT))'
    yield '(port (array (rename A "A<5:0>") 6) (direction INPUT))'
    yield '(port (rename WR "/WR") (direction INPUT)) (port load_n (direction INPUT))'
    yield "(port odd (direction OUTPUT))) (contents"
    yield '(comment "The lamp rack of the workshop")'
    yield from sketch.uses
    own = {"/WR": "WR", "load_n": "load_n", "odd": "odd"}
    own |= {f"D<{k}>": f"(member D {7 - k})" for k in range(8)}
    own |= {f"A<{k}>": f"(member A {5 - k})" for k in range(6)}
    for number, (net, refs) in enumerate(sketch.nets.items()):
        leaving = [f"(portRef {own[net]})"] if net in own else []
        yield f'(net (rename net{number:05} "{net}") (joined'
        yield from (*leaving, *refs)
        yield "))"
    yield "))))"
    yield "(design lamp_rack (cellRef sheet (libraryRef rack))))"
