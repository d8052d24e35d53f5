"""The page of `breadproof compare BOARD MODULE.v`: verdict, what it does, the board."""

from __future__ import annotations

from pathlib import PurePath

from breadproof import __version__
from breadproof.verify.pages.benchviews import bench_view
from breadproof.verify.pages.comparepage import TONES, grounds
from breadproof.verify.pages.signs import Sign, sign_of
from breadproof.verify.pages.template import Section as Entry
from breadproof.verify.pages.template import page
from breadproof.verify.revisions.beside import Beside
from breadproof.verify.revisions.besidewords import sections, verdict_text


def beside_page(found: Beside, paths: tuple[str, str]) -> str:
    """The comparison as one HTML file; ``paths`` are the two files as the user typed them."""
    does, rests = sections(found)
    sign = sign_of(found.verdict)
    names = [PurePath(path).name for path in paths]
    compared = ", ".join(item.name for item in found.mapped.items)
    values = {
        "name": " and ".join(names),
        "title": found.netlist.title,
        "verdict": Sign(word=verdict_text(found), sign=sign.sign, tone=sign.tone),
        "counted": f"Module {found.hardware.module.name}: {compared}.",
        "sentence": f"it is undecided because {found.because}." if found.because else "",
        "command": "",
        "sections": [
            Entry("does", "What it does", found.behaviour),
            Entry("board", "The board"),
            Entry("rests", "What this rests on"),
        ],
        "does": does,
        "tone": TONES[does.mark],
        "path": names[0],
        "board": bench_view(found.netlist, {}, "The board as it stands on the bench"),
        "grounds": grounds(rests),
        "file": ", ".join(paths),
        "version": __version__,
    }
    return page("beside.html", values)
