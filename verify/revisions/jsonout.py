"""A comparison as the one object that ``--json`` prints; ``compare.schema.json`` describes it."""

from __future__ import annotations

import json
from typing import Any

from breadproof.specs.machine.trace import to_json
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.revisions.changes import Change
from breadproof.verify.revisions.compare import Compared
from breadproof.verify.revisions.verdicts import Row

SCHEMA = 1


def compared_object(compared: Compared) -> dict[str, Any]:
    """The comparison as plain values."""
    return {
        "schema": SCHEMA,
        "old": _board(compared.old),
        "new": _board(compared.new),
        "verdict": compared.verdict,
        "seconds": round(compared.seconds, 6),
        "wiring": {
            "same": compared.same_wiring,
            "changes": [_change(change) for change in compared.changes],
        },
        "behaviour": _behaviour(compared),
        "proofs": None
        if compared.proved is None
        else [_row(row, compared.proved.machines[1].netlist) for row in compared.proved.rows],
    }


def json_text(compared: Compared) -> str:
    """The comparison as JSON text, ending in a newline."""
    return json.dumps(compared_object(compared), indent=1, ensure_ascii=False) + "\n"


def _board(netlist: Netlist) -> dict[str, Any]:
    return {"board": netlist.board, "file": netlist.file}


def _change(change: Change) -> dict[str, Any]:
    return {
        "group": change.group,
        "kind": change.kind,
        "text": change.text,
        "old": {"parts": list(change.parts[0]), "pins": list(change.pins[0])},
        "new": {"parts": list(change.parts[1]), "pins": list(change.pins[1])},
    }


def _behaviour(compared: Compared) -> dict[str, Any]:
    answered = compared.answered
    fates = {} if answered is None else answered.fates
    return {
        "verdict": compared.behaviour,
        "because": compared.because,
        "latency": None
        if compared.latency is None
        else {"periods": compared.latency.periods, "clock": compared.latency.clock},
        "method": "wiring" if answered is None else answered.method,
        "searched": None if answered is None or answered.searched < 0 else answered.searched,
        "items": [
            {"name": item.name, "kind": item.kind, "verdict": fates.get(item.name, "undecided")}
            for item in compared.items
        ],
        "gone": list(compared.gone),
        "alone": list(compared.alone),
        "assumptions_left_aside": list(compared.aside),
        "unclean": list(compared.unclean),
        "difference": _difference(compared),
    }


def _difference(compared: Compared) -> dict[str, Any] | None:
    answered, where = compared.answered, compared.parting
    if answered is None or answered.difference is None:
        return None
    found = answered.difference
    first = None
    if where is not None:
        first = {
            "old": {"pin": where.pins[0], "level": where.levels[0]},
            "new": {"pin": where.pins[1], "level": where.levels[1]},
            "step": where.step,
            "round": where.round,
            "change": None if where.change is None else where.change.text,
        }
    return {
        "items": list(found.items),
        "steps": found.steps,
        "shortest": found.shortest,
        "fewest": found.fewest,
        "shown": None
        if compared.shown is None
        else {"old_step": compared.shown.old, "new_step": compared.shown.new},
        "first_pin": first,
        "old": to_json(compared.moving[0], found.old),
        "new": to_json(compared.moving[1], found.new),
    }


def _row(row: Row, new: Netlist) -> dict[str, Any]:
    result = row.result
    return {
        "old_name": row.old_name,
        "new_name": row.new_name,
        "kind": row.kind,
        "old": row.old or None,
        "new": row.new or None,
        "effect": row.effect,
        "says": row.says,
        "because": row.because,
        "trace": to_json(new, result.trace)
        if result is not None and result.trace is not None and row.effect == "worse"
        else None,
    }
