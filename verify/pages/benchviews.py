"""The board as a page shows it: its picture, and a list of its parts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from breadproof.specs.netlist.model import Netlist
from breadproof.verify.pictures.boardpicture import BoardPicture
from breadproof.verify.pictures.stickers import Sticker
from breadproof.verify.pictures.svg import as_text, grouped


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchView:
    """``drawn`` is the picture; ``own_places``: the file says where things stand; ``pins``: the
    labels of those that the picture has. ``parts``: name, what is printed on it, what it is."""

    drawn: Markup
    own_places: bool
    pins: frozenset[str]
    parts: tuple[tuple[str, str, str], ...]


def bench_view(
    netlist: Netlist,
    stickers: Mapping[str, Sticker],
    says: str,
    *,
    prefix: str = "",
    lit: Iterable[str] = (),
) -> BenchView:
    """The view of a board; arguments as of `BoardPicture`, ``says`` tells what is drawn."""
    picture = BoardPicture(netlist, stickers, prefix, frozenset(lit))
    drawn = picture.draw()
    grouped(drawn, says)
    return BenchView(
        drawn=Markup(as_text(drawn)),
        own_places=picture.own_places,
        pins=frozenset(picture.scene.pins),
        parts=tuple((part.name, part.printed, part.type.title) for part in netlist.parts),
    )
