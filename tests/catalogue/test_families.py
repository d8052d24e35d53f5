"""The limits against a second table, written from the project's collection of trade numbers and
from memory of the data books; never from the code.

Rows marked T are copied from that collection; all others are from memory of the data sheet of the
part that they name, at the full load of its recommended operating conditions.
"""

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.families import FAMILIES
from breadproof.specs.catalogue.limits import OUTPUT_CLASSES, Family, OutputClass
from breadproof.specs.catalogue.military import MILITARY
from breadproof.specs.catalogue.pinlimits import Limits

MA, UA = 1e-3, 1e-6
BIPOLAR = ("TTL", "S", "LS", "ALS", "AS", "F")
CMOS = ("HC", "HCT", "AC", "ACT", "AHC", "AHCT", "LVC", "4000B", "MOS")
CATALOGUE = Catalogue()


def test_the_families() -> None:
    assert set(FAMILIES) == {*BIPOLAR, *CMOS}
    assert {name for name, family in FAMILIES.items() if family.bipolar} == set(BIPOLAR)


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("LS", 4.75, 5.25),  # T
        ("ALS", 4.5, 5.5),  # T
        ("F", 4.5, 5.5),  # T
        ("HCT", 4.5, 5.5),  # T
        ("HC", 2.0, 6.0),  # T
        ("TTL", 4.75, 5.25),
        ("S", 4.75, 5.25),
        ("AS", 4.5, 5.5),
        ("AC", 2.0, 6.0),
        ("ACT", 4.5, 5.5),
        ("AHC", 2.0, 5.5),
        ("AHCT", 4.5, 5.5),
        ("LVC", 1.65, 3.6),
        ("4000B", 3.0, 18.0),  # JEDEC standard 13-B
        ("MOS", 4.5, 5.5),
    ],
)
def test_supply(name: str, low: float, high: float) -> None:
    assert FAMILIES[name].supply == (low, high)


@pytest.mark.parametrize(
    ("name", "v_il", "v_ih", "i_il", "i_ih"),
    [
        ("LS", 0.8, 2.0, 0.4 * MA, 20 * UA),  # T
        ("TTL", 0.8, 2.0, 1.6 * MA, 40 * UA),  # T
        ("S", 0.8, 2.0, 2 * MA, 50 * UA),  # T, currents
        ("ALS", 0.8, 2.0, 0.1 * MA, 20 * UA),  # T, currents
        ("AS", 0.8, 2.0, 0.5 * MA, 20 * UA),
        ("F", 0.8, 2.0, 0.6 * MA, 20 * UA),  # T, currents
        ("HC", 1.5, 3.5, 1 * UA, 1 * UA),  # T
        ("HCT", 0.8, 2.0, 1 * UA, 1 * UA),  # T
        ("AC", 1.5, 3.5, 1 * UA, 1 * UA),
        ("ACT", 0.8, 2.0, 1 * UA, 1 * UA),  # T, levels
        ("AHC", 1.5, 3.5, 1 * UA, 1 * UA),
        ("AHCT", 0.8, 2.0, 1 * UA, 1 * UA),
        ("4000B", 1.5, 3.5, 1 * UA, 1 * UA),
        ("MOS", 0.8, 2.2, 10 * UA, 10 * UA),
    ],
)
def test_inputs_at_5_volts(name: str, v_il: float, v_ih: float, i_il: float, i_ih: float) -> None:
    inputs = FAMILIES[name].inputs
    assert inputs.thresholds(5.0) == pytest.approx((v_il, v_ih))
    assert (inputs.v_il, inputs.v_ih) == (v_il, v_ih)
    assert inputs.i_il == pytest.approx(i_il)
    assert inputs.i_ih == pytest.approx(i_ih)


@pytest.mark.parametrize(
    ("name", "supply", "v_il", "v_ih"),
    [
        ("HC", 4.5, 1.35, 3.15),  # T
        ("AC", 4.5, 1.35, 3.15),  # T, V_IH
        ("HC", 2.0, 0.5, 1.5),  # JEDEC JESD7-A
        ("HC", 6.0, 1.8, 4.2),  # JEDEC JESD7-A
        ("AC", 3.0, 0.9, 2.1),
        ("AHC", 3.0, 0.9, 2.1),
        ("AHC", 5.5, 1.65, 3.85),
        ("LVC", 2.7, 0.8, 2.0),  # JEDEC JESD36
        ("LVC", 3.3, 0.8, 2.0),
        ("LVC", 3.6, 0.8, 2.0),
        ("LVC", 2.3, 0.7, 1.7),
        ("4000B", 10.0, 3.0, 7.0),  # JEDEC standard 13-B
        ("4000B", 15.0, 4.0, 11.0),
        ("HCT", 4.5, 0.8, 2.0),  # T
        ("LS", 4.75, 0.8, 2.0),  # T
    ],
)
def test_thresholds_at_other_supplies(name: str, supply: float, v_il: float, v_ih: float) -> None:
    assert FAMILIES[name].inputs.thresholds(supply) == pytest.approx((v_il, v_ih))


@pytest.mark.parametrize(
    ("name", "v_il", "v_ih"),
    [  # the 14: lowest threshold of a falling level, highest of a rising one
        ("TTL", 0.6, 2.0),
        ("LS", 0.5, 2.0),
        ("F", 0.7, 2.0),
        ("HC", 1.0, 3.5),
        ("HCT", 0.5, 2.1),
        ("4000B", 0.7, 4.3),  # the weakest of three makers'
    ],
)
def test_schmitt_trigger_inputs(name: str, v_il: float, v_ih: float) -> None:
    limits = Limits(type=CATALOGUE.part("14"), family=FAMILIES[name])
    assert limits.inputs("A1").thresholds(5.0) == (v_il, v_ih)
    plain = Limits(type=CATALOGUE.part("04"), family=FAMILIES[name])
    assert plain.inputs("A1") == FAMILIES[name].inputs


def test_inputs_that_bear_more_than_their_supply() -> None:
    """LVC and AHC inputs bear 5.5 V on a lower supply (from memory)."""
    assert FAMILIES["LVC"].inputs.bears == FAMILIES["AHC"].inputs.bears == 5.5
    assert FAMILIES["HC"].inputs.bears is None


# Family, part, one of its outputs, V_OL, V_OH, I_OL and I_OH in milliamperes.
OUTPUTS = [
    ("TTL", "00", "Y1", 0.4, 2.4, 16, 0.4),  # T
    ("TTL", "125", "Y1", 0.4, 2.4, 16, 5.2),
    ("TTL", "251", "Y", 0.4, 2.4, 16, 5.2),
    ("TTL", "365", "Y1", 0.4, 2.4, 32, 5.2),
    ("TTL", "28", "Y1", 0.4, 2.4, 48, 2.4),
    ("TTL", "37", "Y1", 0.4, 2.4, 48, 1.2),
    ("TTL", "40", "Y1", 0.4, 2.4, 48, 1.2),
    ("S", "00", "Y1", 0.5, 2.7, 20, 1),  # T, currents
    ("S", "257", "Y1", 0.5, 2.4, 20, 6.5),
    ("S", "374", "Q0", 0.5, 2.4, 20, 6.5),
    ("S", "253", "Y1", 0.5, 2.4, 20, 6.5),
    ("S", "240", "Y24", 0.55, 2.4, 64, 3),
    ("S", "37", "Y1", 0.5, 2.7, 60, 3),
    ("LS", "00", "Y1", 0.5, 2.7, 8, 0.4),  # T
    ("LS", "251", "Y", 0.5, 2.4, 8, 2.6),
    ("LS", "253", "Y1", 0.5, 2.4, 8, 2.6),
    ("LS", "670", "Q1", 0.5, 2.4, 8, 2.6),
    ("LS", "125", "Y1", 0.5, 2.4, 24, 2.6),
    ("LS", "365", "Y1", 0.5, 2.4, 24, 2.6),
    ("LS", "367", "Y11", 0.5, 2.4, 24, 2.6),
    ("LS", "373", "Q0", 0.5, 2.4, 24, 2.6),
    ("LS", "595", "Q0", 0.5, 2.4, 24, 2.6),
    ("LS", "299", "IO0", 0.5, 2.4, 24, 2.6),
    ("LS", "240", "Y24", 0.5, 2.4, 24, 3),  # T
    ("LS", "245", "A1", 0.5, 2.4, 24, 3),  # T
    ("LS", "28", "Y1", 0.5, 2.7, 24, 1.2),
    ("LS", "37", "Y1", 0.5, 2.7, 24, 1.2),
    ("ALS", "00", "Y1", 0.5, 2.5, 8, 0.4),  # T, currents
    ("ALS", "253", "Y1", 0.5, 2.4, 24, 2.6),
    ("ALS", "574", "Q0", 0.5, 2.4, 24, 2.6),
    ("ALS", "244", "Y24", 0.5, 2.4, 24, 3),
    ("ALS", "37", "Y1", 0.5, 2.4, 24, 2.6),
    ("AS", "00", "Y1", 0.5, 2.5, 20, 2),
    ("AS", "257", "Y1", 0.5, 2.4, 48, 3),
    ("AS", "574", "Q0", 0.5, 2.4, 48, 3),
    ("AS", "244", "Y24", 0.55, 2.4, 64, 3),
    ("AS", "646", "A1", 0.5, 2.4, 48, 3),
    ("F", "00", "Y1", 0.5, 2.5, 20, 1),  # T, but V_OL
    ("F", "253", "Y1", 0.5, 2.4, 20, 3),
    ("F", "374", "Q0", 0.5, 2.4, 24, 3),
    ("F", "244", "Y24", 0.55, 2.4, 64, 3),
    ("F", "245", "A1", 0.5, 2.4, 24, 3),
    ("F", "37", "Y1", 0.55, 2.4, 64, 3),
    ("HC", "00", "Y1", 0.33, 3.84, 4, 4),  # T
    ("HC", "595", "Q7S", 0.33, 3.84, 4, 4),  # T: no bus output
    ("HC", "4094", "Q0", 0.33, 3.84, 4, 4),
    ("HC", "244", "Y24", 0.33, 3.84, 6, 6),  # T
    ("HC", "595", "Q0", 0.33, 3.84, 6, 6),
    ("HC", "253", "Y1", 0.33, 3.84, 6, 6),
    ("HC", "574", "Q0", 0.33, 3.84, 6, 6),  # T
    ("HCT", "04", "Y1", 0.33, 3.84, 4, 4),  # T
    ("HCT", "573", "Q0", 0.33, 3.84, 6, 6),  # T
    ("AC", "00", "Y1", 0.44, 3.76, 24, 24),  # T, currents
    ("ACT", "245", "A1", 0.44, 3.76, 24, 24),  # T, currents
    ("AHC", "00", "Y1", 0.44, 3.8, 8, 8),
    ("AHCT", "245", "A1", 0.44, 3.8, 8, 8),
    ("LVC", "00", "Y1", 0.55, 2.2, 24, 24),
    ("4000B", "4017", "Q0", 0.4, 4.6, 0.36, 0.36),  # JEDEC standard 13-B, at 85 degrees
]


@pytest.mark.parametrize("row", OUTPUTS, ids=lambda row: f"{row[0]}{row[1]}.{row[2]}")
def test_no_output_is_said_to_do_more_than_its_data_sheet_promises(
    row: tuple[str, str, str, float, float, float, float],
) -> None:
    family, number, pin, v_ol, v_oh, i_ol, i_oh = row
    part = CATALOGUE.part(number).in_family(family)
    assert part.pin(pin) is not None
    drive = Limits(type=part, family=FAMILIES[family]).drive(pin)
    assert drive.v_ol >= v_ol
    assert drive.v_oh <= v_oh
    assert drive.i_ol <= i_ol * MA + 1e-9
    assert drive.i_oh <= i_oh * MA + 1e-9


def test_a_class_is_just_as_strong_as_the_weakest_of_its_rows() -> None:
    grouped: dict[tuple[str, OutputClass], list[tuple[float, float, float, float]]] = {}
    for family, number, pin, *values in OUTPUTS:
        kind = CATALOGUE.part(number).in_family(family).output_class(pin)
        v_ol, v_oh, i_ol, i_oh = values
        grouped.setdefault((family, kind), []).append((v_ol, v_oh, i_ol, i_oh))
    assert len({kind for _, kind in grouped}) >= 5
    for (family, kind), rows in grouped.items():
        drive = FAMILIES[family].drive(kind)
        weakest = (
            max(row[0] for row in rows),
            min(row[1] for row in rows),
            min(row[2] for row in rows) * MA,
            min(row[3] for row in rows) * MA,
        )
        assert (drive.v_ol, drive.v_oh, drive.i_ol, drive.i_oh) == pytest.approx(weakest), (
            family,
            kind,
        )


def test_what_bus_drivers_give_with_no_promise_of_a_level() -> None:
    assert FAMILIES["LS"].drive("bus-driver").i_oh_max == pytest.approx(15 * MA)  # T


@pytest.mark.parametrize(
    ("name", "number", "pin", "v_ol", "i_ol", "off", "bears"),
    [  # open collectors: V_OL at I_OL, I_OH while they let go, the highest pull-up; from memory
        ("TTL", "03", "Y1", 0.4, 16 * MA, 250 * UA, 5.5),
        ("TTL", "05", "Y1", 0.4, 16 * MA, 250 * UA, 5.5),
        ("TTL", "38", "Y1", 0.4, 48 * MA, 250 * UA, 5.5),
        ("TTL", "26", "Y1", 0.4, 16 * MA, 1 * MA, 15.0),
        ("TTL", "06", "Y1", 0.7, 40 * MA, 250 * UA, 30.0),
        ("TTL", "07", "Y1", 0.7, 40 * MA, 250 * UA, 30.0),
        ("LS", "03", "Y1", 0.5, 8 * MA, 100 * UA, 5.5),
        ("LS", "09", "Y1", 0.5, 8 * MA, 100 * UA, 5.5),
        ("LS", "38", "Y1", 0.5, 24 * MA, 250 * UA, 5.5),
        ("LS", "26", "Y1", 0.5, 8 * MA, 1 * MA, 15.0),
        ("LS", "07", "Y1", 0.7, 40 * MA, 250 * UA, 30.0),
        ("S", "03", "Y1", 0.5, 20 * MA, 250 * UA, 5.5),
        ("S", "38", "Y1", 0.5, 60 * MA, 250 * UA, 5.5),
        ("ALS", "05", "Y1", 0.5, 8 * MA, 100 * UA, 5.5),
        ("ALS", "38", "Y1", 0.5, 24 * MA, 100 * UA, 5.5),
        ("F", "38", "Y1", 0.55, 64 * MA, 250 * UA, 5.5),
        ("HC", "03", "Y1", 0.33, 4 * MA, 5 * UA, None),
    ],
)
def test_open_collectors(
    name: str, number: str, pin: str, v_ol: float, i_ol: float, off: float, bears: float | None
) -> None:
    limits = Limits(type=CATALOGUE.part(number), family=FAMILIES[name])
    sink = limits.sink(pin)
    assert (sink.v_ol, sink.bears) == (v_ol, bears)
    assert (sink.i_ol, sink.off) == pytest.approx((i_ol, off))
    assert limits.off(pin) == sink.off


@pytest.mark.parametrize(
    ("name", "i_oz"),
    [("TTL", 40), ("S", 50), ("LS", 20), ("ALS", 20), ("AS", 50), ("F", 70), ("HC", 5)],
)
def test_what_an_output_that_is_off_still_takes(name: str, i_oz: float) -> None:
    """I_OZ of the 244, 245 and 374, from memory; of F that of the 245, as an input too."""
    limits = Limits(type=CATALOGUE.part("245"), family=FAMILIES[name])
    assert limits.off("A1") == pytest.approx(i_oz * UA)


@pytest.mark.parametrize(
    ("name", "milliamperes"),
    [("TTL", 22), ("S", 36), ("LS", 4.4), ("ALS", 3), ("AS", 17.4), ("F", 10.2)],
)
def test_what_a_bipolar_gate_takes(name: str, milliamperes: float) -> None:
    """I_CCL of the four gates of the 00, from memory."""
    gate = FAMILIES[name].quiescent.gate
    assert gate is not None
    assert 4 * gate == pytest.approx(milliamperes * MA)


@pytest.mark.parametrize(
    ("name", "gates", "flip_flops", "larger"),
    [
        ("HC", 20, 40, 80),  # JEDEC JESD7-A: 6 V, 85 degrees
        ("HCT", 20, 40, 80),
        ("AC", 40, 40, 80),
        ("AHC", 20, 20, 40),
        ("LVC", 10, 10, 10),
        ("4000B", 7.5, 30, 150),  # JEDEC standard 13-B: 5 V, 85 degrees
    ],
)
def test_what_cmos_takes_at_rest(name: str, gates: float, flip_flops: float, larger: float) -> None:
    rest = FAMILIES[name].quiescent
    found = (rest.gates, rest.flip_flops, rest.larger)
    assert found == pytest.approx((gates * UA, flip_flops * UA, larger * UA))


@pytest.mark.parametrize(
    ("source", "reader", "count"),
    [("LS", "LS", 20), ("LS", "TTL", 5), ("HC", "LS", 10), ("LS", "F", 13), ("F", "F", 33)],
)
def test_fan_out_on_the_low_side(source: str, reader: str, count: int) -> None:
    """T. Their 33 stands beside "F to LS", where 20 mA / 0.4 mA is 50: it is F to F."""
    assert int(FAMILIES[source].drive().i_ol / FAMILIES[reader].inputs.i_il + 1e-9) == count


def test_margins() -> None:
    """T: LS to HC fails by 0.8 V, LS to HCT has 0.7 V."""
    ls = FAMILIES["LS"].drive()
    assert ls.v_oh - FAMILIES["HC"].inputs.v_ih == pytest.approx(-0.8)
    assert ls.v_oh - FAMILIES["HCT"].inputs.v_ih == pytest.approx(0.7)


@pytest.mark.parametrize(
    ("name", "current", "v_ol", "v_oh", "at"),
    [
        ("HC", 20, 0.1, 4.4, 4.5),  # JEDEC JESD7-A, and copies of data sheets
        ("HCT", 20, 0.1, 4.4, 4.5),
        ("AC", 50, 0.1, 4.4, 4.5),
        ("AHC", 50, 0.1, 4.4, 4.5),
        ("LVC", 100, 0.2, 2.8, 3.0),
        ("4000B", 1, 0.05, 4.95, 5.0),  # JEDEC standard 13-B, and a copy of a data sheet
    ],
)
def test_cmos_levels_with_hardly_any_load(
    name: str, current: float, v_ol: float, v_oh: float, at: float
) -> None:
    drive = FAMILIES[name].drive()
    light = drive.loaded(current * UA)
    assert (light.v_ol, light.v_oh, light.at) == (v_ol, v_oh, at)
    assert drive.loaded(1.1 * current * UA) == drive
    assert light.v_ol < drive.v_ol
    assert light.v_oh > drive.v_oh


def test_bipolar_levels_are_those_of_full_load_and_ls_and_als_tell_half_of_it() -> None:
    """LS and ALS: 0.4 V at 4 mA, 0.5 V at 8 mA (data books, from memory)."""
    for name in BIPOLAR:
        drive = FAMILIES[name].drive()
        half = drive.loaded(4 * MA)
        assert half.v_oh == drive.v_oh
        assert half.v_ol == (0.4 if name in ("LS", "ALS", "TTL") else 0.5)
        assert drive.loaded(4.1 * MA) == drive


def test_a_cmos_high_goes_with_the_supply_and_a_bipolar_one_is_promised_at_its_lowest() -> None:
    """What HC loses at 4.5 V, 0.66 V (T), it loses at 3 V, and at 6 V (JEDEC JESD7-A: 5.34 V) too;
    LS is promised at 4.75 V (T)."""
    assert FAMILIES["HC"].drive().high(3.0) == pytest.approx(2.34)
    assert FAMILIES["HC"].drive().high(4.5) == pytest.approx(3.84)
    assert FAMILIES["HC"].drive().high(6.0) == pytest.approx(5.34)
    assert FAMILIES["4000B"].drive().high(4.75) == pytest.approx(4.35)
    assert FAMILIES["LS"].drive().high(4.75) == pytest.approx(2.7)


@pytest.mark.parametrize(
    ("name", "kind", "v_ol", "v_oh", "i_ol", "i_oh"),
    [  # from memory: the 5400, 54LS00, 54LS253, 54LS374, 54LS244, 54LS37, 54ALS00, 54F00, 54HC00 …
        ("TTL", "ordinary", 0.4, 2.4, 16, 0.4),
        ("LS", "ordinary", 0.4, 2.5, 4, 0.4),
        ("LS", "three-state", 0.4, 2.4, 4, 1),
        ("LS", "bus-output", 0.4, 2.4, 12, 1),
        ("LS", "bus-driver", 0.4, 2.4, 12, 3),
        ("LS", "buffer", 0.4, 2.5, 12, 1.2),
        ("ALS", "ordinary", 0.4, 2.5, 4, 0.4),
        ("S", "ordinary", 0.5, 2.5, 20, 1),
        ("F", "ordinary", 0.5, 2.5, 20, 1),
        ("HC", "ordinary", 0.4, 3.7, 4, 4),
        ("HC", "bus-driver", 0.4, 3.7, 6, 6),
        ("AC", "ordinary", 0.5, 3.7, 24, 24),
    ],
)
def test_outputs_of_the_54_series(
    name: str, kind: OutputClass, v_ol: float, v_oh: float, i_ol: float, i_oh: float
) -> None:
    drive = MILITARY[name].drive(kind)
    assert (drive.v_ol, drive.v_oh) == (v_ol, v_oh)
    assert (drive.i_ol, drive.i_oh) == pytest.approx((i_ol * MA, i_oh * MA))


@pytest.mark.parametrize("name", MILITARY)
def test_a_part_of_the_54_series_promises_no_more_than_its_twin(name: str) -> None:
    """Its limits hold over a wider range of temperature (data books)."""
    twin, family = FAMILIES[name], MILITARY[name]
    assert (family.name, family.bipolar, family.military) == (name, twin.bipolar, True)
    assert family.inputs.v_il <= twin.inputs.v_il
    assert family.inputs.v_ih >= twin.inputs.v_ih
    assert family.i_oz >= twin.i_oz
    for kind in OUTPUT_CLASSES:
        ours, theirs = family.drive(kind), twin.drive(kind)
        assert ours.i_ol <= theirs.i_ol
        assert ours.i_oh <= theirs.i_oh
        assert ours.v_oh <= theirs.v_oh
        assert family.sink(kind).i_ol <= twin.sink(kind).i_ol
        assert family.sink(kind).off >= twin.sink(kind).off


@pytest.mark.parametrize(
    "family", [*FAMILIES.values(), *MILITARY.values()], ids=lambda family: f"{family.name}"
)
def test_the_values_of_a_family_make_sense(family: Family) -> None:
    """A family must be able to feed itself, and every set of values names its source."""
    inputs = family.inputs
    assert inputs.v_il < inputs.v_ih
    assert family.schmitt.v_il <= inputs.v_il
    for kind in OUTPUT_CLASSES:
        drive = family.drive(kind)
        assert drive.v_ol < inputs.v_il
        assert drive.v_oh > inputs.v_ih
        assert drive.i_ol >= inputs.i_il
        assert drive.i_oh >= inputs.i_ih
        assert drive.i_oh_max >= drive.i_oh
        assert drive.source
        sink = family.sink(kind)
        assert sink.v_ol <= inputs.v_il
        assert sink.off < sink.i_ol
        assert sink.source
    points = inputs.points
    assert list(points) == sorted(points)
    assert all(low < high < supply for supply, low, high in points)
    assert inputs.source
    assert family.schmitt.source
    assert family.supply_source
    assert family.quiescent.source
