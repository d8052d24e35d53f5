"""Names as printed on chips. Makers' letters and package letters are common practice; those used
here are made up, since the project names no maker."""

import pytest

from breadproof.specs.catalogue.names import UnknownPart, full_name, recognise

NUMBERS = ("00", "02", "74", "125", "157", "158", "273", "283", "573", "28C16", "6116", "mine")
LARGER = ("89", "62", "256", "4511", "6264", "62256", "27C64", "27C256", "28C64", "28C256")


@pytest.mark.parametrize(
    ("printed", "number", "family"),
    [
        ("74LS157", "157", "LS"),
        ("XX74LS157N", "157", "LS"),
        ("XX74HCT573AN", "573", "HCT"),
        ("74ls157", "157", "LS"),
        (" 74HC00 ", "00", "HC"),
        ("74F02", "02", "F"),
        ("74S00D/T7", "00", "S"),
        ("7400", "00", "TTL"),
        ("7474", "74", "TTL"),
        ("74157", "157", "TTL"),
        ("74283", "283", "TTL"),
        ("157", "157", "ALS"),
        ("74", "74", "ALS"),
        ("00", "00", "ALS"),
        ("273", "273", "ALS"),
        ("283", "283", "ALS"),
        ("6116", "6116", "MOS"),
        ("QQ6116", "6116", "MOS"),
        ("QQ6116P-3", "6116", "MOS"),
        ("28C16", "28C16", "MOS"),
        ("Q28C16A-15", "28C16", "MOS"),
        ("mine", "mine", "ALS"),
    ],
)
def test_a_printed_name(printed: str, number: str, family: str) -> None:
    name = recognise(printed, "ALS", NUMBERS)
    assert (name.number, name.family) == (number, family)


@pytest.mark.parametrize(
    ("printed", "number", "family"),
    [
        ("6264", "6264", "MOS"),
        ("QQ6264LP-15", "6264", "MOS"),
        ("62256", "62256", "MOS"),
        ("QQ62256ALSP-12", "62256", "MOS"),
        ("27C64", "27C64", "MOS"),
        ("Q27C64A-20", "27C64", "MOS"),
        ("27C256", "27C256", "MOS"),
        ("QQQ27C256B-10XF1", "27C256", "MOS"),
        ("QQ28C64B-15PC", "28C64", "MOS"),
        ("QQ28C256-15", "28C256", "MOS"),
        ("7489", "89", "TTL"),
        ("QQ74HC4511N", "4511", "HC"),
    ],
)
def test_a_printed_name_of_a_larger_memory(printed: str, number: str, family: str) -> None:
    """Logic numbers that are parts of a memory's do not catch it."""
    name = recognise(printed, "LS", LARGER)
    assert (name.number, name.family) == (number, family)


@pytest.mark.parametrize(
    ("printed", "best"),
    [
        ("74LS156", "74LS157"),
        ("74LS159", "74LS157"),
        ("75LS157", "74LS157"),
        ("7LS157", "74LS157"),
        ("LS157", "74LS157"),
        ("6117", "6116"),
        ("28C64", "28C16"),
        ("74LVC157", "74LS157"),
        ("574", "573"),
    ],
)
def test_near_misses(printed: str, best: str) -> None:
    with pytest.raises(UnknownPart) as caught:
        recognise(printed, "LS", NUMBERS)
    assert best in caught.value.suggestions
    assert len(set(caught.value.suggestions)) == len(caught.value.suggestions)
    assert best in caught.value.hint
    assert caught.value.printed == printed


def test_suggestions_would_be_found() -> None:
    for printed in ("74LS156", "6117", "574", "74AHC00", "HC00", "28C64"):
        with pytest.raises(UnknownPart) as caught:
            recognise(printed, "LS", NUMBERS)
        for suggestion in caught.value.suggestions:
            assert recognise(suggestion, "LS", NUMBERS).number in NUMBERS


@pytest.mark.parametrize("printed", ["", "resistor", "74", "54LS00", "74LS", "7", "74LS٣٣"])
def test_what_is_no_chip_of_the_catalogue(printed: str) -> None:
    with pytest.raises(UnknownPart):
        recognise(printed, "LS", ("00",))


def test_an_unknown_family_is_named() -> None:
    with pytest.raises(UnknownPart, match="no limits are known of the family 'LVC'"):
        recognise("74LVC157", "LS", NUMBERS)
    with pytest.raises(UnknownPart, match="'XS' is no logic family") as caught:
        recognise("157", "XS", NUMBERS)
    assert caught.value.hint == (
        "'XS' is no logic family (TTL, S, LS, ALS, AS, F, HC, HCT, AC, ACT are); "
        "`breadproof parts` lists all."
    )


def test_full_names() -> None:
    assert full_name("157", "LS") == "74LS157"
    assert full_name("00", "TTL") == "7400"
    assert full_name("6116", "MOS") == "6116"
    assert full_name("28C16", "LS") == "28C16"
