"""What `breadproof parts --of BOARD` prints: parts list, spare gates and current budget."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import dataclass

from breadproof.specs.netlist.model import BETWEEN, Netlist
from breadproof.verify.report.bill import Bill, Entry, bill_of
from breadproof.verify.report.page import Page
from breadproof.verify.report.words import count, wrapped
from breadproof.verify.wiring.budget import Budget, Taken, budget_of
from breadproof.verify.wiring.finding import listed, milliamps, volts
from breadproof.verify.wiring.spare import Spare, spare_units
from breadproof.verify.wiring.survey import Survey

COLUMNS = ("count", "kind", "part", "value", "package", "names", "title")
_HEADS = {"chip": "chips", "passive": "passives", "device": "devices"}
_NOT_COUNTED = (
    "Guaranteed maxima at a supply 5 % high, all LEDs lit and all pulls pulled. Not counted: what "
    "CMOS takes for switching and for inputs between the rails (HCT driven by LS), input currents, "
    "and what is fed through ports and connectors."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardParts:
    """All three of one board, or of all boards of a machine."""

    netlist: Netlist
    bill: Bill
    spare: tuple[Spare, ...]
    budget: Budget


def board_parts(netlist: Netlist) -> BoardParts:
    """The three of a netlist."""
    survey = Survey(netlist)
    return BoardParts(
        netlist=netlist,
        bill=bill_of(netlist),
        spare=spare_units(survey),
        budget=budget_of(survey),
    )


def parts_lines(board: BoardParts, page: Page) -> list[str]:
    """The report as text."""
    lines = [page.paint(f"{board.netlist.board}: parts list", "bold")]
    width = max((len(entry.part) for entry in board.bill.entries), default=0)
    room = max((len(_about(entry)) for entry in board.bill.entries), default=0)
    for kind, head in _HEADS.items():
        entries = board.bill.of_kind(kind)
        if entries:
            lines += ["", page.paint(head, "bold")]
            lines += [line for entry in entries for line in _entry(entry, width, room, page)]
    lines += ["", *_sockets(board.bill, page), "", *_spare(board.spare, page)]
    return [*lines, "", *_current(board, page)]


def _about(entry: Entry) -> str:
    return ", ".join(word for word in (entry.value, entry.package) if word)


def _entry(entry: Entry, width: int, room: int, page: Page) -> list[str]:
    first = f"{len(entry.names):>4}  {entry.part:<{width}}  {_about(entry):<{room}}  "
    return wrapped(" ".join(entry.names), page.width, first)


def _sockets(bill: Bill, page: Page) -> list[str]:
    each = [f"{number} x {package}" for package, number in bill.sockets]
    return wrapped(", ".join(each) or "none", page.width, f"{count(bill.packages, 'package')}: ")


def _spare(spare: tuple[Spare, ...], page: Page) -> list[str]:
    if not spare:
        return ["no spare gates"]
    total = sum(len(one.units) for one in spare)
    lines = [page.paint(f"{count(total, 'spare gate')} (inputs to outputs)", "bold")]
    width = max(len(f"{one.part.name} {one.part.printed}") for one in spare)
    for one in spare:
        name = f"{one.part.name} {one.part.printed}"
        of = f"{len(one.units)} of {one.of}"
        units = "; ".join(unit.text for unit in one.units)
        lines += wrapped(units, page.width, f"  {name:<{width}}  {of:<8}  ")
    return lines


def _current(board: BoardParts, page: Page) -> list[str]:
    budget = board.budget
    at = volts(board.netlist.supply)
    named = [name for name, value in board.netlist.rails if value]
    rails = [name for name in named if name.rpartition(BETWEEN)[2] != "VCC"]
    more = f", and from {listed(rails)}" if rails else ""
    lines = [page.paint(f"current from the supply of {at}{more}, at most", "bold")]
    for one in budget.taken:
        lines += _taken(one, page)
    total = f"{milliamps(budget.known)}{' and what is not known' if budget.unknown else ''}"
    lines.append(f"  {total}")
    if budget.stated is not None:
        gives = f"the supply gives {milliamps(budget.stated)}: "
        if budget.known > budget.stated:
            gives += "too little"
        elif budget.unknown:
            gives += f"whether that is enough depends on {listed(budget.unknown)}"
        else:
            gives += "enough"
        lines += wrapped(gives, page.width, "  ")
    return [*lines, *wrapped(_NOT_COUNTED, page.width, "  ")]


def _taken(one: Taken, page: Page) -> list[str]:
    amperes = one.amperes
    number = "not known" if amperes is None else milliamps(amperes)
    each = f", {milliamps(one.each)} each" if one.each is not None else ""
    what = f"{len(one.names)} x {one.what}{each}"
    if amperes is None:
        what += f": {', '.join(one.names)}"
    elif one.how:
        what += f" ({one.how})"
    return wrapped(what, page.width, f"  {number:>11}  ")


def parts_json(board: BoardParts) -> str:
    """The same for programs."""
    budget, bill = board.budget, board.bill
    told = {
        "schema": 1,
        "board": board.netlist.board,
        "parts": [_fields(entry) for entry in bill.entries],
        "packages": bill.packages,
        "sockets": dict(bill.sockets),
        "spare": [
            {
                "part": one.part.name,
                "printed": one.part.printed,
                "of": one.of,
                "units": [
                    {"inputs": list(unit.inputs), "outputs": list(unit.outputs)}
                    for unit in one.units
                ],
            }
            for one in board.spare
        ],
        "current": {
            "volts": board.netlist.supply,
            "stated": budget.stated,
            "known": round(budget.known, 9),
            "unknown": list(budget.unknown),
            "taken": [
                {
                    "kind": one.kind,
                    "what": one.what,
                    "names": list(one.names),
                    "each": None if one.each is None else round(one.each, 9),
                    "how": one.how,
                }
                for one in budget.taken
            ],
        },
    }
    return json.dumps(told, indent=1)


def parts_csv(board: BoardParts) -> str:
    """The parts list alone, a line a kind of part, for a spreadsheet."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    for entry in board.bill.entries:
        fields = _fields(entry) | {"names": " ".join(entry.names)}
        writer.writerow([fields[column] for column in COLUMNS])
    return text.getvalue()


def _fields(entry: Entry) -> dict[str, object]:
    return {
        "count": len(entry.names),
        "kind": entry.kind,
        "part": entry.part,
        "value": entry.value,
        "package": entry.package,
        "names": list(entry.names),
        "title": entry.title,
    }
