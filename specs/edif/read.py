"""From the tree of an EDIF file to libraries, cells and netlist views.

The grammar is that of EDIF 2 0 0 (ANSI/EIA-548-1988, from memory). What says nothing about a
netlist (pictures, geometry, timing, simulation) is passed over; what could change who is connected
to whom, and is not understood, is an error.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from breadproof.specs.edif.model import (
    Cell,
    Design,
    EdifFile,
    Instance,
    Name,
    Net,
    Port,
    PortRef,
    View,
)
from breadproof.specs.edif.pieces import Pieces
from breadproof.specs.edif.tree import Atom, Form, Source, read_form, read_source
from breadproof.specs.reading.diagnostics import Problems

MAX_PROBLEMS = 100
"""So many problems of one file are told; the rest would say the same."""
_DIRECTIONS = ("input", "output", "inout")
_NETLIST_ONLY = "Export the file again as a netlist (EDIF 2 0 0, view type NETLIST)."


@contextmanager
def collector_paused() -> Iterator[None]:
    """Nothing read here stands in a cycle, and looking for some takes as long as reading."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def read_edif(path: Path, problems: Problems) -> EdifFile | None:
    """The file; None, with problems, if it is not EDIF 2 0 0 at all."""
    source = read_source(path, problems)
    if source is None:
        return None
    return parse_edif(source, problems)


def parse_edif(source: Source, problems: Problems) -> EdifFile | None:
    """The file of a text; None, with problems, if it is not EDIF 2 0 0 at all."""
    own = Problems()
    whole = read_form(source, own)
    found = None if whole is None else _Reader(source, own).file(whole)
    problems.found += own.found[:MAX_PROBLEMS]
    return found


class _Reader(Pieces):
    def file(self, whole: Form) -> EdifFile | None:
        name = self.name(whole)
        version = whole.form("edifversion")
        numbers = [self.integer(item) for item in version.items] if version else []
        if numbers != [2, 0, 0]:
            told = " ".join(str(number) for number in numbers)
            self.bad(
                f"this is EDIF {told}, and 2 0 0 is read" if told else "no EDIF version is told",
                version or whole,
                "Export it as EDIF 2 0 0 (ANSI/EIA-548): '(edifVersion 2 0 0)'.",
                "edif-version",
            )
            return None
        for keywords in whole.forms("keywordmap"):
            for alias in keywords.forms("keywordalias", "keyworddefine"):
                self.bad(
                    "the file defines keywords of its own, which are not read",
                    alias,
                    "Export it with keyword level 0.",
                    "edif-version",
                )
        found = EdifFile(
            source=self.source,
            name=name or Name("", "", 0, 1),
            cells={},
            libraries={},
            designs=[],
            written=self.status(whole),
            comments=self.comments(whole),
        )
        for form in whole.forms("library", "external"):
            self.library(form, found)
        for form in whole.forms("design"):
            design = self.design(form)
            if design is not None:
                found.designs.append(design)
        return found

    def twice(self, what: str, name: Name, first: Name, hint: str) -> None:
        again = "" if name.shown == first.shown else f" ('{first.shown}' before)"
        self.problems.error(
            "edif-name-twice",
            f"a second {what} '{name.shown}'{again}: capitals do not matter in EDIF",
            self.source.span(name.at, name.length),
            hint=hint,
            related=(("first here", self.source.span(first.at, first.length)),),
        )

    def library(self, form: Form, found: EdifFile) -> None:
        name = self.name(form)
        if name is None:
            return
        before = found.libraries.setdefault(name.key, name)
        if before is not name:
            self.twice("library", name, before, "Each library stands once in a file.")
            return
        for item in form.forms("cell"):
            cell = self.cell(item, name.key)
            if cell is None:
                continue
            first = found.cells.setdefault((name.key, cell.name.key), cell)
            if first is not cell:
                hint = f"Each cell stands once in library '{name.shown}'."
                self.twice("cell", cell.name, first.name, hint)

    def cell(self, form: Form, library: str) -> Cell | None:
        name = self.name(form)
        if name is None:
            return None
        cell = Cell(library=library, name=name, properties=self.properties(form))
        for item in form.forms("view"):
            kind = item.form("viewtype")
            first = kind.items[0] if kind is not None and kind.items else None
            text = first[0].upper() if isinstance(first, tuple) else ""
            if text != "NETLIST":
                cell.others = (*cell.others, text or "none")
                continue
            view = self.view(item)
            if view is not None:
                before = cell.views.setdefault(view.name.key, view)
                if before is not view:
                    hint = f"Each view of cell '{name.shown}' has a name of its own."
                    self.twice("view", view.name, before.name, hint)
        return cell

    def view(self, form: Form) -> View | None:
        name = self.name(form)
        if name is None:
            return None
        view = View(name=name, properties=self.properties(form), comments=self.comments(form))
        for interface in form.forms("interface"):
            for item in interface.forms("port"):
                self.port(item, view)
            for bundle in interface.forms("portbundle"):
                for ports in bundle.forms("listofports"):
                    for item in ports.forms("port"):
                        self.port(item, view)
        for contents in form.forms("contents"):
            view.made = True
            view.comments += self.comments(contents)
            self.contents(contents, view)
        return view

    def port(self, form: Form, view: View) -> None:
        name = self.name(form)
        if name is None:
            return
        told = form.form("direction")
        first = told.items[0] if told is not None and told.items else None
        direction = first[0].lower() if isinstance(first, tuple) else ""
        if told is not None and direction not in _DIRECTIONS:
            self.bad(f"'{direction}' is no direction", told, "It is INPUT, OUTPUT or INOUT.")
        port = Port(name, direction, self.designator(form), self.properties(form))
        before = view.ports.setdefault(name.key, port)
        if before is not port:
            hint = "Each port of an interface has a name of its own."
            self.twice("port", name, before.name, hint)

    def contents(self, form: Form, view: View) -> None:
        for item in form.items:
            if not isinstance(item, Form):
                continue
            match item.keyword:
                case "instance":
                    self.instance(item, view)
                case "net":
                    self.net_of_view(item, view)
                case "netbundle":
                    for nets in item.forms("listofnets"):
                        for net in nets.forms("net"):
                            self.net_of_view(net, view)
                case "page":
                    self.bad("a netlist view has no pages", item, _NETLIST_ONLY, "edif-unsupported")
                case "comment" | "userdata" | "figure" | "portimplementation" | "boundingbox":
                    pass
                case "commentgraphics" | "offpageconnector" | "timing" | "simulate" | "when":
                    pass
                case "section" | "protectionframe" | "follow" | "logicport" | "property":
                    pass
                case _:
                    self.bad(
                        f"'({item.keyword}' is not understood in the contents of a netlist",
                        item,
                        "It could change who is connected to whom. " + _NETLIST_ONLY,
                        "edif-unsupported",
                    )

    def instance(self, form: Form, view: View) -> None:
        name = self.name(form)
        ref = form.form("viewref")
        cell = ref.form("cellref") if ref is not None else None
        if name is None:
            return
        if ref is None or cell is None:
            self.bad(
                f"instance '{name.shown}' does not say which cell it is",
                form.form("viewlist") or form,
                "Write (viewRef VIEW (cellRef CELL (libraryRef LIBRARY))).",
            )
            return
        library = cell.form("libraryref")
        view_name, cell_name = self.name(ref), self.name(cell)
        library_name = self.name(library) if library is not None else None
        if view_name is None or cell_name is None:
            return
        pins: dict[str, str] = {}
        properties = self.properties(form)
        for item in form.forms("portinstance"):
            port, member = self.member(item.items[0]) if item.items else (None, None)
            designator = self.designator(item)
            if port is not None and designator:
                pins[port.key if member is None else f"{port.key}[{member}]"] = designator
        instance = Instance(
            name=name,
            library=library_name.key if library_name else "",
            cell=cell_name.key,
            view=view_name.key,
            ref=cell_name,
            designator=self.designator(form),
            properties=properties,
            pins=pins,
        )
        before = view.instances.setdefault(name.key, instance)
        if before is not instance:
            hint = "Each instance of a view has a name of its own."
            self.twice("instance", name, before.name, hint)

    def net_of_view(self, form: Form, view: View) -> None:
        net = self.net(form)
        if net is None:
            return
        before = view.nets.setdefault(net.name.key, net)
        if before is not net:
            hint = "Each net of a view has a name of its own; two pieces are one net with both."
            self.twice("net", net.name, before.name, hint)

    def net(self, form: Form) -> Net | None:
        """A net and those inside it, which are pieces of it."""
        name = self.name(form)
        if name is None:
            return None
        whole = Net(name, [], self.properties(form), [])
        forms = [(form, whole)]
        while forms:
            here, net = forms.pop()
            for item in here.items:
                if not isinstance(item, Form):
                    continue
                if item.keyword == "joined":
                    net.joined += self.joined(item)
                elif item.keyword == "net":
                    inner_name = self.name(item)
                    if inner_name is not None:
                        inner = Net(inner_name, [], (), [])
                        net.inner.append(inner)
                        forms.append((item, inner))
        return whole

    def joined(self, form: Form) -> Iterator[tuple[PortRef, ...]]:
        for item in form.items:
            if isinstance(item, Form) and item.keyword == "portref":
                ref = self.port_ref(item)
                if ref is not None:
                    yield (ref,)
            elif isinstance(item, Form) and item.keyword == "portlist":
                refs = [self.port_ref(one) for one in item.forms("portref")]
                yield tuple(ref for ref in refs if ref is not None)
            elif isinstance(item, Form) and item.keyword == "comment":
                continue
            else:
                what = item[0] if isinstance(item, tuple) else f"({item.keyword}"
                self.bad(
                    f"'{what}' cannot be joined: a port is expected here",
                    item,
                    "Write (portRef PORT (instanceRef INSTANCE)).",
                    "edif-unsupported" if isinstance(item, Form) else "edif-shape",
                )

    def port_ref(self, form: Form) -> PortRef | None:
        port, member = self.member(form.items[0]) if form.items else (None, None)
        if port is None:
            self.bad("this portRef names no port", form, "Write (portRef PORT).")
            return None
        instance: Name | None = None
        instance_member: int | None = None
        for item in form.items[1:]:
            inner = item if isinstance(item, Form) else None
            if inner is not None and inner.keyword == "instanceref" and inner.items:
                instance, instance_member = self.member(inner.items[0])
                if instance is not None and len(inner.items) == 1:
                    continue
            self.strange(item)
            return None
        return PortRef(port, member, instance, instance_member)

    def strange(self, item: Atom | Form) -> None:
        self.bad(
            "a port belongs to an instance of the same view, or to the view itself",
            item,
            "Write (portRef PORT (instanceRef INSTANCE)); a port name with spaces is renamed.",
            "edif-unsupported",
        )

    def design(self, form: Form) -> Design | None:
        name = self.name(form)
        cell = form.form("cellref")
        library = cell.form("libraryref") if cell is not None else None
        if name is None:
            return None
        if cell is None:
            self.bad(
                "the design does not say which cell it is",
                form,
                "Write (design NAME (cellRef CELL (libraryRef LIBRARY))).",
            )
            return None
        cell_name = self.name(cell)
        library_name = self.name(library) if library is not None else None
        if cell_name is None:
            return None
        return Design(
            name=name,
            library=library_name.key if library_name else "",
            cell=cell_name.key,
            ref=cell_name,
            properties=self.properties(form),
        )
