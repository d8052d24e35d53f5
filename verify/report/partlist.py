"""The list of parts, by what they do; and what is nearest when nothing was found."""

from __future__ import annotations

import json
from collections.abc import Sequence
from difflib import get_close_matches

from breadproof.specs.catalogue.part import PartType
from breadproof.specs.catalogue.search import Search
from breadproof.specs.netlist.devices import DEVICES
from breadproof.verify.report.page import Page
from breadproof.verify.report.pinout import part_fields
from breadproof.verify.report.words import listed

NUMBER = 18
"""The width of the column of numbers."""
_DEVICES = "no chips (named in the board file by these words)"


def list_lines(parts: Sequence[PartType], page: Page) -> list[str]:
    """The parts under what they do, in alphabetic order; what is no chip at the end."""
    groups: dict[str, list[PartType]] = {}
    for part in parts:
        if part.number not in DEVICES:
            groups.setdefault(part.does, []).append(part)
    lines: list[str] = []
    for does in sorted(groups, key=str.lower):
        lines.append(page.paint(does, "bold"))
        lines += [_entry(part) for part in groups[does]]
    devices = [part for part in parts if part.number in DEVICES]
    if devices:
        lines.append(page.paint(_DEVICES, "bold"))
        lines += [_entry(part) for part in devices]
    return lines


def _entry(part: PartType) -> str:
    return f"  {part.number:<{NUMBER}}{part.title}"


def list_json(parts: Sequence[PartType]) -> str:
    """The same for programs."""
    return json.dumps({"schema": 1, "parts": [part_fields(part) for part in parts]}, indent=1)


def nothing_found(question: str, found: Search) -> str:
    """Why nothing was found, and what is near."""
    lines = [f"no part is '{question}'."]
    meant = get_close_matches(question.lower(), DEVICES, n=2, cutoff=0.85) or found.meant
    if meant:
        lines[0] += f" Did you mean {' or '.join(meant)}?"
    if found.nearest:
        without = listed([f"'{word}'" for word in found.lacking])
        lines.append(f"Nearest, without {without}:" if without else "Nearest:")
        lines += [_entry(part) for part in found.nearest]
    lines.append("'breadproof parts' lists them all.")
    return "\n".join(lines)
