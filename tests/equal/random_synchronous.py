"""Random boards with one clock: flip-flops and counters, whose clocks are gated here and there.

Some are synchronous; of the others a clear, an enable or an edge comes where no single clock can
follow.
"""

from __future__ import annotations

from random import Random

CLOCKED = {
    "163": (["CLR_n", "LD_n", "ENP", "ENT", "D0", "D1", "D2", "D3"], ["Q0", "Q1", "Q3", "RCO"]),
    "161": (["CLR_n", "LD_n", "ENP", "ENT", "D0", "D1", "D2", "D3"], ["Q0", "Q2", "RCO"]),
    "174": (["CLR_n", "D0", "D1", "D2", "D3", "D4", "D5"], ["Q0", "Q1", "Q2", "Q5"]),
    "377": (["G_n", "D0", "D1", "D2", "D3"], ["Q0", "Q1", "Q2", "Q3"]),
}
"""Inputs, the clock aside, and some of the outputs, of chips that capture as the clock rises."""
SUPPLY = {"163": ("8", "16"), "161": ("8", "16"), "174": ("8", "16"), "377": ("10", "20")}
GATES = {
    "08": ["A1", "B1"],
    "32": ["A1", "B1"],
    "00": ["A1", "B1"],
    "86": ["A1", "B1"],
    "04": ["A1"],
}


def board(seed: int) -> str:
    """A board file; no net but a supply joins two outputs, and gates stand in a row."""
    dice = Random(seed)
    parts = ["  CK: {part: oscillator, frequency: 1 Hz}"]
    pins: dict[str, list[str]] = {"GND": ["CK.7"], "VCC": ["CK.14"], "clk": ["CK.8"]}
    ports = [f"p{n}" for n in range(3)]
    pins |= {port: [] for port in ports}
    sources = [*ports, "VCC", "GND"]
    chips = [(f"U{n}", dice.choice(sorted(CLOCKED))) for n in range(dice.randint(2, 3))]
    for name, number in chips:
        for output in CLOCKED[number][1]:
            if output != "RCO":
                pins[f"{name}_{output}"] = [f"{name}.{output}"]
                sources.append(f"{name}_{output}")
    clocks = ["clk", "clk", "clk"]
    for n in range(dice.randint(2, 5)):
        name, number = f"G{n}", dice.choice(sorted(GATES))
        parts.append(f"  {name}: 74LS{number}")
        pins["GND"].append(f"{name}.7")
        pins["VCC"].append(f"{name}.14")
        gates_clock = dice.random() < 0.4
        for place, pin in enumerate(GATES[number]):
            net = dice.choice(clocks) if gates_clock and place == 0 else dice.choice(sources)
            pins[net].append(f"{name}.{pin}")
        pins[f"{name}_Y"] = [f"{name}.Y1"]
        (clocks if gates_clock else sources).append(f"{name}_Y")
    for name, number in chips:
        parts.append(f"  {name}: 74LS{number}")
        ground, supply = SUPPLY[number]
        pins["GND"].append(f"{name}.{ground}")
        pins["VCC"].append(f"{name}.{supply}")
        pins[dice.choice(clocks)].append(f"{name}.CLK")
        for pin in CLOCKED[number][0]:
            tied = pin == "CLR_n" and dice.random() < 0.7
            pins["VCC" if tied else dice.choice(sources)].append(f"{name}.{pin}")
    nets = [f"  {name}: [{', '.join(joined)}]" for name, joined in pins.items() if joined]
    used = [port for port in ports if pins[port]]
    head = [f"board: random-{seed}", "together: all", "parts:", *parts, "nets:", *nets]
    return "\n".join(
        [*head, *(["ports:", *(f"  {port}: in" for port in used)] if used else []), ""]
    )
