"""The top of every exported file: what it is, what it rests on, what it leaves out."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

from breadproof.export.lowering.attributes import place_of
from breadproof.export.lowering.board import Lowered
from breadproof.specs.netlist.model import Netlist


@dataclass(frozen=True, slots=True, kw_only=True)
class Proofs:
    """Nets on which a fight was proved impossible, and those where it was not."""

    proved: tuple[str, ...]
    unproved: tuple[str, ...]


EQUAL = (
    "Read back through yosys and proved equal to the board: in every round from power-up on, "
    "whatever storage and memories held then, all nets, lamps and ports have the board's levels on "
    "its last tick (where a choice is made, one of those that the board may have). It holds while "
    "'tick_rst' is low"
)
SETTLED = ", and as long as 'unsettled' was low on the last tick of each round before"
NOT_COMPARED = (
    "NOT COMPARED with the board: written with --no-proof, so that nothing says that this text "
    "does what the board does."
)


PERIODS = (
    "Synchronous: one tick of the clock is one period of the board's clock {clock}, which is low "
    "here for good: all levels are those of a quiet moment with {clock} low. Written only where it "
    "is proved that the board has the same levels: from any quiet moment with {clock} low, any "
    "change of controls while it is low, then {clock} rising and falling, the board getting quiet "
    "each time (fundamental mode, Huffman 1954), after which its storage has what these registers "
    "have after the tick. 'tick_rst' is low."
)


def header(
    netlist: Netlist, lowered: Lowered, proofs: Proofs | None, compared: bool | None = None
) -> list[str]:
    """Lines of at most 76 characters, the title first; the same board gives the same lines.

    ``compared``: the text is handed out only if it is proved equal to the board, or, False, without
    such a proof; None says nothing of it.
    """
    from breadproof import __version__

    title = netlist.title or netlist.board
    found = _wrapped(f"{title} ({netlist.board}).")
    found += ["", f"Written by breadproof {__version__}."]
    ticks = lowered.cuts.ticks
    round_is = (
        "One tick of the clock is one round" if ticks == 1 else f"{ticks} ticks are one round"
    )
    rounds = (
        f"{round_is}: all logic settles with no delay, then all storage looks at the settled "
        "levels at once. The board's own clock is a level like any other; this clock is faster. "
        "Change one control, then wait until nothing moves any more: the model assumes that one "
        "thing happens at a time (fundamental mode, Huffman 1954)."
    )
    paragraphs = [PERIODS.format(clock=lowered.clock) if lowered.clock else rounds]
    if ticks > 1:
        paragraphs.append(
            "Nets that depend on each other without storage between are held in registers and "
            "settle over the ticks of a round; 'unsettled' on its last tick tells if they did not."
        )
    paragraphs.append(_fights(netlist, lowered, proofs))
    if compared is not None and not lowered.clock:
        equal = f"{EQUAL}{SETTLED if ticks > 1 else ''}."
        paragraphs.append(equal if compared else NOT_COMPARED)
    if lowered.free:
        readers = ", ".join(dict.fromkeys(place_of(name)[0] for name in lowered.free.values()))
        paragraphs.append(
            "Choices made: where a net floats or fights, each reader sees its own 'free' signal "
            f"(a bit for each pin), 0 here and anything on a real board: {readers}."
        )
    paragraphs.append(
        "Left out: delays, glitches, levels in motion, noise, bouncing and bad contacts. This is "
        "no safety case. Never put 5 V on the pin of an FPGA: its inputs stand 3.3 V or less."
    )
    for paragraph in paragraphs:
        found += ["", *_wrapped(paragraph)]
    return found


def _fights(netlist: Netlist, lowered: Lowered, proofs: Proofs | None) -> str:
    """What is known of fights; ``proofs`` is None if nobody tried to prove anything."""
    proved = proofs.proved if proofs else ()
    unproved = proofs.unproved if proofs else lowered.contested
    if not (proved or unproved):
        return "No net has two drivers that could fight."
    if unproved:
        return (
            f"NOT PROVED: two drivers may fight on {', '.join(unproved)}. While they do, every "
            "reader sees a choice made here, which a real board need not make."
        )
    assumed = [formula.name for formula in netlist.formulas if formula.kind == "assume"]
    under = f", under the board's assumptions {', '.join(assumed)}" if assumed else ""
    return (
        f"Proved{under}: at no quiet moment do two drivers fight on {', '.join(proved)}. "
        "While the board changes they may, for as long as the change lasts."
    )


def _wrapped(text: str) -> list[str]:
    plain = " ".join(text.replace("\\", "/").replace('"', "'").split())
    return textwrap.wrap(plain, 76, break_on_hyphens=False)
