"""The family limits against the project's collection of trade numbers.

Every number here was copied from that collection's table (facts of the trade and data books; the
few marked "from memory" are from memory of the data books).
"""

import pytest

from breadproof.specs.catalogue.families import FAMILIES

MA, UA = 1e-3, 1e-6


def test_the_families() -> None:
    assert set(FAMILIES) == {
        *("TTL", "S", "LS", "ALS", "AS", "F"),
        *("HC", "HCT", "AC", "ACT", "MOS"),
    }
    assert {name for name, family in FAMILIES.items() if family.bipolar} == {
        *("TTL", "S", "LS", "ALS", "AS", "F")
    }


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("LS", 4.75, 5.25),
        ("ALS", 4.5, 5.5),
        ("F", 4.5, 5.5),
        ("HCT", 4.5, 5.5),
        ("HC", 2.0, 6.0),
        ("TTL", 4.75, 5.25),  # from memory
        ("S", 4.75, 5.25),  # from memory
    ],
)
def test_supply(name: str, low: float, high: float) -> None:
    assert FAMILIES[name].supply == (low, high)


@pytest.mark.parametrize(
    ("name", "v_il", "v_ih", "i_il", "i_ih"),
    [
        ("LS", 0.8, 2.0, 0.4 * MA, 20 * UA),
        ("TTL", 0.8, 2.0, 1.6 * MA, 40 * UA),
        ("S", 0.8, 2.0, 2 * MA, 50 * UA),
        ("ALS", 0.8, 2.0, 0.1 * MA, 20 * UA),
        ("F", 0.8, 2.0, 0.6 * MA, 20 * UA),
        ("HC", 1.5, 3.5, 1 * UA, 1 * UA),
        ("HCT", 0.8, 2.0, 1 * UA, 1 * UA),
        ("ACT", 0.8, 2.0, 1 * UA, 1 * UA),
        ("MOS", 0.8, 2.2, 10 * UA, 10 * UA),  # currents from memory
    ],
)
def test_inputs(name: str, v_il: float, v_ih: float, i_il: float, i_ih: float) -> None:
    family = FAMILIES[name]
    assert (family.v_il, family.v_ih) == (v_il, v_ih)
    assert family.i_il == pytest.approx(i_il)
    assert family.i_ih == pytest.approx(i_ih)


@pytest.mark.parametrize("name", ["HC", "AC"])
def test_cmos_thresholds_at_the_lowest_supply_of_a_5_volt_board(name: str) -> None:
    """Trade numbers: 1.35 V and 3.15 V at 4.5 V; the AC 3.15 V stands there too."""
    assert FAMILIES[name].inputs.thresholds(4.5) == pytest.approx((1.35, 3.15))
    assert FAMILIES["HCT"].inputs.thresholds(4.5) == (0.8, 2.0)


@pytest.mark.parametrize(
    ("name", "v_ol", "v_oh", "i_ol", "i_oh"),
    [
        ("LS", 0.5, 2.7, 8 * MA, 0.4 * MA),
        ("TTL", 0.4, 2.4, 16 * MA, 0.4 * MA),
        ("S", 0.5, 2.7, 20 * MA, 1 * MA),  # levels from memory
        ("ALS", 0.5, 2.5, 8 * MA, 0.4 * MA),  # levels from memory
        ("F", 0.5, 2.5, 20 * MA, 1 * MA),  # V_OL from memory
        ("HC", 0.33, 3.84, 4 * MA, 4 * MA),
        ("HCT", 0.33, 3.84, 4 * MA, 4 * MA),
        ("AC", 0.44, 3.76, 24 * MA, 24 * MA),  # levels from memory
        ("ACT", 0.44, 3.76, 24 * MA, 24 * MA),  # levels from memory
        ("MOS", 0.4, 2.4, 2.1 * MA, 0.4 * MA),  # I_OH from memory
    ],
)
def test_outputs(name: str, v_ol: float, v_oh: float, i_ol: float, i_oh: float) -> None:
    family = FAMILIES[name]
    assert (family.v_ol, family.v_oh) == (v_ol, v_oh)
    assert family.i_ol == pytest.approx(i_ol)
    assert family.i_oh == pytest.approx(i_oh)


def test_bus_drivers() -> None:
    bus = FAMILIES["LS"].drive(bus_driver=True)
    assert (bus.i_ol, bus.i_oh_max) == pytest.approx((24 * MA, 15 * MA))
    assert (bus.v_oh, bus.i_oh) == pytest.approx((2.4, 3 * MA))
    assert FAMILIES["HC"].drive(bus_driver=True).i_ol == pytest.approx(6 * MA)
    assert FAMILIES["LS"].drive(bus_driver=False).i_ol == pytest.approx(8 * MA)


@pytest.mark.parametrize(
    ("source", "reader", "count"),
    [("LS", "LS", 20), ("LS", "TTL", 5), ("HC", "LS", 10), ("LS", "F", 13), ("F", "F", 33)],
)
def test_fan_out_on_the_low_side(source: str, reader: str, count: int) -> None:
    """Trade numbers. Their 33 stands beside "F to LS", where 20 mA / 0.4 mA is 50: it is F to F."""
    assert int(FAMILIES[source].i_ol / FAMILIES[reader].i_il + 1e-9) == count


def test_margins() -> None:
    """Trade numbers: LS to HC fails by 0.8 V, LS to HCT has 0.7 V."""
    assert FAMILIES["LS"].v_oh - FAMILIES["HC"].v_ih == pytest.approx(-0.8)
    assert FAMILIES["LS"].v_oh - FAMILIES["HCT"].v_ih == pytest.approx(0.7)


@pytest.mark.parametrize("family", FAMILIES.values(), ids=lambda family: family.name)
def test_the_values_of_a_family_make_sense(family: object) -> None:
    """A family must be able to feed itself, and every set of values names its source."""
    assert family in FAMILIES.values()
    known = next(value for value in FAMILIES.values() if value is family)
    assert known.inputs.v_il < known.inputs.v_ih
    assert known.v_ol < known.v_il
    assert known.v_oh > known.v_ih
    for drive in (known.output, known.bus):
        assert drive.i_ol >= known.i_il
        assert drive.i_oh >= known.i_ih
        assert drive.i_oh_max >= drive.i_oh
        assert drive.source
    assert known.inputs.source
    assert known.supply_source
