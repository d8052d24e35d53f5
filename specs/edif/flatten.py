"""One flat drawing from cells that use cells: leaf instances, and nets that join their ports."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from breadproof.specs.edif.design import find_design, netlist_view
from breadproof.specs.edif.model import (
    Cell,
    Design,
    EdifFile,
    Instance,
    Name,
    Net,
    Port,
    PortRef,
    Property,
    View,
)
from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.yamltree import near

MAX_INSTANCES = 20_000
MAX_LEVELS = 40
"""Larger drawings are refused: cells that use cells can be far larger than their file."""
PortBit = tuple[str, int | None]
"""A port's identifier, and the member of an array."""


@dataclass(slots=True)
class FlatInstance:
    """A leaf cell somewhere in the drawing; ``path`` are the blocks that it is in."""

    path: tuple[str, ...]
    name: str
    designator: str
    cell: Cell
    view: View
    properties: tuple[Property, ...]
    pins: dict[str, str]
    span: Span


@dataclass(slots=True)
class FlatNet:
    """``names`` as they are shown, the highest level first; ``pins`` are leaf ports."""

    names: list[str]
    span: Span
    pins: list[tuple[int, PortBit, Span]] = field(default_factory=list)
    properties: tuple[Property, ...] = ()


@dataclass(slots=True)
class FlatPort:
    """A port of the whole drawing; ``labels`` and ``nets`` run from member 0 on.

    ``sure``: it is no array, or its name tells the numbers of the members.
    """

    name: str
    sure: bool
    direction: str
    labels: tuple[str, ...]
    nets: tuple[int, ...]
    span: Span


@dataclass(slots=True)
class Drawing:
    """A flat drawing."""

    name: str
    top: View
    cell: Cell
    design: Design | None
    instances: list[FlatInstance]
    nets: list[FlatNet]
    ports: list[FlatPort]


@dataclass(slots=True)
class _Block:
    """A view in use: ``bits`` are the nodes of its ports."""

    path: tuple[str, ...]
    view: View
    cell: Cell
    above: tuple[str, ...]
    bits: dict[PortBit, int]


def flatten(
    file: EdifFile, wanted: str, is_part: Callable[[Cell], bool], problems: Problems
) -> Drawing | None:
    """The drawing of the design ``wanted`` ("": the one there is); ``is_part`` tells which cells
    are parts whatever is drawn inside them. None if there is no such design."""
    found = find_design(file, wanted, problems)
    if found is None:
        return None
    cell, design = found
    view = netlist_view(cell, problems, file)
    return None if view is None else _Flattener(file, is_part, problems).drawing(cell, view, design)


class _Flattener:
    def __init__(self, file: EdifFile, is_part: Callable[[Cell], bool], problems: Problems) -> None:
        self.file = file
        self.source = file.source
        self.is_part = is_part
        self.problems = problems
        self.parent: list[int] = []
        self.pins: dict[int, list[tuple[int, PortBit, Span]]] = {}
        self.named: list[tuple[int, int, str, Span, tuple[Property, ...]]] = []
        self.instances: list[FlatInstance] = []
        self.by_name: dict[str, list[Cell]] = {}
        for cell in file.cells.values():
            self.by_name.setdefault(cell.name.key, []).append(cell)
        self.told: set[tuple[str, int]] = set()
        self.size = 0

    def node(self) -> int:
        self.parent.append(len(self.parent))
        return len(self.parent) - 1

    def root(self, node: int) -> int:
        parent = self.parent
        while parent[node] != node:
            parent[node] = parent[parent[node]]
            node = parent[node]
        return node

    def union(self, a: int, b: int) -> None:
        a, b = self.root(a), self.root(b)
        self.parent[max(a, b)] = min(a, b)

    def bad(self, message: str, name: Name, hint: str, code: str = "edif-missing") -> None:
        if (message, name.at) not in self.told:  # once, however often the block is used
            self.told.add((message, name.at))
            self.problems.error(code, message, self.source.span(name.at, name.length), hint=hint)

    def drawing(self, cell: Cell, view: View, design: Design | None) -> Drawing | None:
        top = _Block((), view, cell, (), {})
        for port in view.ports.values():
            for bit in _bits(port):
                top.bits[bit] = self.node()
        blocks = [top]
        while blocks:
            block = blocks.pop()
            inner = self.block(block)
            if inner is None:
                return None
            blocks += reversed(inner)
        nets, place = self.nets()
        ports = [
            FlatPort(
                name=port.name.shown,
                sure=port.name.size == 0 or port.name.ranged,
                direction=port.direction,
                labels=tuple(_label(port, bit) for bit in _bits(port)),
                nets=tuple(self.net_of(top.bits[bit], port, bit, nets, place)
                           for bit in _bits(port)),
                span=self.source.span(port.name.at, port.name.length),
            )
            for port in view.ports.values()
        ]  # fmt: skip
        name = design.name.shown if design is not None else cell.name.shown
        return Drawing(name, view, cell, design, self.instances, nets, ports)

    def net_of(
        self, node: int, port: Port, bit: PortBit, nets: list[FlatNet], place: dict[int, int]
    ) -> int:
        """The net of a port of the drawing; one that is joined to nothing gets a net of its own."""
        root = self.root(node)
        if root not in place:
            place[root] = len(nets)
            span = self.source.span(port.name.at, port.name.length)
            nets.append(FlatNet([_label(port, bit)], span))
        return place[root]

    def nets(self) -> tuple[list[FlatNet], dict[int, int]]:
        place: dict[int, int] = {}
        nets: list[FlatNet] = []
        for _, node, name, span, properties in sorted(self.named, key=lambda one: one[0]):
            root = self.root(node)
            if root not in place:
                place[root] = len(nets)
                nets.append(FlatNet([], span, self.pins.get(root, [])))
            net = nets[place[root]]
            net.names.append(name)
            net.properties += properties
        for node, pins in self.pins.items():
            root = self.root(node)
            if root != node:
                nets[place[root]].pins += pins
        return nets, place

    # a block ----------------------------------------------------------------------------------

    def block(self, block: _Block) -> list[_Block] | None:
        """Add what is in a block; the blocks inside it come back. None: the drawing is refused."""
        leaves: dict[PortBit, int] = {}
        ports: dict[str, View] = {}
        inner: dict[PortBit, _Block] = {}
        for instance in block.view.instances.values():
            found = self.cell_of(instance)
            if found is None:
                continue
            cell, view = found
            ports[instance.name.key] = view
            key = (cell.library, cell.name.key)
            leaf = not view.made or self.is_part(cell)
            if not leaf and (f"{key}" in block.above or len(block.path) > MAX_LEVELS):
                self.bad(
                    f"cell '{cell.name.shown}' is made of itself",
                    instance.ref,
                    "A cell cannot be used inside itself.",
                    "edif-in-itself",
                )
                return None
            for member in range(instance.name.size) if instance.name.size else (None,):
                name = instance.name.shown if member is None else instance.name.label(member)
                place = (instance.name.key, member)
                if leaf:
                    leaves[place] = len(self.instances)
                    self.leaf(block, instance, name, cell, view)
                else:
                    bits = {bit: self.node() for port in view.ports.values() for bit in _bits(port)}
                    above = (*block.above, f"{key}")
                    inner[place] = _Block((*block.path, name), view, cell, above, bits)
                self.size += 1
            if self.size > MAX_INSTANCES:
                self.bad(
                    f"the drawing has more than {MAX_INSTANCES:,} parts",
                    instance.name,
                    "Check that this is the right file.",
                    "edif-too-large",
                )
                return None
        self.wire(block, leaves, inner, ports)
        return list(inner.values())

    def cell_of(self, instance: Instance) -> tuple[Cell, View] | None:
        cells = [
            cell
            for cell in self.by_name.get(instance.cell, ())
            if instance.library in ("", cell.library)
        ]
        if len(cells) != 1:
            library = self.file.libraries.get(instance.library)
            where = f" in library '{library.shown}'" if library else ""
            if instance.library and library is None:
                where = f": there is no library '{instance.library}'"
            self.bad(
                f"there is no cell '{instance.ref.shown}'{where}"
                if not cells
                else f"{len(cells)} libraries have a cell '{instance.ref.shown}'",
                instance.ref,
                near(instance.cell, list(self.by_name))
                or "Name the cell's library: (cellRef CELL (libraryRef LIBRARY)).",
            )
            return None
        cell = cells[0]
        view = cell.views.get(instance.view)
        if view is None:
            views = ", ".join(one.name.shown for one in cell.views.values())
            self.bad(
                f"cell '{cell.name.shown}' has no netlist view '{instance.view}'",
                instance.ref,
                f"It has {views}." if views else "A part needs a view of type NETLIST: its ports.",
            )
            return None
        return cell, view

    def leaf(self, block: _Block, instance: Instance, name: str, cell: Cell, view: View) -> None:
        self.instances.append(
            FlatInstance(
                path=block.path,
                name=name,
                designator=instance.designator,
                cell=cell,
                view=view,
                properties=instance.properties,
                pins=instance.pins,
                span=self.source.span(instance.name.at, instance.name.length),
            )
        )

    # nets -------------------------------------------------------------------------------------

    def wire(
        self,
        block: _Block,
        leaves: dict[PortBit, int],
        inner: dict[PortBit, _Block],
        ports: dict[str, View],
    ) -> None:
        joined: dict[tuple[str, int | None, str, int | None], PortRef] = {}
        prefix = "".join(f"{name}/" for name in block.path)
        for net in block.view.nets.values():
            size = net.name.size or 1
            nodes = [self.node() for _ in range(size)]
            span = self.source.span(net.name.at, net.name.length)
            for member, node in enumerate(nodes):
                label = net.name.label(member) if net.name.size else net.name.shown
                self.named.append((len(block.path), node, prefix + label, span, net.properties))
            for piece in net.inner if size == 1 else ():
                place = self.source.span(piece.name.at, piece.name.length)
                shown = prefix + piece.name.shown
                self.named.append((len(block.path), nodes[0], shown, place, ()))
            for row in _rows(net):
                flat = [bit for ref in row for bit in self.bits(ref, block, ports)]
                if len(flat) != size:
                    if len(flat) or size > 1:
                        self.bad(
                            f"net '{net.name.shown}' has {size} members, and {len(flat)} ports "
                            "are joined to them",
                            row[0].port if row else net.name,
                            "Join as many with as many.",
                            "edif-width",
                        )
                    continue
                for node, (ref, port, bit) in zip(nodes, flat, strict=True):
                    owner = ref.instance.key if ref.instance else ""
                    key = (owner, ref.instance_member, port, bit)
                    first = joined.setdefault(key, ref)
                    if first is not ref:
                        self.again(ref, first)
                    self.attach(node, ref, (port, bit), block, leaves, inner)

    def again(self, ref: PortRef, first: PortRef) -> None:
        owner = f"{ref.instance.shown}." if ref.instance else ""
        message = f"port {owner}{ref.port.shown} is joined twice"
        if (message, ref.port.at) in self.told:
            return
        self.told.add((message, ref.port.at))
        self.problems.error(
            "edif-joined-twice",
            message,
            self.source.span(ref.port.at, ref.port.length),
            hint="A port is on one net: remove one, or make the two nets one.",
            related=(("first here", self.source.span(first.port.at, first.port.length)),),
        )

    def attach(
        self,
        node: int,
        ref: PortRef,
        bit: PortBit,
        block: _Block,
        leaves: dict[PortBit, int],
        inner: dict[PortBit, _Block],
    ) -> None:
        if ref.instance is None:
            self.union(node, block.bits[bit])
            return
        place = (ref.instance.key, ref.instance_member)
        if place in inner:
            self.union(node, inner[place].bits[bit])
        elif place in leaves:
            span = self.source.span(ref.port.at, ref.port.length)
            self.pins.setdefault(node, []).append((leaves[place], bit, span))
        else:
            self.bad(
                f"instance '{ref.instance.shown}' is an array, and no member is named"
                if ref.instance_member is None
                else f"'{ref.instance.shown}' has no member {ref.instance_member}",
                ref.instance,
                "Write (instanceRef (member NAME 0)).",
            )

    def bits(
        self, ref: PortRef, block: _Block, ports: dict[str, View]
    ) -> list[tuple[PortRef, str, int | None]]:
        """What a reference means: one port, one member, or all members of an array."""
        view = block.view
        if ref.instance is not None:
            if ref.instance.key not in block.view.instances:
                self.bad(
                    f"there is no instance '{ref.instance.shown}'",
                    ref.instance,
                    near(ref.instance.key, list(block.view.instances))
                    or "Instances are those of the same view.",
                )
                return []
            if ref.instance.key not in ports:
                return []  # its cell is missing; told there
            view = ports[ref.instance.key]
        port = view.ports.get(ref.port.key)
        if port is None:
            owner = f"instance '{ref.instance.shown}'" if ref.instance else "the view"
            names = [one.name.shown for one in view.ports.values()]
            shown = ", ".join(names[:20]) or "none"
            self.bad(
                f"{owner} has no port '{ref.port.shown}'",
                ref.port,
                near(ref.port.shown, names) or f"Its ports are {shown}.",
            )
            return []
        if ref.member is not None and ref.member >= port.name.size:
            self.bad(
                f"port '{port.name.shown}' has no member {ref.member}",
                ref.port,
                f"Its members are 0 to {port.name.size - 1}."
                if port.name.size
                else "It is no array.",
            )
            return []
        if ref.member is None and port.name.size:
            return [(ref, port.name.key, member) for member in range(port.name.size)]
        return [(ref, port.name.key, ref.member)]


def _bits(port: Port) -> Iterator[PortBit]:
    if port.name.size:
        yield from ((port.name.key, member) for member in range(port.name.size))
    else:
        yield port.name.key, None


def _label(port: Port, bit: PortBit) -> str:
    return port.name.shown if bit[1] is None else port.name.label(bit[1])


def _rows(net: Net) -> Iterator[tuple[PortRef, ...]]:
    """What is joined to a net and to its pieces."""
    nets = [net]
    while nets:
        here = nets.pop()
        yield from here.joined
        nets += reversed(here.inner)
