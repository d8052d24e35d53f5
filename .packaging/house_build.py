"""The build backend: setuptools, in the two folders it needs, with yesterday's build cleared away.

pyproject.toml points setuptools at `.build` and `.egg`, so that the visible top level stays as it
is. Setuptools copies modules into `.build` and never takes one out again, so a module that was
deleted from the tree would still be shipped: the folder is emptied before every hook (PEP 517,
PEP 660). `.egg` has to exist before setuptools looks at its settings.
"""

import functools
import shutil
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from setuptools import build_meta
from setuptools.command.sdist import sdist

_ROOT = Path(__file__).resolve().parent.parent


def _tidied(hook: Callable[..., Any]) -> Callable[..., Any]:
    @functools.wraps(hook)
    def run(*arguments: Any, **settings: Any) -> Any:
        shutil.rmtree(_ROOT / ".build", ignore_errors=True)
        (_ROOT / ".egg").mkdir(exist_ok=True)
        return hook(*arguments, **settings)

    return run


get_requires_for_build_wheel = _tidied(build_meta.get_requires_for_build_wheel)
get_requires_for_build_sdist = _tidied(build_meta.get_requires_for_build_sdist)
get_requires_for_build_editable = _tidied(build_meta.get_requires_for_build_editable)
prepare_metadata_for_build_wheel = _tidied(build_meta.prepare_metadata_for_build_wheel)
prepare_metadata_for_build_editable = _tidied(build_meta.prepare_metadata_for_build_editable)
build_wheel = _tidied(build_meta.build_wheel)
build_sdist = _tidied(build_meta.build_sdist)
build_editable = _tidied(build_meta.build_editable)


class Sdist(sdist):  # type: ignore[misc]  # setuptools ships no types
    """Adds this very file to the source archive, which could not be built without it."""

    def make_release_tree(self, base_dir: str, files: Iterable[str]) -> None:
        """Copies `files`, and the backend beside them, into `base_dir`."""
        super().make_release_tree(base_dir, [*files, ".packaging/house_build.py"])
