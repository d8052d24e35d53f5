"""What the tests of EDIF share: reading a text, and small drawings."""

from __future__ import annotations

from pathlib import Path

from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.reading.diagnostics import BadInput


def wrapped(
    top: str, cells: str, design: str = "(design store (cellRef top (libraryRef main)))"
) -> str:
    """A whole file after EIA-548: ``cells`` in one library, the view ``top`` in another."""
    return f"""\
(edif store (edifVersion 2 0 0) (edifLevel 0) (keywordMap (keywordLevel 0))
(library parts (edifLevel 0) (technology (numberDefinition))
{cells}
)
(library main (edifLevel 0) (technology (numberDefinition))
(cell top (cellType GENERIC) (view v (viewType NETLIST)
{top}
)))
{design})
"""


def cell(name: str, *ports: str) -> str:
    """A cell of those ports, each a name or a form, on a line of its own."""
    inner = " ".join(f"(port {port})" for port in ports)
    return f"(cell {name} (cellType GENERIC) (view v (viewType NETLIST) (interface {inner})))"


def board(folder: Path, edif: str, mapping: str = "", more: str = "", key: str = "") -> Path:
    """A board file beside an EDIF file and a mapping file."""
    (folder / "store.edf").write_text(edif, "utf-8")
    told = "file: store.edf"
    if mapping:
        (folder / "map.yaml").write_text(mapping, "utf-8")
        told += ", mapping: map.yaml"
    path = folder / "board.yaml"
    path.write_text(f"board: store\nedif: {{{told}{key}}}\n{more}", "utf-8")
    return path


def read(folder: Path, edif: str, mapping: str = "", more: str = "", key: str = "") -> Netlist:
    """The netlist of a board file with that EDIF file."""
    return load_netlist(board(folder, edif, mapping, more, key))


def told(folder: Path, edif: str, mapping: str = "", more: str = "", key: str = "") -> str:
    """What is said of a board that cannot be read; without the folder."""
    try:
        read(folder, edif, mapping, more, key)
    except BadInput as bad:
        return str(bad).replace(f"{folder}/", "")
    raise AssertionError("the board was read")


def nets(netlist: Netlist) -> dict[str, list[str]]:
    """The labels of the pins of each net."""
    return {net.name: [pin.label for pin in net.pins] for net in netlist.nets}
