"""A wrapped board in a world that bounces does what the Machine does, step by step.

The Machine is walked with numbers (`specs/machine/walk.py`), which shares nothing with the wrapper
and the modules; it is itself held against two other evaluators elsewhere.
"""

from itertools import pairwise
from pathlib import Path

import pytest
from amaranth.sim import Simulator

from breadproof.export.amaranth_file import generate
from breadproof.export.fpga.feeds import Feed
from breadproof.export.fpga.rates import step_clocks
from breadproof.export.fpga.wrapper import Wrapper, round_clocks, tick_clocks
from tests.export.boards import GATED, LATCH, RIPPLE
from tests.fpga.boards import LOOK_UP, PAD, machine_of
from tests.fpga.world import World, contacts

BOARDS = {"latch": LATCH, "gated": GATED, "look-up": LOOK_UP, "pad": PAD}


@pytest.mark.parametrize("name", BOARDS)
def test_each_step_is_the_machines(name: str, tmp_path: Path) -> None:
    machine = machine_of(tmp_path, BOARDS[name])
    world = World(machine, contacts(machine, 5), seed=1)
    world.run(1500, rate=0.05)
    assert len(world.handed) > 15
    moved = {control for _, control, _ in world.handed}
    assert moved == {control.name for control in machine.netlist.controls}


def test_a_read_takes_a_clock_of_its_own(tmp_path: Path) -> None:
    """Two tables in a row, then the tick's own; counted by hand."""
    for text, clocks in ((LOOK_UP, 3), (LATCH, 1)):
        netlist = machine_of(tmp_path, text).netlist
        assert tick_clocks(netlist, generate(netlist).lowered) == clocks


def test_reads_that_come_too_late_are_noticed(tmp_path: Path) -> None:
    """That this test can fail: with one clock a tick the register takes what was there before."""
    machine = machine_of(tmp_path, LOOK_UP)
    world = World(machine, contacts(machine, 0), seed=1)
    world.wrapper.clocks = 1
    with pytest.raises(AssertionError):
        world.run(400, rate=0.2)


def test_short_pulses_never_get_in(tmp_path: Path) -> None:
    """A contact that never lies still is never believed; one that does is, however it bounced."""
    machine = machine_of(tmp_path, LATCH)
    wrapper = World(machine, contacts(machine, 8), seed=1).wrapper
    seen: list[int] = []

    async def bench(context):  # type: ignore[no-untyped-def]
        pin = wrapper.raw["SET"]
        for clock in range(400):
            context.set(pin, (clock // 8) & 1 if clock < 300 else 1)
            seen.append(context.get(wrapper.levels["SET"]))
            await context.tick()

    simulator = Simulator(wrapper)
    simulator.add_clock(1e-6)
    simulator.add_testbench(bench)
    simulator.run()
    assert not any(seen[:300])
    assert seen[-1] == 1


def test_a_switch_with_one_pin_is_always_in_a_position(tmp_path: Path) -> None:
    machine = machine_of(tmp_path, PAD)
    feeds = [
        Feed(control=c, source="pins", wait=3, single=1 if c.name == "MODE" else None)
        for c in machine.netlist.controls
    ]
    world = World(machine, feeds, seed=2)
    world.run(600, rate=0.08)
    assert {bits for _, name, bits in world.handed if name == "MODE"} == {(0, 1), (1, 0)}


def test_a_fixed_control_stays_where_it_is(tmp_path: Path) -> None:
    machine = machine_of(tmp_path, GATED)
    feeds = [
        Feed(control=c, source="fixed", levels=(1,))
        if c.name == "wish"
        else Feed(control=c, source="pins", wait=2)
        for c in machine.netlist.controls
    ]
    world = World(machine, feeds, seed=3)
    world.run(600, rate=0.1)
    assert world.controls is not None
    assert world.controls["wish"] == (1,)
    assert {name for _, name, _ in world.handed} == {"CK"}


def clock_feeds(world_of: Path, text: str, clock: Feed) -> World:
    machine = machine_of(world_of, text)
    feeds = [
        clock if c.name == clock.control.name else Feed(control=c, source="pins", wait=0)
        for c in machine.netlist.controls
    ]
    return World(machine, feeds, seed=4)


def test_a_divider_as_fast_as_is_allowed_loses_no_edge(tmp_path: Path) -> None:
    """While another control moves all the time. The gated board takes 4 rounds a step: the enable
    follows a clock's edge, and the edge behind the gate follows the enable (counted by hand: edge,
    enable, gated clock's effect, nothing more)."""
    machine = machine_of(tmp_path, GATED)
    control = next(c for c in machine.netlist.controls if c.name == "CK")
    lowered = generate(machine.netlist).lowered
    half = 2 * step_clocks(round_clocks(machine.netlist, lowered), 4)
    world = clock_feeds(tmp_path, GATED, Feed(control=control, source="divider", half=half))
    world.run(40 * half, rate=0.5)
    edges = [clock for clock, name, _ in world.handed if name == "CK"]
    levels = [bits for _, name, bits in world.handed if name == "CK"]
    assert levels == [(1 - place % 2,) for place in range(len(levels))]
    assert all(abs(b - a - half) < half / 2 for a, b in pairwise(edges))
    assert len(edges) >= 38
    assert any(name == "wish" for _, name, _ in world.handed)


def test_a_free_clock_goes_on_whenever_the_board_is_quiet(tmp_path: Path) -> None:
    machine = machine_of(tmp_path, RIPPLE)
    world = clock_feeds(tmp_path, RIPPLE, Feed(control=machine.netlist.controls[0], source="free"))
    world.run(200)
    gaps = {b[0] - a[0] for a, b in pairwise(world.handed)}
    # A tick a round; at least three rounds until quiet is known, at most 4 + 2.
    assert gaps <= {3, 4, 5, 6}
    assert len(world.handed) > 30


def test_a_press_is_one_clock(tmp_path: Path) -> None:
    machine = machine_of(tmp_path, RIPPLE)
    feed = Feed(control=machine.netlist.controls[0], source="step", wait=4)
    world = clock_feeds(tmp_path, RIPPLE, feed)
    presses = 0

    def count(context, wrapper: Wrapper, clock: int) -> None:  # type: ignore[no-untyped-def]
        nonlocal presses
        pressed = (clock // 60) % 2 == 1 and clock < 600
        presses += clock % 60 == 0 and pressed
        context.set(wrapper.raw["CK"], int(pressed))

    world.run(700, rate=0.0, watch=count)
    assert presses == 5
    assert [bits for _, _, bits in world.handed] == [(1,), (0,)] * presses


def test_two_positions_at_once_are_none(tmp_path: Path) -> None:
    """Both contacts of a change-over switch closed: a fault, of which the Machine knows nothing."""
    machine = machine_of(tmp_path, PAD)
    world = World(machine, contacts(machine, 2), seed=1)

    def both(context, wrapper: Wrapper, clock: int) -> None:  # type: ignore[no-untyped-def]
        context.set(wrapper.raw["MODE"], 0b11 if clock > 100 else 0b01)
        world.pins["MODE"] = 0b11 if clock > 100 else 0b01
        world.still["MODE"].add(world.pins["MODE"])

    world.run(300, rate=0.0, watch=both)
    assert world.controls is not None
    assert world.controls["MODE"] == (0, 0)
