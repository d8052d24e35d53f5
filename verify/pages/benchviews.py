"""The board as a page shows it: its picture, and a list of its parts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from breadproof.specs.breadboard.model import Leg
from breadproof.specs.netlist.model import Netlist
from breadproof.specs.netlist.routing import end_text
from breadproof.verify.pictures.boardpicture import BoardPicture
from breadproof.verify.pictures.stickers import Sticker
from breadproof.verify.pictures.svg import as_text, grouped
from breadproof.verify.report.bill import detail


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchView:
    """``drawn`` is the picture; ``own_places``: the file says where things stand; ``pins``: the
    labels of those that the picture has. ``parts``: name, what is printed on it or its value, what
    it is, where it stands."""

    drawn: Markup
    own_places: bool
    pins: frozenset[str]
    parts: tuple[tuple[str, str, str, str], ...]


def bench_view(
    netlist: Netlist,
    stickers: Mapping[str, Sticker],
    says: str,
    *,
    prefix: str = "",
    lit: Iterable[str] | None = None,
) -> BenchView:
    """The view of a board; arguments as of `BoardPicture`, ``says`` tells what is drawn."""
    picture = BoardPicture(netlist, stickers, prefix, None if lit is None else frozenset(lit))
    drawn = picture.draw()
    grouped(drawn, says)
    where = _places(picture.netlist)
    return BenchView(
        drawn=Markup(as_text(drawn)),
        own_places=picture.own_places,
        pins=frozenset(picture.scene.pins),
        parts=tuple(
            (part.name, detail(part), part.type.title, where.get(part.name, "front panel"))
            for part in netlist.parts
        ),
    )


def _places(netlist: Netlist) -> dict[str, str]:
    """Where parts stand: a chip by the hole of its pin 1, others by all their legs, if these are
    few."""
    boards, legs = netlist.layout.boards, dict[str, list[Leg]]()
    for leg in netlist.layout.legs:
        legs.setdefault(leg.pin.part, []).append(leg)
    found: dict[str, str] = {}
    for name, own in legs.items():
        texts = [end_text(leg.place, boards) for leg in own]
        first = f"pin {own[0].pin.number} in {texts[0]}"
        found[name] = ", ".join(texts) if len(texts) <= 3 else first
    return found
