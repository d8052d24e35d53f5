"""The exported modules on boards whose levels are worked out by hand from data-book functions."""

from pathlib import Path

import pytest

from breadproof.export.simulate import Bench, NotQuiet, PinLevel
from tests.export import boards


def bench(folder: Path, text: str) -> Bench:
    return Bench(boards.netlist_of(folder, text))


def levels(run: Bench, names: str, **controls: tuple[int, ...]) -> list[int]:
    """The levels of nets at the quiet moment after a change of controls."""
    last = run.step(controls)[-1]
    assert not last.unsettled
    return [last.nets[name] for name in names.split()]


def test_latch_of_two_nands_sets_keeps_and_clears(tmp_path: Path) -> None:
    """NAND of the data book: a low input makes a high output; both gates hold each other."""
    run = bench(tmp_path, boards.LATCH)
    assert levels(run, "q q_n", SET=(1,)) == [1, 0]
    assert levels(run, "s_n q q_n", SET=(0,)) == [1, 1, 0]
    assert levels(run, "q q_n", RST=(1,)) == [0, 1]
    assert levels(run, "r_n q q_n", RST=(0,)) == [1, 0, 1]
    assert levels(run, "q q_n", RST=(1,), SET=(1,)) == [1, 1]


def test_latch_released_in_a_race_takes_a_stable_level(tmp_path: Path) -> None:
    run = bench(tmp_path, boards.LATCH)
    levels(run, "q", RST=(1,), SET=(1,))
    q, q_n = levels(run, "q q_n", RST=(0,), SET=(0,))
    assert q != q_n


@pytest.mark.parametrize("level", [0, 1])
def test_latch_keeps_either_level_it_is_started_with(tmp_path: Path, level: int) -> None:
    run = bench(tmp_path, boards.LATCH)
    (held,) = run.lowered.held
    q = [net.name for net in run.netlist.nets].index("q")
    q_n = [net.name for net in run.netlist.nets].index("q_n")
    assert held.net in (q, q_n)
    run.set_loops({held.net: level if held.net == q else 1 - level}, {})
    assert levels(run, "q q_n") == [level, 1 - level]


def test_ripple_counter_counts_and_takes_a_round_for_each_stage(tmp_path: Path) -> None:
    """A 74 captures on the rising edge: stage 1 toggles when q0_n rises, so the pair counts up.

    Rounds: the edge; the new q0; if q0 fell, the new q1 as well.
    """
    run = bench(tmp_path, boards.RIPPLE)
    run.step()
    seen = []
    for _ in range(5):
        rounds = run.step({"CK": (1,)})
        last = rounds[-1].nets
        seen.append((last["q1"], last["q0"], len(rounds)))
        assert len(run.step({"CK": (0,)})) == 1
    assert seen == [(0, 1, 2), (1, 0, 3), (1, 1, 2), (0, 0, 3), (0, 1, 2)]


def test_no_edge_is_seen_at_power_up(tmp_path: Path) -> None:
    run = bench(tmp_path, boards.RIPPLE)
    run.set_storage({"U1.R1[0]": 1, "U1.R2[0]": 1})
    rounds = run.step({"CK": (1,)})
    assert len(rounds) == 1
    assert (rounds[-1].nets["q0"], rounds[-1].nets["q1"]) == (1, 1)


@pytest.mark.parametrize("level", [0, 1])
def test_transceivers_face_to_face_keep_what_was_driven(tmp_path: Path, level: int) -> None:
    """245: DIR high drives B from A, low A from B; both enabled they hold each other's level."""
    run = bench(tmp_path, boards.TRANSCEIVERS)
    assert levels(run, "a b", off1=(0,), off2=(1,), a=(1, level)) == [level, level]
    assert run.drives()["U1.18"] == PinLevel(level=level, drives=True)
    assert not run.drives()["U2.2"].drives
    assert levels(run, "a b", off1=(0,), off2=(0,), a=(0, 0)) == [level, level]
    assert run.drives()["U2.2"] == PinLevel(level=level, drives=True)
    assert levels(run, "a b", a=(0, 1 - level)) == [level, level]


def test_net_that_two_drive_reads_what_each_reader_likes(tmp_path: Path) -> None:
    """Two at once are a fight, whatever their values (design.md, section 4)."""
    run = bench(tmp_path, boards.TRANSCEIVERS)
    levels(run, "a", off1=(0,), off2=(1,), a=(1, 1))
    run.set_free({"U1.2": 0, "a": 1})
    assert levels(run, "a b", off2=(0,)) == [1, 0]


def test_open_collectors_share_a_net(tmp_path: Path) -> None:
    """Wired AND (common practice): low if any output conducts; a lone one can float."""
    run = bench(tmp_path, boards.WIRED_AND)
    run.set_free({"lone": 1, "U1.12": 0})
    table = {(0, 0): 1, (0, 1): 0, (1, 0): 0, (1, 1): 0}
    for (x, y), expected in table.items():
        assert levels(run, "both", x=(x,), y=(y,)) == [expected]
        assert run.drives()["U1.3"] == PinLevel(level=0, drives=bool(x))
    # A3 and B3 are open, so Y3 conducts: low. Its reader U1.12 then makes Y4 let go.
    assert levels(run, "lone") == [0]
    assert not run.drives()["U1.11"].drives


def test_memory_keeps_what_is_written(tmp_path: Path) -> None:
    """6116: written while WE_n is low (CS_n is), read while OE_n is low and WE_n high."""
    run = bench(tmp_path, boards.MEMORY)
    quiet = {"we_n": (1,), "oe_n": (1,), "d": (0,) * 9}
    for address, word in ((0, 0xA5), (1, 0x3C), (2, 0xFF), (3, 0x01)):
        place = (address >> 1, address & 1)
        outside = (1, *(int(bit) for bit in f"{word:08b}"))
        run.step({**quiet, "a": place, "d": outside})
        rounds = run.step({"we_n": (0,)})
        assert rounds[0].writes == ("U1",)
        run.step({"we_n": (1,)})
        assert run.word("U1.M", address) == word
    run.step(quiet)
    for address, word in ((3, 0x01), (0, 0xA5), (2, 0xFF), (1, 0x3C)):
        run.step({"a": (address >> 1, address & 1), "oe_n": (0,)})
        nets = run.levels()
        assert sum(nets[f"d[{bit}]"] << bit for bit in range(8)) == word
    assert not run.step({"oe_n": (1,)})[-1].writes


def test_memory_whose_address_moves_while_it_writes_writes_both_words(tmp_path: Path) -> None:
    run = bench(tmp_path, boards.MEMORY)
    run.step({"we_n": (0,), "oe_n": (1,), "d": (1, *(1,) * 8), "a": (0, 0)})
    run.step({"a": (1, 0)})
    assert [run.word("U1.M", address) for address in range(4)] == [0xFF, 0, 0xFF, 0]


def test_changeover_switch_between_its_positions_leaves_a_choice(tmp_path: Path) -> None:
    run = bench(tmp_path, boards.CHANGEOVER)
    run.step({"S1": (0, 1), "S2": (1, 0)})
    for choice in (0, 1):
        run.set_free({"U1.1": choice})
        names = "not_bare pulled not_pulled"
        assert levels(run, names, S1=(0, 0), S2=(0, 0)) == [1 - choice, 1, 0]
    assert levels(run, "bare not_bare", S1=(1, 0)) == [0, 1]
    assert levels(run, "pulled not_pulled", S2=(1, 0)) == [0, 1]


def test_clock_gate_opened_behind_the_edge_gives_a_spurious_edge(tmp_path: Path) -> None:
    """The enable is captured at the rising clock and opens the gate while the clock is still high.

    Round 0: the 74 sees the edge. Round 1: enable is high, the AND gate rises, and the 163 sees it.
    Round 2: the 163 has counted. Closed again the same way, the gate only falls.
    """
    run = bench(tmp_path, boards.GATED)
    run.step({"wish": (1,)})
    rounds = run.step({"CK": (1,)})
    count = [sum(one.nets[f"n[{bit}]"] << bit for bit in range(4)) for one in rounds]
    assert [one.nets["gated"] for one in rounds] == [0, 1, 1]
    assert count == [0, 0, 1]
    run.step({"CK": (0,)})
    run.step({"wish": (0,)})
    rounds = run.step({"CK": (1,)})
    assert [one.nets["gated"] for one in rounds] == [1, 0]
    assert sum(rounds[-1].nets[f"n[{bit}]"] << bit for bit in range(4)) == 2


def test_ring_of_one_inverter_never_gets_quiet(tmp_path: Path) -> None:
    text = """
board: ring
parts: {U1: 74HC04, S: {part: push-button}}
nets:
  GND: [U1.7]
  VCC: [U1.14]
  a: [U1.1, U1.2]
"""
    run = bench(tmp_path, text)
    with pytest.raises(NotQuiet):
        run.step(limit=5)


def test_register_captures_what_its_input_was_before_the_edge(tmp_path: Path) -> None:
    """Design.md, section 4: D moves in the round of the edge, up with it or down against it."""
    text = """
board: same-round
parts:
  U1: 74HC74
  U2: 74HC04
  CK: {part: oscillator, frequency: 1 Hz}
nets:
  GND: [U1.7, U2.7, CK.7]
  VCC: [U1.14, U1.1, U1.4, U1.10, U1.13, U2.14, CK.14]
  clk: [CK.8, U1.CLK1, U1.CLK2, U1.D1, U2.1]
  clk_n: [U2.2, U1.D2]
  with_it: [U1.Q1]
  against_it: [U1.Q2]
"""
    run = bench(tmp_path, text)
    run.set_storage({"U1.R1[0]": 1, "U1.R2[0]": 0})
    assert levels(run, "with_it against_it") == [1, 0]
    assert levels(run, "with_it against_it", CK=(1,)) == [0, 1]
