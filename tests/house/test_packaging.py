"""What the tree holds is what is installed: nothing is forgotten, nothing lands beside it."""

import shutil
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from pathlib import Path

import pytest

from breadproof import __version__

ROOT = Path(__file__).resolve().parents[2]
SETTINGS = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]
LAYERS = ("export", "specs", "verify")
# The visible top level, as the user asked for it.
TOP_LEVEL = {"DEVELOPERS.md", "README.md", "export", "pyproject.toml", "specs", "tests", "verify"}


def _shipped_files() -> dict[str, Path]:
    """Every file of the tree that belongs into a wheel: its place there -> its place here."""
    files = {}
    for layer in LAYERS:
        for file in (ROOT / layer).rglob("*"):
            inside = file.relative_to(ROOT)
            hidden = any(part.startswith(".") for part in inside.parts)
            if not file.is_file() or hidden or file.suffix == ".pyc":
                continue
            folder = (
                "breadproof" if inside.is_relative_to("verify/front") else f"breadproof/{layer}"
            )
            base = "verify/front" if inside.is_relative_to("verify/front") else layer
            files[f"{folder}/{inside.relative_to(base)}"] = file
    return files


def test_the_visible_top_level_is_what_was_agreed() -> None:
    assert {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} == TOP_LEVEL


def test_pyproject_lists_every_package_of_the_tree() -> None:
    folders = {str(Path(name).parent) for name in _shipped_files()}
    packages = {folder.replace("/", ".") for folder in folders}
    assert sorted(packages) == SETTINGS["packages"]


def test_every_package_has_an_init() -> None:
    shipped = _shipped_files()
    folders = {str(Path(name).parent) for name in shipped}
    assert [folder for folder in sorted(folders) if f"{folder}/__init__.py" not in shipped] == []


def test_no_module_is_longer_than_500_lines() -> None:
    long = [
        f"{name}: {count} lines"
        for name, file in sorted(_shipped_files().items())
        if file.suffix == ".py" and (count := len(file.read_text("utf-8").splitlines())) > 500
    ]
    assert long == []


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of what a build reads, so that no two tests build in one folder."""
    copy = tmp_path_factory.mktemp("tree")
    for name in (*LAYERS, ".packaging"):
        shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, copy)
    return copy


def _build(tree: Path, hook: str, target: Path) -> Path:
    """Calls a hook of the build backend in `tree`; returns the file that it made in `target`."""
    code = f"import house_build; print('made', house_build.{hook}({str(target)!r}))"
    run = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tree,
        env={"PYTHONPATH": str(tree / ".packaging")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    return target / run.stdout.splitlines()[-1].removeprefix("made ")


def _wheel_names(wheel: Path) -> set[str]:
    return set(zipfile.ZipFile(wheel).namelist())


def test_a_wheel_holds_every_file_and_puts_nothing_else_at_the_top(
    tree: Path, tmp_path: Path
) -> None:
    names = _wheel_names(_build(tree, "build_wheel", tmp_path))
    assert {name.split("/")[0] for name in names} == {
        "breadproof",
        f"breadproof-{__version__}.dist-info",
    }
    code = {name for name in names if name.startswith("breadproof/")}
    assert code == set(_shipped_files())
    assert "breadproof/py.typed" in code


def test_a_module_that_was_deleted_is_not_shipped_again(tree: Path, tmp_path: Path) -> None:
    extra = tree / "specs" / "gone.py"
    extra.write_text('"""Here for one build."""\n')
    try:
        first = _wheel_names(_build(tree, "build_wheel", tmp_path))
    finally:
        extra.unlink()
    second = _wheel_names(_build(tree, "build_wheel", tmp_path))
    assert first - second == {"breadproof/specs/gone.py"}


def test_a_wheel_can_be_built_from_the_source_archive(tree: Path, tmp_path: Path) -> None:
    archive = _build(tree, "build_sdist", tmp_path)
    with tarfile.open(archive) as tar:
        tar.extractall(tmp_path, filter="data")
    unpacked = tmp_path / archive.name.removesuffix(".tar.gz")
    from_archive = _wheel_names(_build(unpacked, "build_wheel", tmp_path / "a"))
    assert from_archive == _wheel_names(_build(tree, "build_wheel", tmp_path / "b"))
