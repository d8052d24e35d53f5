"""Rows to stimuli. What is expected is the row-table section of specs/parts/README.md, worked by
hand for small tables."""

from breadproof.specs.catalogue.part import PartType
from breadproof.specs.catalogue.rows import Stimulus, contents, expand
from tests.catalogue.support import PART, read

HEAD = PART[: PART.index("rows:")]
GATE = HEAD.replace(PART[PART.index("storage:") : PART.index("memory:")], "").replace(
    'level: "R[1]"', 'level: "A1"'
)


def _part(columns: str, *rows: str, loops: str = "", head: str = HEAD) -> PartType:
    text = head + f"rows:\n  - from: by hand\n    columns: {columns}\n"
    text += f"    for: {loops}\n" if loops else ""
    return read(text + "    table:\n" + "".join(f"      - {row}\n" for row in rows))


def _steps(run: tuple[Stimulus, ...]) -> list[tuple[dict[str, int | None], dict[str, str]]]:
    return [(dict(stimulus.inputs), dict(stimulus.expect)) for stimulus in run]


def test_every_combination_of_few_free_bits_is_tried() -> None:
    part = _part("G_n A1 A0 | Q0 Q1", "L X a | a X", "H X H | L Z", head=GATE)
    (run,) = expand(part, part.rows[0])
    assert _steps(run) == [
        ({"G_n": 0, "A1": 0, "A0": 0}, {"Q0": "L"}),
        ({"G_n": 0, "A1": 1, "A0": 0}, {"Q0": "L"}),
        ({"G_n": 0, "A1": 0, "A0": 1}, {"Q0": "H"}),
        ({"G_n": 0, "A1": 1, "A0": 1}, {"Q0": "H"}),
        ({"G_n": 1, "A1": 0, "A0": 1}, {"Q0": "L", "Q1": "Z"}),
        ({"G_n": 1, "A1": 1, "A0": 1}, {"Q0": "L", "Q1": "Z"}),
    ]
    assert [stimulus.span.line for stimulus in run] == [27] * 4 + [28] * 2


def test_a_complement_and_a_variable_used_twice() -> None:
    part = _part("G_n A1 A0 | Q0 Q1", "L a a | a ~a", head=GATE)
    (run,) = expand(part, part.rows[0])
    assert _steps(run) == [
        ({"G_n": 0, "A1": 0, "A0": 0}, {"Q0": "L", "Q1": "H"}),
        ({"G_n": 0, "A1": 1, "A0": 1}, {"Q0": "H", "Q1": "L"}),
    ]


def test_each_value_of_the_loop_is_a_run() -> None:
    part = _part("G_n A# | Q#", "L H | H", loops="0 1", head=GATE)
    assert [_steps(run) for run in expand(part, part.rows[0])] == [
        [({"G_n": 0, "A0": 1}, {"Q0": "H"})],
        [({"G_n": 0, "A1": 1}, {"Q1": "H"})],
    ]


def test_many_free_bits_all_low_all_high_and_eight_seeded() -> None:
    pins = "".join(f"  {k + 2}: D{k} in\n" for k in range(7))
    head = (
        'part: "9"\ntitle: t\ndoes: t\npackage: DIP-10\nfamilies: [LS]\nsource: made up\n'
        f'pins:\n  1: GND ground\n{pins}  9: Y out\n  10: VCC supply\nlogic:\n  Y: "|D[6:0]"\n'
    )
    part = _part("D[6:0] | Y", "X | X", "h00 | L", head=head)
    (run,) = expand(part, part.rows[0])
    assert len(run) == 11
    assert set(dict(run[0].inputs).values()) == {0}
    assert set(dict(run[1].inputs).values()) == {1}
    assert len({stimulus.inputs for stimulus in run}) > 6
    assert expand(part, part.rows[0]) == (run,)
    assert expand(part, part.rows[0], seed=1) != (run,)


def test_an_edge_is_clock_back_then_inputs_then_edge() -> None:
    part = _part("G_n A[1:0] CLK | R[1:0] Q1", "L h2 ^ | h2 H", "H h1 v | = !")
    run = expand(part, part.rows[0])[0]
    assert _steps(run) == [
        ({"CLK": 0}, {}),
        ({"G_n": 0, "A1": 1, "A0": 0}, {}),
        ({"CLK": 1}, {"R[1]": "H", "R[0]": "L", "Q1": "H"}),
        ({"CLK": 1}, {}),
        ({"G_n": 1, "A1": 0, "A0": 1}, {}),
        ({"CLK": 0}, {"R[1]": "=", "R[0]": "=", "Q1": "!"}),
    ]


def test_a_table_with_storage_runs_as_a_whole_five_times() -> None:
    part = _part("A[1:0] CLK | R", "h0 ^ | h0", "X H | =", "X H | =", "a ^ | a")
    runs = expand(part, part.rows[0])
    assert len(runs) == 5
    assert all(len(run) == 8 for run in runs)
    held = [dict(run[3].inputs) for run in runs]
    assert held[0] == {"A1": 0, "A0": 0, "CLK": 1}
    assert held[1] == {"A1": 1, "A0": 1, "CLK": 1}
    for run in runs:
        captured = dict(run[6].inputs)
        assert dict(run[7].expect) == {
            "R[1]": "H" if captured["A1"] else "L",
            "R[0]": "H" if captured["A0"] else "L",
        }


def test_bidirectional_pins_are_let_go_and_words_of_a_memory_named() -> None:
    head = (
        'part: "9"\ntitle: t\ndoes: t\npackage: DIP-4\nfamilies: [LS]\nsource: made up\n'
        "pins:\n  1: W in\n  2: GND ground\n  3: IO0 bidirectional\n  4: VCC supply\n"
        'logic:\n  IO0: {level: "M[W]", when: "!W"}\n'
        "memory:\n  M: {words: 2, bits: 1, address: W, write: W, from: IO0}\n"
    )
    part = _part("W IO0 | IO0 M[1]", "H H | Z h1", "L Z | X =", head=head)
    assert _steps(expand(part, part.rows[0])[0]) == [
        ({"W": 1, "IO0": 1}, {"IO0": "Z", "M[1][0]": "H"}),
        ({"W": 0, "IO0": None}, {"M[1][0]": "="}),
    ]


def test_the_words_of_a_rom_are_no_stimulus() -> None:
    part = _part("G_n M[2] M[0] A1 | Q0", "H h3 h1 X | L", "H h3 h1 X | L", head=GATE)
    assert contents(part, part.rows[0]) == (("M", 2, 3), ("M", 0, 1))
    (run,) = expand(part, part.rows[0])
    assert set(dict(run[0].inputs)) == {"G_n", "A1"}
