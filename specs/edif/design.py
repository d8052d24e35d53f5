"""Which cell a file is of."""

from __future__ import annotations

from breadproof.specs.edif.model import Cell, Design, EdifFile, View
from breadproof.specs.reading.diagnostics import Problems


def find_design(
    file: EdifFile, wanted: str, problems: Problems
) -> tuple[Cell, Design | None] | None:
    """The top cell; without a design it is the one cell with contents that no other uses.

    ``wanted`` names the design, or the cell, where there are several ("": the one there is).
    """
    start = file.source.span(0, 5)
    for design in file.designs:
        if wanted and wanted not in (design.name.shown, design.name.key):
            continue
        cells = [
            cell
            for (library, name), cell in file.cells.items()
            if name == design.cell and design.library in ("", library)
        ]
        if len(cells) == 1:
            if len(file.designs) > 1 and not wanted:
                break
            return cells[0], design
        problems.error(
            "edif-missing",
            f"there is no cell '{design.ref.shown}' in the library"
            if not cells
            else f"there are {len(cells)} cells '{design.ref.shown}'",
            file.source.span(design.ref.at, design.ref.length),
            hint="Name the cell's library: (cellRef CELL (libraryRef LIBRARY)).",
        )
        return None
    names = [design.name.shown for design in file.designs]
    if names:
        problems.error(
            "edif-design",
            f"there is no design '{wanted}'" if wanted else f"the file has {len(names)} designs",
            start,
            hint=f"Say which: 'design: {names[0]}'. There is {', '.join(names)}.",
        )
        return None
    views = [view for cell in file.cells.values() for view in cell.views.values()]
    used = {instance.cell for view in views for instance in view.instances.values()}
    tops = [
        cell
        for cell in file.cells.values()
        if any(view.made for view in cell.views.values()) and cell.name.key not in used
        if wanted in ("", cell.name.shown, cell.name.key)
    ]
    if len(tops) == 1:
        return tops[0], None
    shown = ", ".join(cell.name.shown for cell in tops[:6])
    problems.error(
        "edif-design",
        f"no design is told, and {len(tops)} cells could be it: {shown}"
        if tops
        else "no design is told, and no cell has a netlist inside",
        start,
        hint="Say which cell: 'design: CELL'."
        if tops
        else "Export the file again as a netlist (EDIF 2 0 0, view type NETLIST).",
    )
    return None


def netlist_view(cell: Cell, problems: Problems, file: EdifFile) -> View | None:
    """The netlist view of the top cell: the first that has contents."""
    made = [view for view in cell.views.values() if view.made] or list(cell.views.values())
    if made:
        return made[0]
    kinds = f"; its views are {', '.join(cell.others)}" if cell.others else ""
    problems.error(
        "edif-missing",
        f"cell '{cell.name.shown}' has no view of type NETLIST{kinds}",
        file.source.span(cell.name.at, cell.name.length),
        hint="Export the file again as a netlist (EDIF 2 0 0, view type NETLIST).",
    )
    return None
