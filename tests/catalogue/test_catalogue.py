"""Finding part files: the user's folders first, one file read at a time."""

from pathlib import Path

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue, UnknownPart
from breadproof.specs.catalogue.part import PartType
from breadproof.specs.catalogue.partfile import load_part
from breadproof.specs.reading.diagnostics import BadInput
from tests.catalogue.support import PART


def _folder(tmp_path: Path, **files: str) -> Path:
    for name, text in files.items():
        (tmp_path / f"{name.lstrip('_')}.yaml").write_text(text, encoding="utf-8")
    return tmp_path


def test_a_shipped_chip() -> None:
    chip = Catalogue().find("74LS157", "HC")
    assert (chip.type.number, chip.family.name, chip.printed) == ("157", "LS", "74LS157")
    assert chip.family.name in chip.type.families


def test_the_default_family_is_that_of_bare_numbers_only() -> None:
    catalogue = Catalogue()
    assert catalogue.find("157", "HC").family.name == "HC"
    assert catalogue.find("7400", "HC").family.name == "TTL"
    assert catalogue.find("6116", "HC").family.name == "MOS"
    assert catalogue.find("28C16", "LS").type.families == ("MOS",)


def test_a_family_without_that_function_is_given_all_the_same() -> None:
    chip = Catalogue().find("74HC189", "LS")
    assert chip.family.name == "HC"
    assert "HC" not in chip.type.families


def test_a_bare_number_of_the_4000_series_is_of_the_boards_family_only_where_that_has_it() -> None:
    catalogue = Catalogue()
    assert catalogue.find("4017", "HC").family.name == "HC"
    assert catalogue.find("4017", "LS").family.name == "4000B"
    assert catalogue.find("CD4017BE", "HC").family.name == "4000B"


def test_a_part_of_no_logic_family_has_no_family_letters() -> None:
    with pytest.raises(UnknownPart) as caught:
        Catalogue().find("74LS6116", "LS")
    assert caught.value.hint == "Did you mean 6116?"
    assert caught.value.why == "a 6116 is in no logic family, as '74LS6116' says"


def test_a_chip_of_the_54_series_has_its_own_limits() -> None:
    """54LS: V_IL 0.7 V, 4 mA at 0.4 V, 2.5 V, 4.5 V to 5.5 V; from memory of the data book."""
    chip = Catalogue().find("54LS00", "LS")
    assert (chip.family.name, chip.family.military) == ("LS", True)
    drive = chip.family.drive()
    assert (drive.v_ol, drive.v_oh, drive.i_ol) == pytest.approx((0.4, 2.5, 4e-3))
    assert chip.family.inputs.v_il == 0.7
    assert chip.family.supply == (4.5, 5.5)


def test_the_users_folder_is_searched_first(tmp_path: Path) -> None:
    own = PART.replace('part: "9"', 'part: "00"')
    first, second = tmp_path / "first", tmp_path / "second"
    first.mkdir()
    second.mkdir()
    _folder(first, _00=own)
    _folder(second, _00=own.replace("Gate and", "Other gate and"), _9=PART)
    catalogue = Catalogue([first, second])
    assert catalogue.find("74LS00", "LS").type.title == "Gate and register"
    assert catalogue.find("9", "LS").type.title == "Gate and register"
    assert catalogue.find("74LS02", "LS").type.title == "Quad 2-input NOR gate"
    assert "9" in catalogue.numbers()


def test_only_the_file_that_is_asked_for_is_read_and_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[str] = []

    def noted(path: Path) -> PartType:
        read.append(path.name)
        return load_part(path)

    monkeypatch.setattr("breadproof.specs.catalogue.catalogue.load_part", noted)
    catalogue = Catalogue([_folder(tmp_path, broken="not: [a part", _9=PART)])
    catalogue.find("9", "LS")
    catalogue.find("9", "HC")
    assert read == ["9.yaml"]
    with pytest.raises(BadInput):
        catalogue.find("broken", "LS")


def test_a_folder_that_is_none_is_the_users_mistake(tmp_path: Path) -> None:
    missing = tmp_path / "missing"
    with pytest.raises(BadInput) as caught:
        Catalogue([missing])
    assert str(caught.value) == (
        f"{missing}:1:1: error: there is no such folder of part files [catalogue-folder]\n"
        "  Check the path; the part files that ship are found without it."
    )


def test_an_unknown_part_has_suggestions() -> None:
    with pytest.raises(UnknownPart) as caught:
        Catalogue().find("74LS149", "LS")
    assert caught.value.suggestions
    with pytest.raises(UnknownPart):
        Catalogue().part("9999")


def test_numbers_are_in_order() -> None:
    numbers = Catalogue().numbers()
    assert numbers[:4] == ("00", "01", "02", "03")
    assert numbers.index("86") < numbers.index("138")
    assert numbers.index("573") < numbers.index("6116") < numbers.index("28C16")
