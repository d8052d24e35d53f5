"""Random pairs of revisions: small boards of gates and flip-flops, rewired."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from random import Random

GATES = {"NAND": "00", "AND": "08", "OR": "32", "XOR": "86"}
INPUTS = ("go", "dim", "all")


@dataclass(frozen=True, slots=True)
class Gate:
    """One gate, in a chip of its own."""

    name: str
    kind: str
    a: str
    b: str


@dataclass(frozen=True, slots=True)
class Sketch:
    """Gates in order, what the four flip-flops of a 175 take in, and what the two ports show.

    ``memory``, if it is not empty, is what an 89 takes in: two address bits and a bit to store;
    what it reads is the net m0. ``late`` is the number of flip-flops (of a 74) in a row behind each
    port; the row of ``full`` then fills with ones.
    """

    gates: tuple[Gate, ...]
    data: tuple[str, ...]
    shown: tuple[str, ...]
    memory: tuple[str, ...] = ()
    late: int = 0

    def text(self, title: str) -> str:
        """The board file."""
        nets: dict[str, list[str]] = {name: [] for name in (*INPUTS, "beat", "clear_n")}
        parts = ["  U1: 74LS175"]
        supply, ground = ["U1.16"], ["U1.8"]
        nets["beat"].append("U1.9")
        nets["clear_n"].append("U1.1")
        pins = ((4, 2), (5, 7), (12, 10), (13, 15))
        for number, ((d, q), source) in enumerate(zip(pins, self.data, strict=True)):
            nets.setdefault(f"q{number}", []).append(f"U1.{q}")
            nets.setdefault(source, []).append(f"U1.{d}")
        if self.memory:
            parts += ["  U2: 7489", "  R1: {part: resistor, value: 1k}"]
            supply += ["U2.16", "R1.1"]
            ground += [f"U2.{number}" for number in (8, 2, 13, 14, 6, 10, 12)]
            nets["store_n"] = ["U2.3"]
            nets.setdefault("m0", []).extend(["U2.5", "R1.2"])
            for net, pin in zip(self.memory, (1, 15, 4), strict=True):
                nets.setdefault(net, []).append(f"U2.{pin}")
        for gate in self.gates:
            chip = gate.name.upper()
            parts.append(f"  {chip}: 74LS{GATES[gate.kind]}")
            supply.append(f"{chip}.14")
            ground += [f"{chip}.{number}" for number in (7, 4, 5, 9, 10, 12, 13)]
            for net, pin in ((gate.a, 1), (gate.b, 2), (gate.name, 3)):
                nets.setdefault(net, []).append(f"{chip}.{pin}")
        if self.late:
            self.rows(parts, supply, ground, nets)
        for number, net in enumerate(self.shown, start=1):
            nets[net].append(f"J1.{number}")
        lines = [f"board: {title}", "parts:", *parts, "  J1: {part: connector, pins: 2}", "nets:"]
        lines += [f"  VCC: [{', '.join(supply)}]", f"  GND: [{', '.join(ground)}]"]
        lines += [f"  {net}: [{', '.join(pins)}]" for net, pins in nets.items() if pins]
        names = (*INPUTS, "beat", "clear_n", "store_n")
        ports = [f"{name}: in" for name in names if nets.get(name)]
        ports += [f"{net}: out" for net in dict.fromkeys(self.shown)]
        ports += ["full: out"] * bool(self.late)
        return "\n".join([*lines, f"ports: {{{', '.join(ports)}}}"]) + "\n"

    def rows(
        self, parts: list[str], supply: list[str], ground: list[str], nets: dict[str, list[str]]
    ) -> None:
        """Add the flip-flops behind the ports."""
        for net in ("full", *dict.fromkeys(self.shown)):
            if net in nets:
                nets[f"{net}_now"] = nets.pop(net)
            for place in range(1, self.late + 1):
                chip = f"F{place}_{net}"
                parts.append(f"  {chip}: 74LS74")
                supply += [f"{chip}.{number}" for number in (14, 1, 4, 10, 13)]
                ground += [f"{chip}.{number}" for number in (7, 11, 12)]
                nets["beat"].append(f"{chip}.3")
                before = f"{net}_{place - 1}" if place > 1 else f"{net}_now"
                if before in nets:
                    nets[before].append(f"{chip}.2")
                else:
                    supply.append(f"{chip}.2")
                nets[net if place == self.late else f"{net}_{place}"] = [f"{chip}.5"]


def sketch(random: Random) -> Sketch:
    """A board; the ports show gates, never inputs."""
    nets = [*INPUTS, "q0", "q1", "q2", "q3"]
    memory = tuple(random.sample(nets, 3)) if random.random() < 0.5 else ()
    nets += ["m0"] * bool(memory)
    gates: list[Gate] = []
    for number in range(random.randint(4, 6)):
        gate = Gate(f"g{number}", random.choice(list(GATES)), *random.sample(nets, 2))
        gates.append(gate)
        nets.append(gate.name)
    names = [gate.name for gate in gates]
    data = tuple(random.choice(nets) for _ in range(4))
    return Sketch(tuple(gates), data, (names[-1], names[-2]), memory)


def rewritten(old: Sketch, random: Random) -> Sketch:
    """Another board that does the same, by one law of Boolean algebra (G. Boole 1854; De Morgan):

    XOR of a and b is NAND(NAND(a, n), NAND(b, n)) with n = NAND(a, b); OR is the NAND of the
    negated; AND is the negated NAND; NAND is the OR of the negated. NAND(a, a) is the negation.
    """
    place = random.randrange(len(old.gates))
    gate = old.gates[place]
    name, a, b = gate.name, gate.a, gate.b
    x, y, z = f"{name}x", f"{name}y", f"{name}z"
    new = {
        "XOR": (Gate(x, "NAND", a, b), Gate(y, "NAND", a, x), Gate(z, "NAND", x, b),
                Gate(name, "NAND", y, z)),
        "OR": (Gate(x, "NAND", a, a), Gate(y, "NAND", b, b), Gate(name, "NAND", x, y)),
        "AND": (Gate(x, "NAND", a, b), Gate(name, "NAND", x, x)),
        "NAND": (Gate(x, "NAND", a, a), Gate(y, "NAND", b, b), Gate(name, "OR", x, y)),
    }[gate.kind]  # fmt: skip
    return replace(old, gates=(*old.gates[:place], *new, *old.gates[place + 1 :]))


def miswired(old: Sketch, random: Random) -> Sketch:
    """The board with one input on another net, or one gate in another's place."""
    if old.memory and random.random() < 0.3:
        nets = [*INPUTS, "q0", "q1", "q2", "q3"]
        place = random.randrange(3)
        memory = (*old.memory[:place], random.choice(nets), *old.memory[place + 1 :])
        return replace(old, memory=memory)
    place = random.randrange(len(old.gates) + len(old.data))
    if place >= len(old.gates):
        data = list(old.data)
        nets = [*INPUTS, "q0", "q1", "q2", "q3", *(gate.name for gate in old.gates)]
        data[place - len(old.gates)] = random.choice(nets)
        return replace(old, data=tuple(data))
    nets = [*INPUTS, "q0", "q1", "q2", "q3", *(gate.name for gate in old.gates[:place])]
    gate = old.gates[place]
    changed = random.choice(
        [
            replace(gate, a=random.choice(nets)),
            replace(gate, b=random.choice(nets)),
            replace(gate, kind=random.choice(list(GATES))),
        ]
    )
    return replace(old, gates=(*old.gates[:place], changed, *old.gates[place + 1 :]))


def joined(
    folder: Path,
    old: Path,
    new: Path,
    controls: list[str],
    ports: list[str],
    content: str = "",
    when: str = "",
) -> Path:
    """A file that joins both boards into one, controls moving alike, with a formula for each port
    that says that it is the same, ``when`` that is asked; ``content`` is a condition for the first
    step."""
    begin = f"({content}) -> " if content else ""
    while_ = f"{when} -> " if when else ""
    lines = [
        "board: joined",
        f"boards: {{old: {old.name}, new: {new.name}}}",
        "joins:",
        "  - old.VCC to new.VCC",
        "  - old.GND to new.GND",
        "together:",
        *(f"  - [old.{name}, new.{name}]" for name in controls),
        "assume:",
        *(f'  same-{n}: {{says: alike, formula: "always (old.{n} == new.{n})"}}' for n in controls),
        "assert:",
        *(
            f'  {n}: {{says: alike, formula: "{begin}always ({while_}old.{n} == new.{n})"}}'
            for n in ports
        ),
    ]
    path = folder / "joined.yaml"
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path
