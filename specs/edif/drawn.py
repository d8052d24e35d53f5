"""From an EDIF file to what a board file says: parts, nets, wires, ports; and notes on them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.catalogue.vectors import indices
from breadproof.specs.edif.flatten import Drawing, flatten
from breadproof.specs.edif.labels import Labelled, labelled
from breadproof.specs.edif.mapping import Mapping, read_mapping
from breadproof.specs.edif.model import EdifFile, Property
from breadproof.specs.edif.naming import Names, is_legal, legal
from breadproof.specs.edif.packages import Package, Packages, pack
from breadproof.specs.edif.parts import Meanings
from breadproof.specs.edif.read import collector_paused, read_edif
from breadproof.specs.edif.supplies import supply_nets
from breadproof.specs.netlist.level import rows_of
from breadproof.specs.reading.board import Board, NetEntry, PartEntry, PinRef, PortEntry
from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.edifkey import EdifEntry
from breadproof.specs.reading.wires import WireEntry
from breadproof.specs.reading.yamltree import Text

OURS = "breadproof"
"""The program of a status, for files that were written here: they tell more than others do."""
_DIRECTIONS = {"input": "in", "output": "out"}
_COUNTED = {
    "led": "1 A, 2 K",
    "diode": "1 A, 2 K",
    "led-bar": "k is A of lamp k, its K is opposite",
    "spdt": "2 is common",
    "potentiometer": "2 is the tap",
    "resistor-network": "1 is common; isolated, resistor k is between 2k-1 and 2k",
}
"""How board files count the pins of parts that drawings do not all count alike."""


@dataclass(slots=True)
class Notes:
    """What a drawing tells beyond the board file, for comments in it: by part, by net, at all."""

    head: list[str] = field(default_factory=list)
    parts: dict[str, list[str]] = field(default_factory=dict)
    nets: dict[str, list[str]] = field(default_factory=dict)


@dataclass(slots=True)
class Drawn:
    """A board file's items as the drawing has them, and the properties of the whole."""

    parts: list[PartEntry]
    nets: list[NetEntry]
    wires: list[WireEntry]
    ports: list[PortEntry]
    notes: Notes
    told: dict[str, tuple[Property, ...]]
    name: str


def with_edif(board: Board, problems: Problems, folders: Sequence[Path]) -> tuple[Board, Notes]:
    """The board with the parts and nets of its EDIF file; problems are collected.

    What the board file itself lists comes after, and a net of a name that the drawing has, too, is
    the same net.
    """
    with collector_paused():
        drawn = None if board.edif is None else draw(board, board.edif, problems, folders)
    if drawn is None:
        return replace(board, edif=None), Notes()
    return with_drawn(board, drawn), drawn.notes


def with_drawn(board: Board, drawn: Drawn) -> Board:
    """The board with the items of a drawing before its own."""
    own_ports = {port.name for port in board.ports}
    return replace(
        board,
        edif=None,
        parts=(*drawn.parts, *board.parts),
        nets=_merged(drawn.nets, board.nets),
        wires=(*drawn.wires, *board.wires),
        ports=(*(port for port in drawn.ports if port.name not in own_ports), *board.ports),
    )


def draw(
    board: Board, entry: EdifEntry, problems: Problems, folders: Sequence[Path]
) -> Drawn | None:
    """What the EDIF file of a board says; None, with problems, if it cannot be read at all."""
    folder = Path(board.file).parent
    before = len(problems.found)
    file = read_edif(folder / entry.file.value, problems)
    if len(problems.found) == before + 1 and problems.found[-1].code == "edif-unreadable":
        unreadable = problems.found.pop()
        message = f"'{entry.file.value}': {unreadable.message}"
        problems.error("edif-unreadable", message, entry.file.span, hint=unreadable.hint)
    mapping = Mapping()
    if entry.mapping is not None:
        path = folder / entry.mapping.value
        mapping = read_mapping(path, entry.mapping.span, problems)
    return None if file is None else drawn_of(board, entry, file, mapping, problems, folders)


def drawn_of(
    board: Board,
    entry: EdifEntry,
    file: EdifFile,
    mapping: Mapping,
    problems: Problems,
    folders: Sequence[Path],
) -> Drawn | None:
    """What a file says that is read already; None, with problems, if it has no such design."""
    folder = Path(board.file).parent
    catalogue = Catalogue(folders)
    if board.catalogue is not None:
        own = folder / board.catalogue.value
        if not own.is_dir():
            return None  # told when the parts are placed
        catalogue = catalogue.then(own)
    family = board.family.value.upper() if board.family else "LS"
    meanings = Meanings(mapping, catalogue, family, file.source)
    design = entry.design.value if entry.design is not None else ""
    drawing = flatten(file, design, meanings.is_part, problems)
    if drawing is None:
        return None
    packages = pack(drawing, meanings, folder, problems)
    return _Drawing(board, entry, file, drawing, packages, mapping, meanings, problems).drawn()


def _merged(drawn: list[NetEntry], own: tuple[NetEntry, ...]) -> tuple[NetEntry, ...]:
    """The drawing's nets, each with what the board file adds, then those of the file alone."""
    places = {(net.name, net.left, net.right, net.vector): n for n, net in enumerate(drawn)}
    nets = list(drawn)
    for entry in own:
        place = places.get((entry.name, entry.left, entry.right, entry.vector))
        if place is None:
            nets.append(entry)
        else:
            nets[place] = replace(nets[place], rows=(*nets[place].rows, *entry.rows))
    return tuple(nets)


class _Drawing:
    def __init__(
        self,
        board: Board,
        entry: EdifEntry,
        file: EdifFile,
        drawing: Drawing,
        packages: Packages,
        mapping: Mapping,
        meanings: Meanings,
        problems: Problems,
    ) -> None:
        self.board = board
        self.entry = entry
        self.file = file
        self.drawing = drawing
        self.packages = packages
        self.mapping = mapping
        self.meanings = meanings
        self.problems = problems
        self.notes = Notes()
        self.ours = OURS in file.written
        self.told = self.machine_told()

    def machine_told(self) -> dict[str, tuple[Property, ...]]:
        """Properties of the design, if this program wrote the file."""
        design = self.drawing.design
        if design is None or not self.ours:
            return {}
        found: dict[str, tuple[Property, ...]] = {}
        for one in design.properties:
            key = one.name.shown.lower()
            found[key] = (*found.get(key, ()), one)
        return found

    def drawn(self) -> Drawn:
        symbols = self.packages.supplies
        supplies = supply_nets(
            self.board, self.entry, self.drawing, symbols, self.problems, exact=self.ours
        )
        labels = labelled(self.drawing, supplies, self.told)
        kept = [entry.name.value for entry in self.board.parts]
        rails = [name.value for name, _ in self.board.rails]
        names = Names((*kept, "VCC", "GND", *rails))
        parts = self.part_names(names)
        pins = self.pins(labels, parts)
        called = self.net_names(labels, names)
        nets, wires = self.nets(labels, called, pins)
        self.head(supplies)
        return Drawn(
            parts=[
                PartEntry(
                    name=Text(value=name, span=self.place(package)),
                    printed=package.printed,
                    options=package.options,
                )
                for package, name in zip(self.packages.packages, parts, strict=True)
            ],
            nets=nets,
            wires=wires,
            ports=self.ports(labels, called),
            notes=self.notes,
            told=self.told,
            name=self.drawing.name,
        )

    def place(self, package: Package) -> Span:
        return self.drawing.instances[package.instances[0]].span

    # names ------------------------------------------------------------------------------------

    def part_names(self, names: Names) -> list[str]:
        """The name of each package, its designator where that can be."""
        packages = self.packages.packages
        count: dict[str, int] = {}
        for package in packages:
            count[package.name] = count.get(package.name, 0) + 1
        wanted = [
            "_".join((*package.path, package.name)) if count[package.name] > 1 else package.name
            for package in packages
        ]
        found: dict[int, str] = {}
        for sure in (True, False):  # names that can stay as they are come first
            for number, name in enumerate(wanted):
                if is_legal(name) == sure and number not in found:
                    found[number] = names.take(legal(name, "X", ours=self.ours))
        for number, package in enumerate(packages):
            self.part_notes(package, found[number])
        return [found[number] for number in range(len(packages))]

    def part_notes(self, package: Package, name: str) -> None:
        notes: list[str] = []
        if package.name != name:
            notes.append(f"{package.name} on the drawing")
        told: dict[str, None] = {}
        for number in package.instances:
            instance = self.drawing.instances[number]
            if instance.name != package.name:
                told[f"instance {'/'.join((*instance.path, instance.name))}"] = None
            if instance.cell.name.shown != package.printed.value:
                told[f"cell {instance.cell.name.shown}"] = None
            for one in (*instance.properties, *instance.cell.properties):
                if one.value.strip() and not self.ours:
                    told[f"{one.name.shown}: {one.value.strip()}"] = None
        self.notes.parts[name] = [*notes, *told]

    def net_names(self, labels: Labelled, names: Names) -> dict[str, str]:
        """What each label is called on the board; that of a bit is ``bus[3]``."""
        found: dict[str, str] = {}
        stems: dict[str, str] = {}
        singles = [label for label in labels.net_of if label not in labels.vector_of]
        for sure in (True, False):
            for bits in labels.vectors:
                if is_legal(bits.stem) == sure and bits.stem not in stems:
                    stems[bits.stem] = names.take(legal(bits.stem, "n", ours=self.ours))
            for label in singles:
                if label in labels.supplies:
                    found[label] = labels.supplies[label]
                elif is_legal(label) == sure and label not in found:
                    found[label] = names.take(legal(label, "n", ours=self.ours))
        for bits in labels.vectors:
            for label, number in zip(bits.labels, indices(bits.left, bits.right), strict=True):
                found[label] = f"{stems[bits.stem]}[{number}]"
        for label, net in labels.net_of.items():
            self.net_notes(label, net, found[label], labels)
        return found

    def net_notes(self, label: str, net: int, name: str, labels: Labelled) -> None:
        if net < 0 or labels.main[net] != label:
            return
        notes: list[str] = []
        known = self.drawing.nets[net].names
        shown = list(dict.fromkeys(other for other in (label, *known) if other != name))
        shown = [other for other in shown if other not in labels.net_of or other == label]
        if shown:
            notes.append(f"{', '.join(shown)} on the drawing")
        for one in self.drawing.nets[net].properties:
            if one.value.strip():
                notes.append(f"{one.name.shown}: {one.value.strip()}")
        if notes:
            self.notes.nets[name] = notes

    # nets -------------------------------------------------------------------------------------

    def pins(self, labels: Labelled, parts: list[str]) -> dict[str, list[PinRef]]:
        """The pins at each main label."""
        found: dict[str, list[PinRef]] = {}
        for package, name in zip(self.packages.packages, parts, strict=True):
            for number, (net, span) in package.pins.items():
                ref = PinRef(part=name, pin=number, span=span)
                found.setdefault(labels.main[net], []).append(ref)
            if self.mapping.hidden_supplies:
                self.hidden(package, name, labels, found)
        return found

    def hidden(
        self,
        package: Package,
        name: str,
        labels: Labelled,
        found: dict[str, list[PinRef]],
    ) -> None:
        """The supply pins of a chip, if the drawing has none of them."""
        pins = [
            (pin, "VCC" if pin.kind is PinKind.SUPPLY else "GND")
            for pin in (package.part.pins if package.part is not None else ())
            if pin.kind in (PinKind.SUPPLY, PinKind.GROUND)
        ]
        if any(pin.number in package.pins for pin, _ in pins):
            return
        for pin, rail in pins:
            labels.add_supply(rail)
            found.setdefault(labels.label_of(rail), []).append(
                PinRef(part=name, pin=pin.number, span=self.place(package))
            )

    def nets(
        self, labels: Labelled, called: dict[str, str], pins: dict[str, list[PinRef]]
    ) -> tuple[list[NetEntry], list[WireEntry]]:
        nets: list[NetEntry] = []
        wires: list[WireEntry] = []
        done: set[str] = set()
        start = self.file.source.span(0)
        for label in (*labels.mains(), *labels.net_of):
            if label in done:
                continue
            net = labels.net_of[label]
            span = self.drawing.nets[net].span if net >= 0 else start
            bits = labels.vector_of.get(label)
            if bits is None:
                done.add(label)
                rows = tuple((pin,) for pin in pins.get(label, ()))
                nets.append(_entry(called[label], 0, 0, False, rows, span))
                continue
            done.update(bits.labels)
            stem = called[bits.labels[0]].partition("[")[0]
            vector_rows, over = rows_of([pins.get(one, []) for one in bits.labels])
            vector = _entry(stem, bits.left, bits.right, True, vector_rows, span)
            nets.append(replace(vector, more=tuple(over)))
        for label in labels.aliases:
            net = labels.net_of[label]
            span = self.drawing.nets[net].span
            wires.append(_wire(called[labels.main[net]], called[label], span))
        return nets, wires

    # ports and notes --------------------------------------------------------------------------

    def ports(self, labels: Labelled, called: dict[str, str]) -> list[PortEntry]:
        found: dict[str, PortEntry] = {}
        for port in self.drawing.ports:
            for label in labels.port_labels(port):
                if label in labels.supplies:
                    continue
                name = called[label].partition("[")[0]
                direction = Text(value=_DIRECTIONS.get(port.direction, "both"), span=port.span)
                if name not in found:
                    entry = PortEntry(
                        name=name, numbering=None, direction=direction, span=port.span
                    )
                    found[name] = entry
        return list(found.values())

    def head(self, supplies: dict[str, tuple[int, ...]]) -> None:
        head = self.notes.head
        made = ", ".join(self.file.written)
        head.append(
            f"From the EDIF 2 0 0 file {Path(self.entry.file.value).name}"
            + (f" ({made})" if made else "")
            + f", design {self.drawing.name}."
        )
        head += [f"Comment of the file: {text}" for text in self.file.comments]
        head += [f"Comment of the drawing: {text}" for text in self.drawing.top.comments]
        if not self.told:
            design = self.drawing.design
            own = (
                *(design.properties if design is not None else ()),
                *self.drawing.cell.properties,
                *self.drawing.top.properties,
            )
            head += [f"{one.name.shown}: {one.value}" for one in own if one.value.strip()]
        for rail, nets in supplies.items():
            names = [name for net in nets for name in self.drawing.nets[net].names]
            if names and names != [rail]:
                head.append(f"{rail} is {', '.join(dict.fromkeys(names))} of the drawing.")
        used = {package.printed.value for package in self.packages.packages}
        if not self.ours:
            head += [
                f"Pins of a {device} that have numbers are counted as board files do: {how}. If "
                "the drawing counts otherwise, say so under 'ports' in the mapping file."
                for device, how in _COUNTED.items()
                if device in used
            ]
        ignored = sorted(set(self.packages.ignored))
        if ignored:
            head.append(f"Left out, as the mapping file says: {'; '.join(ignored)}.")


def _entry(
    name: str, left: int, right: int, vector: bool, rows: tuple[tuple[PinRef, ...], ...], span: Span
) -> NetEntry:
    return NetEntry(name=name, left=left, right=right, vector=vector, rows=rows, span=span)


def _wire(first: str, second: str, span: Span) -> WireEntry:
    ends = (Text(value=first, span=span), Text(value=second, span=span))
    return WireEntry(ends=ends, colour="", span=span)
