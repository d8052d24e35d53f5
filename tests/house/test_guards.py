"""A folder of the tree must not be imported under a second name."""

import importlib.util
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def _import_as(name: str, folder: Path) -> None:
    spec = importlib.util.spec_from_file_location(name, folder / "__init__.py")
    assert spec is not None
    assert spec.loader is not None
    spec.loader.exec_module(importlib.util.module_from_spec(spec))


@pytest.mark.parametrize("layer", ["specs", "export", "verify"])
def test_a_layer_imported_from_the_root_says_its_right_name(layer: str) -> None:
    with pytest.raises(ImportError) as caught:
        _import_as(layer, ROOT / layer)
    assert str(caught.value) == (
        f"this folder is the package 'breadproof.{layer}', and was imported as '{layer}'; "
        f"install the project (pip install -e .) and write 'import breadproof.{layer}'"
    )


def test_the_front_folder_is_not_reached_through_verify() -> None:
    with pytest.raises(ImportError, match=r"^this folder is the package 'breadproof', and was "):
        _import_as("breadproof.verify.front", ROOT / "verify" / "front")


@pytest.mark.parametrize(
    ("name", "folder"),
    [
        ("breadproof", "verify/front"),
        ("breadproof.specs", "specs"),
        ("breadproof.export", "export"),
        ("breadproof.verify", "verify"),
    ],
)
def test_the_right_names_are_let_in(name: str, folder: str) -> None:
    _import_as(name, ROOT / folder)
