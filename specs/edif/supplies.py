"""Which nets of a drawing are the supplies: as the board file says, as symbols say, or by name."""

from __future__ import annotations

from breadproof.specs.edif.flatten import Drawing
from breadproof.specs.edif.pins import GROUNDS, SUPPLIES
from breadproof.specs.reading.board import Board
from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.edifkey import EdifEntry
from breadproof.specs.reading.yamltree import near

_OTHER_VOLTS = {"3.3 V": ("+3V3", "3V3", "+3.3V", "3.3V", "VCC3V3")}


def supply_nets(
    board: Board,
    entry: EdifEntry,
    drawing: Drawing,
    symbols: dict[str, list[int]],
    problems: Problems,
    *,
    exact: bool = False,
) -> dict[str, tuple[int, ...]]:
    """The nets that are each supply; several are joined, since the user or a symbol says so.

    A net is recognised by its name where nothing else tells; if there are two such nets, they may
    be two supplies, and the file must say which is meant.
    """
    return _Supplies(board, entry, drawing, problems, exact).found(symbols)


class _Supplies:
    def __init__(
        self, board: Board, entry: EdifEntry, drawing: Drawing, problems: Problems, exact: bool
    ) -> None:
        self.board = board
        self.entry = entry
        self.drawing = drawing
        self.problems = problems
        self.exact = exact
        self.by_name: dict[str, int] = {}
        for number, net in enumerate(drawing.nets):
            for name in net.names:
                self.by_name.setdefault(name, number)
        self.rails = ["VCC", "GND", *(name.value for name, _ in board.rails)]

    def found(self, symbols: dict[str, list[int]]) -> dict[str, tuple[int, ...]]:
        found = self.as_told(symbols)
        self.as_symbols_say(symbols, found)
        for rail in self.rails[2:]:
            if rail not in found and rail in self.by_name:
                found[rail] = (self.by_name[rail],)
        self.as_names_say(found)
        return found

    def as_told(self, symbols: dict[str, list[int]]) -> dict[str, tuple[int, ...]]:
        found: dict[str, tuple[int, ...]] = {}
        for rail, texts in self.entry.supplies:
            if rail.value not in self.rails:
                self.problems.error(
                    "edif-supply",
                    f"'{rail.value}' is no supply of this board",
                    rail.span,
                    hint=near(rail.value, self.rails)
                    or f"Name it under 'rails: {{{rail.value}: 12 V}}'.",
                )
                continue
            nets = list(symbols.get(rail.value, ()))
            for text in texts:
                if text.value in self.by_name:
                    nets.append(self.by_name[text.value])
                else:
                    self.problems.error(
                        "edif-supply",
                        f"the drawing has no net '{text.value}'",
                        text.span,
                        hint=near(text.value, list(self.by_name))
                        or "Write its name as it is drawn.",
                    )
            if nets:
                found[rail.value] = tuple(dict.fromkeys(nets))
        return found

    def as_symbols_say(
        self, symbols: dict[str, list[int]], found: dict[str, tuple[int, ...]]
    ) -> None:
        for rail, nets in symbols.items():
            if rail not in self.rails:
                self.problems.error(
                    "edif-supply",
                    f"the mapping file has a supply '{rail}', which the board has not",
                    self.entry.file.span,
                    hint=f"Name it under 'rails: {{{rail}: 12 V}}'.",
                )
            elif rail not in found and nets:
                found[rail] = tuple(dict.fromkeys(nets))

    def as_names_say(self, found: dict[str, tuple[int, ...]]) -> None:
        board = self.board
        told = board.supply.value if board.supply is not None else "5 V"
        high = SUPPLIES if told == "5 V" else ("VCC", "VDD", *_OTHER_VOLTS.get(told, ()))
        taken = {net for nets in found.values() for net in nets}
        for rail, names in (("VCC", high), ("GND", GROUNDS)):
            nets = [
                number
                for number, net in enumerate(self.drawing.nets)
                if number not in taken
                and any(_is(name, rail if self.exact else names) for name in net.names)
            ]
            if rail in {text.value for text, _ in self.entry.supplies}:
                continue
            if len(nets) + (rail in found) > 1:
                _several(rail, nets, self.drawing, self.entry.file.span, self.problems)
            elif nets:
                found[rail] = (nets[0],)


def _is(name: str, names: str | tuple[str, ...]) -> bool:
    return name == names if isinstance(names, str) else name.rpartition("/")[2].upper() in names


def _several(rail: str, nets: list[int], drawing: Drawing, asked: Span, problems: Problems) -> None:
    names = [drawing.nets[net].names[0] for net in nets]
    problems.error(
        "edif-supply",
        f"{' and '.join(repr(name) for name in names)} could be {rail}, and are not joined"
        if len(names) > 1
        else f"'{names[0]}' could be {rail}, and is not joined to its symbols",
        asked,
        hint=f"Say which: 'supplies: {{{rail}: {names[0]}}}'; a list joins them: "
        f"'{rail}: [{', '.join(names)}]'.",
        related=tuple(
            (f"'{name}'", drawing.nets[net].span) for name, net in zip(names, nets, strict=True)
        ),
    )
