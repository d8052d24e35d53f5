"""Board files with mistakes of every kind: a netlist comes out, or what is wrong with the file."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from breadproof.specs.load import load_machine
from breadproof.specs.reading.diagnostics import BadInput, Diagnostic
from breadproof.specs.reading.yamltree import parse_tree
from tests.report import boards as b

BOARDS = (b.TWO_SOURCES, b.GATED, b.RING, b.STROBE)
WORDS = (
    "", " ", "\n", "\n  ", "\t", ":", ": ", "-", "- ", "[", "]", "{", "}", ",", "#", " #", "&a ",
    "*a", "!", "!!str ", "|", ">", "'", '"', "%", "@", "`", "?", "---", "...", "~", "<<: ", "\\",
    "\x00", "\x85", "\u2028", "\ufeff", "\U0001f4a1", "0", "-1", "0157", "1e9", "ON", "null",
    "999999999999", "U1", "U99", "U1.1", "U1.[1, 2]", "U1.Q[3:0]", "bus[7:0]", "a[9999:0]",
    "VCC", "GND", "part", "parts", "nets", "ports", "together", "reset", "assume", "cover",
    "contents", "always", "never", "next[3]", "until", "eventually! ", "rose(", "prev(bus, 3)",
    "fights(bus)", "floats(", "writes(U7)", "ever(", "glitches(d)", "8'hFF", "4'bx", "<<", "**",
    "->", "?:", "{3{d}}", "$signed(", "@(rose(take))",
)  # fmt: skip


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """A board with pieces cut out, doubled, swapped and put in."""
    text = draw(st.sampled_from(BOARDS))
    for _ in range(draw(st.integers(1, 4))):
        tokens = re.findall(r"\w+|\s+|.", text)
        at = draw(st.integers(0, len(tokens)))
        length = draw(st.integers(0, 6))
        match draw(st.sampled_from(("cut", "double", "swap", "put", "replace", "line"))):
            case "cut":
                tokens[at : at + length] = []
            case "double":
                tokens[at:at] = tokens[at : at + length]
            case "swap":
                tokens[at : at + 2] = reversed(tokens[at : at + 2])
            case "put":
                tokens.insert(at, draw(st.sampled_from(WORDS)))
            case "replace":
                tokens[at : at + 1] = [draw(st.sampled_from(WORDS) | st.text(max_size=5))]
            case _:
                lines = text.splitlines(keepends=True)
                chosen = draw(st.sampled_from(lines)) if lines else ""
                lines.insert(draw(st.integers(0, len(lines))), chosen)
                tokens = lines
        text = "".join(tokens)
    return text


def checked(path: Path) -> None:
    """Loads a board; where it is refused, each diagnostic must name a place in the file."""
    told: tuple[Diagnostic, ...] = ()
    try:
        assert load_machine(path).netlist.board
    except BadInput as bad:
        told = bad.diagnostics
        refused = True
    else:
        refused = False
    assert bool(told) == refused
    # Lines as editors count them.
    lines = re.split(r"\r\n|\r|\n", path.read_bytes().decode("utf-8-sig", "replace"))
    for found in told:
        assert found.code
        assert found.message
        assert found.render().startswith(f"{found.span.file}:")
        assert found.span.column >= 1
        if found.span.file == str(path):
            assert 1 <= found.span.line <= len(lines)
            assert found.span.text in ("", lines[found.span.line - 1])


@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=mutated())
def test_a_mutated_board_is_read_or_refused_with_reasons(text: str, tmp_path: Path) -> None:
    path = tmp_path / "board.yaml"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    checked(path)


@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.binary(max_size=200))
def test_any_bytes_are_read_or_refused_with_reasons(data: bytes, tmp_path: Path) -> None:
    path = tmp_path / "board.yaml"
    path.write_bytes(data)
    checked(path)


@settings(max_examples=100)
@given(text=st.text(alphabet=st.sampled_from("ab:-[]{}#&*!|>'\"%@`?,\n \t~\\"), max_size=40))
def test_any_text_is_a_tree_or_refused(text: str) -> None:
    told: tuple[Diagnostic, ...] = ()
    try:
        parse_tree(text, "board.yaml")
    except BadInput as bad:
        told = bad.diagnostics
    lines = text.split("\n")
    assert all(found.span.text in ("", lines[found.span.line - 1]) for found in told)


@pytest.mark.parametrize("board", BOARDS)
def test_the_boards_themselves_are_read(board: str, tmp_path: Path) -> None:
    path = tmp_path / "board.yaml"
    path.write_text(board, "utf-8")
    assert load_machine(path).netlist.board
