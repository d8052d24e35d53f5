"""The build backend: setuptools, in the two folders it needs, with yesterday's build cleared away.

pyproject.toml points setuptools at `.build` and `.egg`, so that the visible top level stays as it
is. Setuptools copies modules into `.build` and never takes one out again, so a module that was
deleted from the tree would still be shipped: the folder is emptied before every build. `.egg` has
to exist before setuptools writes into it.
"""

import shutil
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from setuptools import build_meta
from setuptools.command.sdist import sdist

_ROOT = Path(__file__).resolve().parent.parent

get_requires_for_build_wheel = build_meta.get_requires_for_build_wheel
get_requires_for_build_sdist = build_meta.get_requires_for_build_sdist
get_requires_for_build_editable = build_meta.get_requires_for_build_editable


def _tidy() -> None:
    shutil.rmtree(_ROOT / ".build", ignore_errors=True)
    (_ROOT / ".egg").mkdir(exist_ok=True)


def prepare_metadata_for_build_wheel(*args: Any, **settings: Any) -> str:
    """PEP 517 hook; returns the name of the `.dist-info` folder it wrote."""
    _tidy()
    return str(build_meta.prepare_metadata_for_build_wheel(*args, **settings))


def prepare_metadata_for_build_editable(*args: Any, **settings: Any) -> str:
    """PEP 660 hook; returns the name of the `.dist-info` folder it wrote."""
    _tidy()
    return str(build_meta.prepare_metadata_for_build_editable(*args, **settings))


def build_wheel(*args: Any, **settings: Any) -> str:
    """PEP 517 hook; returns the wheel's file name."""
    _tidy()
    return str(build_meta.build_wheel(*args, **settings))


def build_editable(*args: Any, **settings: Any) -> str:
    """PEP 660 hook; returns the wheel's file name."""
    _tidy()
    return str(build_meta.build_editable(*args, **settings))


def build_sdist(*args: Any, **settings: Any) -> str:
    """PEP 517 hook; returns the archive's file name."""
    _tidy()
    return str(build_meta.build_sdist(*args, **settings))


class Sdist(sdist):  # type: ignore[misc]  # setuptools ships no types
    """Adds this very file to the source archive, which could not be built without it."""

    def make_release_tree(self, base_dir: str, files: Iterable[str]) -> None:
        """Copies `files`, and the backend beside them, into `base_dir`."""
        super().make_release_tree(base_dir, [*files, ".packaging/house_build.py"])
