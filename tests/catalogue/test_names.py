"""Names as printed on chips. Makers' letters, package letters, and which letters stand for what,
are common practice; many of those used here are made up, since the project names no maker."""

import pytest

from breadproof.specs.catalogue.names import UnknownPart, full_name, recognise

NUMBERS = ("00", "02", "74", "125", "157", "158", "273", "283", "573", "28C16", "6116", "mine")
LARGER = ("89", "62", "256", "4511", "6264", "62256", "27C64", "27C256", "28C64", "28C256")
MORE = (
    *("00", "14", "74", "174", "595", "4017", "4051", "4511", "555", "556", "2114", "6116"),
    *("6264", "628512", "2764", "27128", "27256"),
    *("62256", "628128", "27C512", "28C64", "39SF010", "39SF040", "AB2803", "mine"),
)


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
    ("printed", "number", "family"),
    [
        # Package, grade and reel.
        ("SN74LS00NE4", "00", "LS"),
        ("XX74HC595D,118", "595", "HC"),
        ("X74HC00B1R", "00", "HC"),
        ("XX74HC00ADR2G", "00", "HC"),
        ("DM74LS74AN", "74", "LS"),
        # Families.
        ("74AHC14", "14", "AHC"),
        ("XX74AHCT595PW", "595", "AHCT"),
        ("74LVC74A", "74", "LVC"),
        ("74ALS174", "174", "ALS"),
        ("74AS174", "174", "AS"),
        ("74ACT174", "174", "ACT"),
        # The 4000 series under its own names, and under those of the 74 series.
        ("CD4017BE", "4017", "4000B"),
        ("MC14017BCP", "4017", "4000B"),
        ("HEF4017BP", "4017", "4000B"),
        ("CD4017", "4017", "4000B"),
        ("4017B", "4017", "4000B"),
        ("14511B", "4511", "4000B"),
        ("CD40106BE", "14", "4000B"),
        ("40174B", "174", "4000B"),
        ("74HC4017", "4017", "HC"),
        ("CD74HCT4017E", "4017", "HCT"),
        # Memories, timers, and parts that have letters of their own.
        ("MM2114N", "2114", "MOS"),
        ("XX6116SA45TP", "6116", "MOS"),
        ("XX62C256AL-45", "62256", "MOS"),
        ("AX6C62256-55P", "62256", "MOS"),
        ("AX6C6264-55PCN", "6264", "MOS"),
        ("AX6C1008-55PCN", "628128", "MOS"),
        ("6C4008", "628512", "MOS"),
        ("AX6C4008-55PCN", "628512", "MOS"),
        ("2016", "6116", "MOS"),
        ("XXX2016AP-12", "6116", "MOS"),
        ("XX62256LP-70", "62256", "MOS"),
        ("X27128A-20", "27128", "MOS"),
        ("27256", "27256", "MOS"),
        ("XX2764-25", "2764", "MOS"),
        ("XX628128ALP-7", "628128", "MOS"),
        ("X27C512-15F1", "27C512", "MOS"),
        ("XX28C64B-15PC", "28C64", "MOS"),
        ("XXX39SF010A-70-4C", "39SF010", "MOS"),
        ("XX555P", "555", "MOS"),
        ("XX556CN", "556", "MOS"),
        ("AB2803A", "AB2803", "LS"),
        ("mine-2", "mine", "LS"),
    ],
)
def test_more_printed_names(printed: str, number: str, family: str) -> None:
    name = recognise(printed, "LS", MORE)
    assert (name.number, name.family, name.military) == (number, family, False)


@pytest.mark.parametrize(
    ("printed", "number", "family"),
    [("54LS00", "00", "LS"), ("SN5474J/883", "74", "TTL"), ("XX54HC595J", "595", "HC")],
)
def test_the_54_series(printed: str, number: str, family: str) -> None:
    name = recognise(printed, "HC", MORE)
    assert (name.number, name.family, name.military) == (number, family, True)


@pytest.mark.parametrize(("printed", "bare"), [("74", True), ("4017", True), ("CD4017", False)])
def test_a_bare_number_is_told_from_a_name(printed: str, bare: bool) -> None:
    assert recognise(printed, "LS", MORE).bare is bare


@pytest.mark.parametrize(
    ("printed", "why", "suggestions"),
    [
        ("74H00", "no limits are known of the family 'H' in '74H00'", ("74S00", "74F00")),
        ("74L74", "no limits are known of the family 'L' in '74L74'", ("74LS74", "7474")),
        ("74VHC00", "no limits are known of the family 'VHC' in '74VHC00'", ("74AHC00", "74HC00")),
        (
            "CD4017AE",
            "no limits are known of the early (A) parts of the 4000 series, such as 'CD4017AE'",
            ("4017B",),
        ),
        (
            "4017UB",
            "no limits are known of the unbuffered (UB) parts of the 4000 series, such as '4017UB'",
            ("4017B",),
        ),
    ],
)
def test_families_without_limits(printed: str, why: str, suggestions: tuple[str, ...]) -> None:
    with pytest.raises(UnknownPart) as caught:
        recognise(printed, "LS", MORE)
    assert caught.value.why == why
    assert caught.value.suggestions == suggestions
    for suggestion in suggestions:
        assert recognise(suggestion, "LS", MORE).number in MORE


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
        ("574", "573"),
        ("HC157", "74HC157"),
        ("2816", "28C16"),
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
    for printed in ("74LS156", "6117", "574", "74VHC00", "74H00", "HC00", "28C64"):
        with pytest.raises(UnknownPart) as caught:
            recognise(printed, "LS", NUMBERS)
        for suggestion in caught.value.suggestions:
            assert recognise(suggestion, "LS", NUMBERS).number in NUMBERS


@pytest.mark.parametrize("printed", ["", "resistor", "74", "64LS00", "74LS", "7", "74LS٣٣"])
def test_what_is_no_chip_of_the_catalogue(printed: str) -> None:
    with pytest.raises(UnknownPart):
        recognise(printed, "LS", ("00",))


def test_an_unknown_family_is_named() -> None:
    with pytest.raises(UnknownPart, match="no limits are known of the family 'LV' in '74LV157'"):
        recognise("74LV157", "LS", NUMBERS)
    with pytest.raises(UnknownPart, match="'XS' is no logic family") as caught:
        recognise("157", "XS", NUMBERS)
    assert caught.value.hint == (
        "'XS' is no logic family (TTL, S, LS, ALS, AS, F, HC, HCT, AC, ACT, AHC, AHCT, LVC, 4000B "
        "are); `breadproof parts` lists all."
    )


def test_full_names() -> None:
    assert full_name("157", "LS") == "74LS157"
    assert full_name("00", "TTL") == "7400"
    assert full_name("4017", "4000B") == "4017B"
    assert full_name("4017", "HC") == "74HC4017"
    assert full_name("14", "4000B") == "40106B"
    assert full_name("6116", "MOS") == "6116"
    assert full_name("28C16", "LS") == "28C16"
