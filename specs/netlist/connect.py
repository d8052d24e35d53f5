"""From what a board file says to the flat netlist."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Literal

from breadproof.specs.breadboard.model import NO_BREADBOARD, Layout
from breadproof.specs.catalogue.catalogue import Catalogue, UnknownPart
from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.catalogue.vectors import indices
from breadproof.specs.netlist import model as m
from breadproof.specs.netlist.bounced import bounced
from breadproof.specs.netlist.controls import collect_controls
from breadproof.specs.netlist.crystals import swinging
from breadproof.specs.netlist.devices import called_here, quantity
from breadproof.specs.netlist.joining import Nets, join
from breadproof.specs.netlist.layout import PLACING, lay_out
from breadproof.specs.netlist.placing import place_part
from breadproof.specs.netlist.resets import resets
from breadproof.specs.reading.board import Board, NetEntry, PinRef
from breadproof.specs.reading.diagnostics import BadInput, Problems, Span
from breadproof.specs.reading.yamltree import Text, near


def connect(board: Board, problems: Problems, folders: Sequence[Path] = ()) -> m.Netlist:
    """The netlist of a board; problems are collected, and what has none still comes back.

    Parts are looked for in ``folders``, then in the folder that the board names, then in those
    that ship.

    Raises:
        BadInput: one of ``folders`` is no folder, or a part file has errors: of parts that cannot
            be read, nothing more can be said.
    """
    return _Connector(board, problems, Catalogue(folders)).netlist()


@dataclass(slots=True)
class _Connector:
    board: Board
    problems: Problems
    catalogue: Catalogue
    supply: float = 5.0
    rails: dict[str, float] = field(default_factory=dict)
    parts: dict[str, m.Part] = field(default_factory=dict)
    taken: dict[tuple[str, str], tuple[int, Span]] = field(default_factory=dict)
    net_names: list[tuple[str, Span]] = field(default_factory=list)
    vectors: list[m.Vector] = field(default_factory=list)
    names: dict[str, Span] = field(default_factory=dict)
    aliases: dict[str, int] = field(default_factory=dict)

    def netlist(self) -> m.Netlist:
        self.read_supplies()
        self.place_parts()
        for entry in self.board.nets:
            self.add_net(entry)
        layout = self.join_wires()
        self.add_moments()
        parts = swinging(tuple(self.with_nets(part) for part in self.parts.values()))
        pins: dict[int | None, list[m.Pin]] = {}
        for pin in (pin for part in parts for pin in part.pins):
            pins.setdefault(pin.net, []).append(pin)
        nets = tuple(
            m.Net(
                index=index,
                name=name,
                pins=tuple(pins.get(index, ())),
                span=span,
                rail=self.rail(name),
            )
            for index, (name, span) in enumerate(self.net_names)
        )
        ports = (*self.ports(nets), *self.moments(nets))
        found = collect_controls(parts, ports, nets)
        return m.Netlist(
            file=self.board.file,
            board=self.board.name,
            title=self.board.title,
            supply=self.supply,
            parts=parts,
            nets=nets,
            vectors=tuple(self.vectors),
            ports=ports,
            controls=found.controls,
            contacts=found.contacts,
            resistors=found.resistors,
            lamps=found.lamps,
            diodes=found.diodes,
            links=found.links,
            formulas=tuple(
                m.BoardFormula(
                    name=entry.name.value,
                    kind=entry.kind,
                    says=entry.says,
                    expr=entry.expr,
                    text=entry.text,
                    span=entry.name.span,
                )
                for entry in self.board.formulas
            ),
            together=self.together(found.controls),
            reset=tuple(resets(self.board.reset, found.controls, parts, self.problems)),
            bounces=tuple(bounced(self.board.bounces, found.controls, parts, self.problems)),
            layout=layout,
            aliases=tuple(self.aliases.items()),
            accepts=self.board.accepts,
            rails=(("VCC", self.supply), ("GND", 0.0), *self.rails.items()),
            supply_current=self.current(),
            supply_span=None if self.board.current is None else self.board.current.span,
        )

    def volts(self, text: Text) -> float:
        value = quantity(text.value)
        if value is None or not 0 < value <= 30:
            self.problems.error(
                "value-malformed",
                f"'{text.value}' is no supply voltage",
                text.span,
                hint="Write '5 V' or '3.3 V'.",
            )
            return 5.0
        return value

    def current(self) -> float | None:
        """What the supply gives, in amperes."""
        text = self.board.current
        if text is None:
            return None
        value = quantity(text.value.strip().removesuffix("A"))
        if value is None or not text.value.strip().endswith("A") or value <= 0:
            self.problems.error(
                "value-malformed",
                f"'{text.value}' is no current",
                text.span,
                hint="Write '500 mA' or '1 A'.",
            )
            return None
        return value

    def read_supplies(self) -> None:
        if self.board.supply is not None:
            self.supply = self.volts(self.board.supply)
        for name, value in self.board.rails:
            if name.value in ("VCC", "GND"):
                self.problems.error(
                    "rail-name",
                    f"{name.value} is not for 'rails'",
                    name.span,
                    hint="GND is 0 V; VCC is what 'supply' says. Give other rails other names.",
                )
            self.rails[name.value] = self.volts(value)

    def rail(self, name: str) -> float | None:
        if name == "GND":
            return 0.0
        return self.supply if name == "VCC" else self.rails.get(name)

    def place_parts(self) -> None:
        catalogue_folder = self.board.catalogue
        folder = Path(self.board.file).parent
        catalogue = self.catalogue
        if catalogue_folder is not None:
            try:
                catalogue = catalogue.then(folder / catalogue_folder.value)
            except BadInput as bad:
                first = bad.diagnostics[0]
                place = catalogue_folder.span
                self.problems.error(first.code, first.message, place, hint=first.hint)
                return
        family = self.board.family.value.upper() if self.board.family else "LS"
        readable = True
        for entry in self.board.parts:
            self.names[entry.name.value] = entry.name.span
            stands = replace(
                entry, options=tuple(o for o in entry.options if o[0].value not in PLACING)
            )
            try:
                part = place_part(stands, catalogue, family, folder, self.problems)
            except UnknownPart as unknown:
                self.problems.error(
                    "part-unknown",
                    f"no part '{entry.printed.value}' is known",
                    entry.printed.span,
                    hint=called_here(entry.printed.value) or str(unknown.hint),
                )
                continue
            except BadInput as bad:
                # Of a file that several parts of the board are of, this is said once.
                if bad.diagnostics[0] not in self.problems.found:
                    self.problems.take(bad)
                readable = False
                continue
            if part is not None:
                self.parts[entry.name.value] = part
        if not readable:
            self.problems.stop_if_any()

    def add_net(self, entry: NetEntry) -> None:
        if entry.name in self.names:
            self.problems.error(
                "name-twice",
                f"'{entry.name}' names two things",
                entry.span,
                hint="Parts, nets and vectors share one space of names; rename one.",
                related=(("first here", self.names[entry.name]),),
            )
            return
        self.names[entry.name] = entry.span
        first = len(self.net_names)
        for number in indices(entry.left, entry.right):
            name = f"{entry.name}[{number}]" if entry.vector else entry.name
            self.net_names.append((name, entry.span))
        if entry.vector:
            self.vectors.append(
                m.Vector(
                    name=entry.name,
                    left=entry.left,
                    right=entry.right,
                    nets=tuple(range(first, first + entry.width)),
                )
            )
        for row in entry.rows:
            for offset, ref in enumerate(row):
                self.join(ref, first + offset)
        for offset, ref in entry.more:
            self.join(ref, first + offset)

    def join(self, ref: PinRef, net: int) -> None:
        part = self.parts.get(ref.part)
        if part is None:
            if ref.part not in {entry.name.value for entry in self.board.parts}:
                self.problems.error(
                    "part-missing",
                    f"there is no part '{ref.part}'",
                    ref.span,
                    hint=near(ref.part, list(self.parts)) or "List it under 'parts:'.",
                )
            return
        pin = part.pin(ref.pin)
        if pin is None or pin.kind is PinKind.MOMENT:
            self.problems.error(
                "pin-missing",
                f"{ref.part} has no pin '{ref.pin}'; {self.pins_of(part)}",
                ref.span,
                hint=near(ref.pin, [p.name for p in part.pins])
                or f"They are {', '.join(p.name for p in part.pins)}; "
                f"'breadproof parts {part.type.number}' draws them.",
            )
            return
        before = self.taken.get((ref.part, pin.number))
        if before is not None:
            same = before[0] == net
            self.problems.error(
                "pin-twice",
                f"{ref.part}.{pin.number} stands twice in net '{self.net_names[net][0]}'"
                if same
                else f"{ref.part}.{pin.number} is in two nets, "
                f"'{self.net_names[before[0]][0]}' and '{self.net_names[net][0]}'",
                ref.span,
                hint="A pin is in one net: remove one, or join the two nets into one.",
                related=(("first here", before[1]),),
            )
            return
        self.taken[ref.part, pin.number] = (net, ref.span)

    def join_wires(self) -> Layout:
        """Merge what wires and holes join; boards that list nets alone stay as they are."""
        board = self.board
        if not (board.breadboards or board.wires or board.names):
            self.stray_places()
            return NO_BREADBOARD
        supplies = frozenset({"VCC", "GND", *self.rails})
        known = frozenset(name for name, _ in self.net_names) | supplies
        layout = lay_out(board, self.parts, known, self.problems)
        for name, _, span in layout.names:
            if name in self.names and name not in known:
                self.problems.error(
                    "name-twice",
                    f"'{name}' names two things",
                    span,
                    hint="Parts, nets and vectors share one space of names; rename one.",
                    related=(("first here", self.names[name]),),
                )
        before = Nets(names=self.net_names, taken=self.taken)
        nets, moved = join(before, layout, supplies, self.problems)
        self.net_names, self.taken, self.aliases = nets.names, nets.taken, nets.aliases
        self.vectors = [
            replace(vector, nets=tuple(moved[net] for net in vector.nets))
            for vector in self.vectors
        ]
        return layout

    def stray_places(self) -> None:
        """Parts that stand somewhere, on a board that has no breadboards."""
        for entry in self.board.parts:
            for key, _ in entry.options:
                if key.value in PLACING:
                    self.problems.error(
                        "hole-missing",
                        f"{entry.name.value} stands on a breadboard, and the file lists none",
                        key.span,
                        hint="List them: 'breadboards: {b1: {tie-points: 830}}'.",
                    )

    def add_moments(self) -> None:
        """Each moment that the world chooses is a net of its own, as if a port drove it."""
        for part in self.parts.values():
            for moment in part.type.moments:
                self.taken[part.name, moment.number] = (len(self.net_names), part.span)
                self.net_names.append((f"{part.name}.{moment.name}", part.span))

    def moments(self, nets: tuple[m.Net, ...]) -> Iterator[m.Port]:
        """The ports of the moments."""
        for net in nets:
            if any(pin.kind is PinKind.MOMENT for pin in net.pins):
                yield m.Port(
                    name=net.name, direction="in", nets=(net.index,), span=net.span, moment=True
                )

    def pins_of(self, part: m.Part) -> str:
        if part.device == "chip":
            count = len(part.pins) - len(part.type.moments)
            return f"a {part.printed} has pins 1 to {count}"
        return f"a {part.device} has pins {', '.join(pin.number for pin in part.pins)}"

    def with_nets(self, part: m.Part) -> m.Part:
        pins: list[m.Pin] = []
        for pin in part.pins:
            net, span = self.taken.get((part.name, pin.number), (None, part.span))
            pins.append(replace(pin, net=net, span=span))
        return replace(part, pins=tuple(pins))

    def ports(self, nets: tuple[m.Net, ...]) -> list[m.Port]:
        ports: list[m.Port] = []
        for entry in self.board.ports:
            before = next((port for port in ports if port.name == entry.name), None)
            if before is not None:
                self.problems.error(
                    "name-twice",
                    f"'{entry.name}' is a port twice",
                    entry.span,
                    hint="Keep one of them.",
                    related=(("first here", before.span),),
                )
                continue
            vector = next((v for v in self.vectors if v.name == entry.name), None)
            single = next((net for net in nets if net.name == entry.name), None)
            if single is None and entry.name in self.aliases:
                single = nets[self.aliases[entry.name]]
            indexes = vector.nets if vector else (single.index,) if single else ()
            if not indexes:
                self.problems.error(
                    "port-missing",
                    f"port '{entry.name}' is no net",
                    entry.span,
                    hint=near(entry.name, [name for name, _ in self.net_names])
                    or "A port brings out a net or a vector of this name.",
                )
                continue
            declared = (vector.left, vector.right) if vector else None
            if entry.numbering not in (None, declared):
                self.problems.error(
                    "port-range",
                    f"port '{entry.name}' is not numbered like its net",
                    entry.span,
                    hint=f"Write '{entry.name}', and its own numbers are taken.",
                )
            direction: m.Direction = (
                "in" if entry.direction.value == "in"
                else "out" if entry.direction.value == "out"
                else "both"
            )  # fmt: skip
            ports.append(
                m.Port(name=entry.name, direction=direction, nets=indexes, span=entry.span)
            )
        return ports

    def together(
        self, controls: tuple[m.Control, ...]
    ) -> tuple[tuple[str, ...], ...] | Literal["all"]:
        if self.board.together == "all":
            return "all"
        known = [control.name for control in controls]
        for group in self.board.together:
            for name in group:
                if name.value not in known:
                    self.problems.error(
                        "control-missing",
                        f"'{name.value}' is no control",
                        name.span,
                        hint=near(name.value, known)
                        or "Buttons, switches, jumpers, oscillators and input ports are controls.",
                    )
        return tuple(tuple(name.value for name in group) for group in self.board.together)
