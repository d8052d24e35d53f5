"""Known after reset: textbook machines by hand, small boards by a search of all states.

By hand, from the function tables: a synchronizing input (Z. Kohavi, Switching and Finite Automata
Theory, 1970, chapter 13) takes a machine to one state from all. 74HC164: its clear empties all
eight bits. 74HC161 clears at once, 74HC163 only at a clock edge. 74HC112: J-K, with preset and
clear. 74HC373: follows its input while LE is high. Two NANDs: a low at one input sets, at the other
one resets.
"""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.reading.diagnostics import BadInput
from breadproof.verify.prove.prover import prove_board, result_names
from breadproof.verify.prove.reset import reset_results
from breadproof.verify.prove.verdict import Result
from tests.prove.boards import RESISTOR, Sketch, random_board, sketch, small
from tests.support.brute import Explorer, Key, Space

BUTTON = "{part: push-button}"
CLEAR = {"CLR": BUTTON, "R1": RESISTOR}
# The net "r" is low while CLR is pressed.
WIRED = {"r": "CLR.1 R1.1", "GND": "CLR.2", "VCC": "R1.2"}
CASES: dict[str, tuple[str, dict[str, str], str, dict[str, list[str]]]] = {
    # chips, nets, ports, what is not known of each storage
    "a shift register": ("U1:164", {"r": "U1.CLR_n", "c": "U1.CLK"}, "c", {"U1.R": []}),
    "a shift register without a clear": (
        "U1:164", {"VCC": "U1.CLR_n", "c": "U1.CLK"}, "c",
        {"U1.R": [f"U1.R[{n}]" for n in range(8)]},
    ),
    "the first half of a longer one": (
        "U1:164 U2:164",
        {"r": "U1.CLR_n", "VCC": "U2.CLR_n", "c": "U1.CLK U2.CLK", "s": "U1.Q7 U2.A U2.B"}, "c",
        {"U1.R": [], "U2.R": [f"U2.R[{n}]" for n in range(8)]},
    ),
    "a counter": ("U1:161", {"r": "U1.CLR_n", "c": "U1.CLK"}, "c", {"U1.R": []}),
    "a counter that is cleared by the clock": (
        "U1:163", {"r": "U1.CLR_n", "c": "U1.CLK"}, "c",
        {"U1.R": [f"U1.R[{n}]" for n in range(4)]},
    ),
    "a J-K flip-flop without a clear, one with": (
        "U1:112", {"c": "U1.CLK1 U1.CLK2", "r": "U1.CLR2_n", "VCC": "U1.CLR1_n"}, "c",
        {"U1.R1": ["U1.R1[0]"], "U1.R2": []},
    ),
    "a latch that the reset opens": (
        "U1:373 U2:14", {"r": "U2.A1", "n": "U2.Y1 U1.LE", "d": "U1.D0"}, "d", {"U1.L": []},
    ),
    "a latch of two NANDs": (
        "U1:00", {"r": "U1.A1", "s": "U1.B2", "q": "U1.Y1 U1.A2", "n": "U1.Y2 U1.B1"}, "s",
        {"n": []},
    ),
}  # fmt: skip


def text_of(folder: Path, name: str) -> str:
    chips, nets, ports, _ = CASES[name]
    both = {net: f"{WIRED.get(net, '')} {nets.get(net, '')}" for net in {**WIRED, **nets}}
    return sketch(folder, chips, both, ports, CLEAR).text("reset: {press: CLR}\n")


def results(folder: Path, text: str) -> dict[str, Result]:
    """The results about the reset, by what they are about."""
    path = folder / "board.yaml"
    path.write_text(text, encoding="utf-8")
    machine = load_machine(path)
    names = tuple(name for name in result_names(machine) if name.startswith("known:"))
    _, found = prove_board(machine, only=names, seconds=20) if names else (0, ())
    return {one.name.partition(":")[2]: one for one in found}


def unknown(result: Result) -> list[str]:
    """The bits that are told as not known."""
    if result.verdict == "fails":
        return sorted(result.because.partition(": ")[2].split(", "))
    assert not result.because.startswith("not known")
    return []


@pytest.mark.parametrize("name", CASES)
def test_by_hand(tmp_path: Path, name: str) -> None:
    found = results(tmp_path, text_of(tmp_path, name))
    assert {what: unknown(one) for what, one in found.items()} == CASES[name][3]
    for what, bits in CASES[name][3].items():
        assert found[what].verdict == ("fails" if bits else "holds")


def test_what_the_reset_keeps_is_not_asked_for(tmp_path: Path) -> None:
    text = text_of(tmp_path, "the first half of a longer one")
    found = results(tmp_path, text.replace("press: CLR", "press: CLR, keeps: [U2]"))
    assert {name: one.verdict for name, one in found.items()} == {"U1.R": "holds"}


def test_a_latch_of_gates_may_be_kept(tmp_path: Path) -> None:
    """The two NANDs hold what their inputs said last; the way out names their chip."""
    text = sketch(
        tmp_path, "U1:00 U2:161", {
            "r": "CLR.1 R1.1 U2.CLR_n", "GND": "CLR.2", "VCC": "R1.2", "c": "U2.CLK",
            "t": "U1.A1", "s": "U1.B2", "q": "U1.Y1 U1.A2", "n": "U1.Y2 U1.B1",
        }, "c t s", CLEAR,
    ).text("reset: {press: CLR}\n")  # fmt: skip
    found = results(tmp_path, text)
    (latch,) = (one for name, one in found.items() if name != "U2.R")
    assert latch.verdict == "fails"
    assert "if the reset is to leave it alone: 'keeps: [U1]' under 'reset:'" in latch.notes
    found = results(tmp_path, text.replace("press: CLR", "press: CLR, keeps: [U1]"))
    assert {name: one.verdict for name, one in found.items()} == {"U2.R": "holds"}


def test_gates_that_are_no_latch_keep_nothing(tmp_path: Path) -> None:
    text = text_of(tmp_path, "a latch that the reset opens")
    with pytest.raises(BadInput) as caught:
        results(tmp_path, text.replace("press: CLR", "press: CLR, keeps: [U2]"))
    assert [one.code for one in caught.value.diagnostics] == ["part-missing"]


def test_a_memory_keeps_what_it_had_and_a_reset_that_is_not_declared_is_not_asked_for(
    tmp_path: Path,
) -> None:
    nets = {**WIRED, "r": f"{WIRED['r']} U2.CLR_n", "c": "U2.CLK", "d": "U1.D", "w": "U1.WE_n",
            "a": "U2.Q U1.A0"}  # fmt: skip
    made = sketch(tmp_path, "U1:9003 U2:9001", nets, "c d w", CLEAR)
    assert results(tmp_path, made.text()) == {}
    found = results(tmp_path, made.text("reset: {press: CLR}\n"))
    assert {name: one.verdict for name, one in found.items()} == {"U2.R": "holds"}


def test_a_register_that_takes_in_a_floating_net_is_not_known(tmp_path: Path) -> None:
    # While CLR is pressed the latch is open and nobody drives its input: the level is anybody's.
    nets = {**WIRED, "r": f"{WIRED['r']} U2.A1", "n": "U2.Y1 U1.LE U3.G1_n", "d": "U3.A1",
            "x": "U3.Y1 U1.D0"}  # fmt: skip
    made = sketch(tmp_path, "U1:373 U2:14 U3:125", nets, "d", CLEAR)
    found = results(tmp_path, made.text("reset: {press: CLR}\n"))
    assert unknown(found["U1.L"]) == ["U1.L[0]"]


@pytest.mark.parametrize(("clocks", "verdict"), [(1, "fails"), (2, "holds")])
def test_a_clocked_clear_needs_a_rising_edge(tmp_path: Path, clocks: int, verdict: str) -> None:
    # The oscillator may stand high at first: then its first change is no rising edge.
    nets = {**WIRED, "r": f"{WIRED['r']} U1.CLR_n", "c": "X1.8 U1.CLK",
            "VCC": "R1.2 X1.14", "GND": "CLR.2 X1.7"}  # fmt: skip
    made = sketch(tmp_path, "U1:163", nets, "", {**CLEAR, "X1": OSCILLATOR})
    text = made.text(f"reset: {{press: CLR, clocks: {clocks}}}\n")
    found = results(tmp_path, text.replace("ports:\n", ""))
    assert {name: one.verdict for name, one in found.items()} == {"U1.R": verdict}


OSCILLATOR = "{part: oscillator, frequency: 1 MHz}"
POWER_ON = {"R1": RESISTOR, "C1": "{part: capacitor, value: 10u}"}


@pytest.mark.parametrize(("pin", "verdict"), [("U1.CLR_n", "holds"), ("U1.D0", "fails")])
def test_power_on(tmp_path: Path, pin: str, verdict: str) -> None:
    # The capacitor is empty when power comes on: its net is low, and a 74HC273 with that at its
    # clear holds zeros.
    nets = {"p": f"R1.1 C1.1 U2.A1 {'' if pin == 'U1.D0' else pin}", "c": "U1.CLK",
            "VCC": "R1.2", "GND": "C1.2"}  # fmt: skip
    made = sketch(tmp_path, "U1:273 U2:14", nets, "c", POWER_ON)
    found = results(tmp_path, made.text("reset: {first: power-on}\n"))
    assert {name: one.verdict for name, one in found.items()} == {"U1.R": verdict}


def test_a_capacitor_that_delays_the_end_of_the_reset(tmp_path: Path) -> None:
    nets = {"p": "R1.1 C1.1 CLR.1 U1.CLR_n", "c": "U1.CLK", "VCC": "R1.2",
            "GND": "C1.2 CLR.2"}  # fmt: skip
    made = sketch(tmp_path, "U1:161", nets, "c", {**POWER_ON, "CLR": BUTTON})
    found = results(tmp_path, made.text("reset: {press: CLR}\n"))
    assert found["U1.R"].verdict == "holds"


@pytest.mark.parametrize(
    ("entry", "code", "column"),
    [
        ("press: CRL", "control-missing", 16),
        ("press: c", "control-missing", 16),
        ("low: CLR", "control-missing", 14),
        ("first: clock", "control-missing", 16),
        ("keeps: [U1, U7]", "part-missing", 21),
        ("hold: CLR", "key-unknown", 9),
        ("press: CLR, clocks: many", "reset-clocks", 29),
        ("press: {a: b}", "board-shape", 16),
    ],
)
def test_what_is_no_reset(tmp_path: Path, entry: str, code: str, column: int) -> None:
    text = text_of(tmp_path, "a shift register").replace("press: CLR", entry)
    with pytest.raises(BadInput) as caught:
        results(tmp_path, text)
    (found,) = caught.value.diagnostics
    assert (found.code, found.span.column) == (code, column)


# against a search of all states -------------------------------------------------------------------


def bits(key: Key) -> dict[str, int]:
    """The bits of storage at a quiet moment of the search."""
    found: dict[str, int] = {}
    for part, units in key[1]:  # type: ignore[attr-defined]  # keys are tuples of tuples
        for unit, word in units:
            found |= {f"{part}.{unit}[{place}]": bit for place, bit in enumerate(word)}
    return found


def moved(space: Space, keys: set[Key], port: str, level: int) -> set[Key]:
    """Where the board may be once a port is at a level."""
    found: set[Key] = set()
    for key in keys:
        wanted = {**dict(key[0]), port: (level,)}  # type: ignore[call-overload]  # see bits
        found |= {step.to for step in space.steps[key] if dict(step.to[0]) == wanted}  # type: ignore[call-overload]
    return found


def open_bits(space: Space, port: str | None) -> set[str]:
    """The bits that are not the same after the reset, wherever it began with these controls."""
    groups: dict[object, set[Key]] = {}
    for key in {step.to for step in space.first}:
        others = tuple((name, one) for name, one in key[0] if name != port)  # type: ignore[attr-defined]
        groups.setdefault(others, set()).add(key)
    found: set[str] = set()
    for keys in groups.values():
        after = keys
        for level in () if port is None else (0, 1):
            after = moved(space, after, port or "", level)
        seen: dict[str, set[int]] = {}
        for key in after:
            for name, bit in bits(key).items():
                seen.setdefault(name, set()).add(bit)
        found |= {name for name, levels in seen.items() if len(levels) > 1}
    return found


def agree(machine: Machine) -> int:
    """Compare for all resets that there may be; how many bits are known after one."""
    netlist = machine.netlist
    space = Explorer(netlist, list(machine.free)).explore()
    if space.never_quiet:
        return 0
    known = 0
    ports = [control.name for control in netlist.controls if control.kind == "in"]
    for port in [*ports, None]:
        reset = ("first", "power-on") if port is None else ("low", port)
        asked = replace(machine, netlist=replace(netlist, reset=(reset,)))
        found = reset_results(asked, max(1, space.rounds), 20, ())
        stores = {store.label for store in machine.stores}
        named = {name for one in found for name in unknown(one)} & stores
        assert all(one.verdict in ("holds", "fails") for one in found)
        assert named == open_bits(space, port), (port, found)
        known += len(stores) - len(named)
    return known


def load(made: Sketch) -> Machine:
    path = made.folder / "small.yaml"
    path.write_text(made.text(), encoding="utf-8")
    return load_machine(path)


CORE = (
    "one flip-flop", "ripple", "latch of two NANDs", "bus with a pull-up", "memory",
    "preset and clear together",
)  # fmt: skip
"""All of them are in tests/long."""


@pytest.mark.parametrize("name", CORE)
def test_small_boards(tmp_path: Path, name: str) -> None:
    agree(load(small(tmp_path, name)))


def boards(folder: Path, random: Random, count: int) -> Iterator[Machine]:
    """Random boards that can be searched soon."""
    while count:
        machine = load(random_board(folder, random))
        size = len(machine.stores) + sum(len(c.bits) for c in machine.netlist.controls)
        size += sum(memory.words * memory.bits for memory in machine.memories)
        if size + 2 * len(machine.free) <= 7:
            count -= 1
            yield machine


def test_random_boards(tmp_path: Path) -> None:
    assert sum(agree(machine) for machine in boards(tmp_path, Random(5), 4)) > 0
