"""EDIF files, mapping files and wire lists with mistakes of every kind: a board comes out that can
be read again, or what is wrong is told with a place."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from breadproof.convert_command import converted
from breadproof.specs.load import load_netlist
from breadproof.specs.reading.diagnostics import BadInput, Diagnostic
from tests.commands.test_convert import EDIF
from tests.edif.workshop import MAPPING, rack
from tests.reading.test_wirefile import FORMS, board

DRAWINGS = (EDIF, rack(2)[0])
MAP = 'hidden-supplies: true\ncells: {RES: resistor, "R?": ignore}\n'
PIECES = (
    '"', '""', "%", "(", ")", "(array x 0)", "(array x 99999999999)", "(array x 9 9 9 9)",
    "(member D -1)", "(member Q 1 2)", '"%34 x%"', '"%55296%"', '"%' + "9" * 5000 + '%"',
    "(rename)", "(rename a)", '(rename a "a[3:0]")', '(array (rename a "a[3:0]") 7)', "&", "é",
    '"\x00"', "(e 1 99)", "(designator)", "(property)", "(property a b (string c))", "(portRef)",
    "(net)", "(design)", "(instance)", "(joined)", '"x/y"', '"U1.3"', '"[3]"', '"<>"', '"VCC"',
    "(library)", "(cell)", "(view)", "(viewRef)", "(keywordMap (keywordAlias a b))", "\ufeff",
)  # fmt: skip
TOKEN = re.compile(r'\(\s*[^\s()"]*|\)|"[^"]*"?|[^\s()"]+|\s+')
YAML = ("", " ", "\n", ":", "[", "]", "{", "}", "ignore", "part", "ports", "gates", "cells", "*",
        "supply", "74LS00", "1", "true", "!", "resistor", "values", "designators")  # fmt: skip


@st.composite
def mutated(draw: st.DrawFn, texts: tuple[str, ...], tokens: re.Pattern[str],
            pieces: tuple[str, ...]) -> str:  # fmt: skip
    """A text with tokens cut out, doubled, swapped and put in."""
    found = tokens.findall(draw(st.sampled_from(texts)))
    for _ in range(draw(st.integers(0, 4))):
        at, other = (draw(st.integers(0, max(0, len(found) - 1))) for _ in range(2))
        match draw(st.sampled_from(("cut", "double", "swap", "put", "replace"))):
            case "cut":
                found[at : at + draw(st.integers(1, 20))] = []
            case "double":
                found[at:at] = found[other : other + draw(st.integers(1, 40))]
            case "swap" if found:
                found[at], found[other] = found[other], found[at]
            case "put":
                found.insert(at, draw(st.sampled_from(pieces)))
            case _:
                found[at : at + 1] = [draw(st.sampled_from(pieces))]
    return "".join(found)


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])
@given(
    mutated(DRAWINGS, TOKEN, PIECES),
    mutated((MAP, MAPPING), re.compile(r"\w+|\s+|."), YAML),
    st.sampled_from(("board", "edif")),
)
def test_drawings(text: str, mapping: str, form: str) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "m.edf").write_text(text, "utf-8")
        (folder / "map.yaml").write_text(mapping, "utf-8")
        out, told = "", list[Diagnostic]()
        try:
            out = converted(folder / "m.edf", form, folder / "map.yaml", (), "", ())
        except BadInput as bad:
            told += bad.diagnostics
        assert all(one.span.line >= 1 and one.span.column >= 1 for one in told)
        assert bool(out) != bool(told)
        if told:
            return
        path = folder / ("again.yaml" if form == "board" else "again.edf")
        path.write_text(out, "utf-8")
        if form == "board":
            load_netlist(path)
        else:
            converted(path, "board", None, (), "", ())


@settings(max_examples=100)
@given(st.sampled_from(sorted(FORMS)), st.data())
def test_wire_lists(form: str, data: st.DataObject) -> None:
    raw = FORMS[form]
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(raw)))
        piece = data.draw(
            st.sampled_from((b"", b'"', b",", b";", b"\n", b"\r", b"\0", b"\xff", b"VCC", b"b1.a5"))
        )
        raw = raw[:at] + piece + raw[at + data.draw(st.integers(0, 3)) :]
    with tempfile.TemporaryDirectory() as folder:
        path = board(Path(folder), raw)
        told = list[Diagnostic]()
        try:
            load_netlist(path)
        except BadInput as bad:
            told += bad.diagnostics
        assert all(": error: " in one.render() for one in told)
