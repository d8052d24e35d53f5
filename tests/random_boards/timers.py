"""Parts that take their time, for random boards: monostables, timers, capacitors; and flip-flops
that are triggered by a pulse. They are put in last, and chips that stand already read them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from breadproof.specs.catalogue.part import PinKind

if TYPE_CHECKING:
    from tests.random_boards.boards import Sketch

MONOSTABLES = ("121", "122", "123", "221", "423", "4538")
PULSE_TRIGGERED = ("73", "76", "107")


def add_timers(sketch: Sketch) -> None:
    """One to three of them at any nets."""
    for number in range(sketch.random.randint(1, 3)):
        match sketch.random.choice(("monostable", "pulsed", "timer", "charged")):
            case "monostable":
                _anywhere(sketch, sketch.chip(sketch.random.choice(MONOSTABLES)))
            case "pulsed":
                _anywhere(sketch, sketch.chip(sketch.random.choice(PULSE_TRIGGERED), "TTL"))
            case "timer":
                _timer(sketch, number)
            case _:
                _charged(sketch, number)


def _any_net(sketch: Sketch) -> str:
    return sketch.random.choice(sketch.sources).net


def _anywhere(sketch: Sketch, name: str) -> None:
    """Inputs from any nets, outputs on nets of their own that others read."""
    for pin in sketch.types[name].pins:
        label = f"{name}.{pin.number}"
        if pin.kind is PinKind.IN and not sketch.chance(5):
            tied = sketch.chance(40) and "CLK" not in pin.name
            high = pin.name.endswith("_n") == sketch.chance(70)
            sketch.wire(("VCC" if high else "GND") if tied else _any_net(sketch), label)
        elif pin.kind is PinKind.OUT and not sketch.chance(20):
            sketch.wire(f"{name}_{pin.name}", label)
            _reads(sketch, f"{name}_{pin.name}")


def _reads(sketch: Sketch, net: str) -> None:
    """An input that stands already, of any chip, is moved to a net."""
    inputs = {
        f"{name}.{pin.number}"
        for name, kind in sketch.types.items()
        for pin in kind.pins
        if pin.kind is PinKind.IN
    }
    places = [
        (old, label)
        for old, labels in sketch.nets.items()
        for label in labels
        if label in inputs and old not in ("VCC", "GND")
    ]
    if places and sketch.chance(60):
        old, label = sketch.random.choice(places)
        sketch.nets[old].remove(label)
        sketch.nets.setdefault(net, []).append(label)


def _capacitor(sketch: Sketch, net: str, rail: str = "GND") -> None:
    name = f"CAP{sum(part.startswith('CAP') for part in sketch.parts) + 1}"
    sketch.parts[name] = "{part: capacitor, value: 10u}"
    sketch.wire(net, f"{name}.1")
    sketch.wire(rail, f"{name}.2")


def _timer(sketch: Sketch, number: int) -> None:
    """A 555 that runs freely, or is triggered by any net."""
    name = sketch.chip("555")
    pin = {p.name: f"{name}.{p.number}" for p in sketch.types[name].pins}
    cap, out = f"cap{number}", f"tick{number}"
    sketch.wire("VCC" if sketch.chance(60) else _any_net(sketch), pin["RESET_n"])
    sketch.wire(cap, pin["THRES"])
    sketch.wire(out, pin["OUT"])
    if sketch.chance(50):
        sketch.wire(cap, pin["TRIG_n"])
        sketch.wire(f"dis{number}", pin["DISCH"])
        sketch.resistor("1k", f"dis{number}", "VCC")
        sketch.resistor("10k", cap, f"dis{number}")
    else:
        sketch.wire(_any_net(sketch), pin["TRIG_n"])
        sketch.wire(cap, pin["DISCH"])
        sketch.resistor("10k", cap, "VCC")
    _capacitor(sketch, cap)
    _reads(sketch, out)


def _charged(sketch: Sketch, number: int) -> None:
    """A resistor from anywhere and a capacitor, with a reader, and perhaps a contact or a diode."""
    net = f"slow{number}"
    reader = sketch.chip("14")
    pin = {p.name: f"{reader}.{p.number}" for p in sketch.types[reader].pins}
    sketch.wire(net, pin["A1"])
    sketch.wire(f"{net}_n", pin["Y1"])
    ohms = sketch.random.choice(("100", "1k", "10k", "100k"))
    sketch.resistor(ohms, net, sketch.random.choice(("VCC", "GND", _any_net(sketch))))
    _capacitor(sketch, net, "VCC" if sketch.chance(30) else "GND")
    if sketch.chance(50):
        sketch.parts[f"TAP{number}"] = "{part: push-button}"
        sketch.wire(net, f"TAP{number}.1")
        far = sketch.random.choice(("GND", f"{net}far", _joinable_net(sketch)))
        sketch.wire(far, f"TAP{number}.2")
        if far == f"{net}far":
            sketch.wire(far, pin["A2"])
            if sketch.chance(30):
                sketch.resistor("1k", far, sketch.random.choice(("VCC", "GND")))
    if sketch.chance(25):
        sketch.parts[f"DC{number}"] = "{part: diode}"
        ends = [net, _joinable_net(sketch)]  # at a supply it would be a short: tests/traps
        sketch.random.shuffle(ends)
        sketch.wire(ends[0], f"DC{number}.A")
        sketch.wire(ends[1], f"DC{number}.K")
    _reads(sketch, f"{net}_n")


def _joinable_net(sketch: Sketch) -> str:
    """A net that no control shorts to a supply."""
    return sketch.random.choice([s.net for s in sketch.sources if s.net[0] != "c"])
