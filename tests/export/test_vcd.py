"""A trace as a value change dump: read back by the few rules of IEEE 1364-2005, 18.2."""

from pathlib import Path

from breadproof.export.vcd import STEP, vcd
from breadproof.specs.machine.trace import Trace
from breadproof.specs.machine.walk import Walker
from breadproof.specs.netlist.model import Netlist
from tests.export import boards

Walk = tuple[Netlist, Trace]


def read(text: str) -> tuple[dict[str, int], list[tuple[int, dict[str, int]]]]:
    """Widths by full name, and the values from each time on."""
    scopes: list[str] = []
    names: dict[str, str] = {}
    widths: dict[str, int] = {}
    head, _, body = text.partition("$enddefinitions $end")
    for line in head.splitlines():
        words = line.split()
        if words[:1] == ["$scope"]:
            scopes.append(words[2])
        elif words[:1] == ["$upscope"]:
            scopes.pop()
        elif words[:1] == ["$var"]:
            name = ".".join([*scopes, words[4]])
            names[words[3]] = name
            widths[name] = int(words[2])
    now: dict[str, int] = {}
    moments: list[tuple[int, dict[str, int]]] = []
    for line in body.split("\n"):
        if line.startswith("#"):
            moments.append((int(line[1:]), dict(now)))
        elif line.startswith("b"):
            value, code = line[1:].split()
            now[names[code]] = int(value, 2)
        elif line[:1] in ("0", "1"):
            now[names[line[1:]]] = int(line[0])
        if moments:
            moments[-1] = (moments[-1][0], dict(now))
    return widths, moments


def traced(folder: Path, text: str, changes: list[dict[str, tuple[int, ...]]]) -> Walk:
    machine = boards.machine_of(folder, text)
    walker = Walker(machine)
    steps = [walker.power_up(), *(walker.step(change) for change in changes)]
    return machine.netlist, Trace(storage={}, words={}, loops={}, steps=tuple(steps))


def at(moments: list[tuple[int, dict[str, int]]], time: int) -> dict[str, int]:
    return next(values for start, values in reversed(moments) if start <= time)


def test_every_round_of_every_step_is_in_the_dump(tmp_path: Path) -> None:
    netlist, trace = traced(tmp_path, boards.GATED, [{"wish": (1,)}, {"CK": (1,)}, {"CK": (0,)}])
    widths, moments = read(vcd(netlist, trace))
    assert widths["gated.nets.n[3:0]"] == 4
    assert widths["gated.controls.CK"] == 1
    assert moments[-1][0] == len(trace.steps) * STEP
    assert len(trace.steps[2].rounds) == 3
    for number, step in enumerate(trace.steps):
        for position, one in enumerate(step.rounds):
            seen = at(moments, number * STEP + position * STEP // len(step.rounds))
            assert (seen["gated.step"], seen["gated.round"]) == (number, position)
            assert seen["gated.nets.gated"] == one.nets["gated"]
            count = sum(one.nets[f"n[{bit}]"] << bit for bit in range(4))
            assert seen["gated.nets.n[3:0]"] == count
            assert (seen["gated.controls.CK"],) == step.controls["CK"]


def test_a_port_that_others_drive_is_shown_with_who_drives(tmp_path: Path) -> None:
    netlist, trace = traced(tmp_path, boards.MEMORY, [{"d": (1, 1, 0, 1, 0, 0, 1, 0, 1)}])
    widths, moments = read(vcd(netlist, trace))
    assert widths["memory.controls.d"] == 8
    assert at(moments, 0)["memory.controls.d_outside"] == 0
    seen = at(moments, STEP)
    assert (seen["memory.controls.d_outside"], seen["memory.controls.d"]) == (1, 0xA5)
    assert seen["memory.nets.d[7:0]"] == 0xA5


def test_switch_positions_are_bits_of_their_own_and_the_dump_has_no_date(tmp_path: Path) -> None:
    netlist, trace = traced(tmp_path, boards.CHANGEOVER, [{"S1": (0, 1)}])
    text = vcd(netlist, trace)
    widths, moments = read(text)
    assert widths["changeover.controls.S1_HIGH"] == 1
    assert at(moments, STEP)["changeover.controls.S1_HIGH"] == 1
    assert text == vcd(netlist, trace)
    assert "$date (none: the same run gives the same file) $end" in text
