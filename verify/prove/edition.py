"""Which edition of the tool this is, to the byte: answers of another one are not taken."""

from __future__ import annotations

import functools
import hashlib
import platform
from importlib import import_module
from pathlib import Path

ROOMS = ("breadproof.specs", "breadproof.verify.prove")
"""All that decides about a verdict, once a board is read."""


@functools.cache
def edition() -> str:
    """A digest of the code that reads and proves, of the solvers' versions and of Python's."""
    import pysat
    import z3

    solvers = f"{z3.get_full_version()} {pysat.__version__}"
    told = hashlib.sha256(f"{solvers} {platform.python_version()}".encode())
    for room in ROOMS:
        file = import_module(room).__file__
        assert file is not None, "these packages are folders"
        folder = Path(file).parent
        for path in sorted(folder.rglob("*.py")):
            told.update(f"\n{path.relative_to(folder)}\n".encode())
            told.update(path.read_bytes())
    return told.hexdigest()
