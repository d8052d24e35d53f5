"""EDIF that cannot be read: what is said, with its place; through the command, status 2."""

from __future__ import annotations

from pathlib import Path

import pytest

from breadproof import cli
from tests.edif.support import board, cell, told, wrapped

RES = cell("RES", "&1", "&2")
MAP = "cells: {RES: resistor}"
TOP = """(interface) (contents
(instance R1 (viewRef v (cellRef RES (libraryRef parts))))
(net a (joined (portRef &1 (instanceRef R1))))
(net b (joined (portRef &2 (instanceRef R1)))))"""
GOOD = wrapped(TOP, RES)
HEAD = "(edif x (edifVersion 2 0 0))"

CASES = {
    "truncated": (
        GOOD[: GOOD.index("(net b")],
        """\
store.edf:7:13: error: '(contents' is not closed: the file ends inside it [edif-unbalanced]
    (interface) (contents
                ^^^^^^^^^
  the end of the file: store.edf:9:46
    (net a (joined (portRef &1 (instanceRef R1))))
                                                 ^
  The file may have been cut off: export it again.""",
    ),
    "a parenthesis too many": (
        GOOD.replace("(net b", ") (net b"),
        # Each of those that follow closes one form too early, and the last but one the file.
        """\
store.edf:12:1: error: '(design' stands behind the end of the file's one form [edif-unbalanced]
    (design store (cellRef top (libraryRef main))))
    ^^^^^^^
  A parenthesis too many closed '(edif' before: look above this place.""",
    ),
    "a string without an end": (
        '(edif x (edifVersion 2 0 0) (comment "abc))\n',
        """\
store.edf:1:38: error: this string does not end [edif-unbalanced]
    (edif x (edifVersion 2 0 0) (comment "abc))
                                         ^
  Each string ends with a double quote; inside it a quote is written %34%.""",
    ),
    "no EDIF": (
        "board: store\n",
        """\
store.edf:1:1: error: this is no EDIF file [edif-shape]
    board: store
    ^
  An EDIF file begins with '(edif NAME (edifVersion 2 0 0)'.""",
    ),
    "empty": (
        "",
        """\
store.edf:1:1: error: this is no EDIF file [edif-shape]
  An EDIF file begins with '(edif NAME (edifVersion 2 0 0)'.""",
    ),
    "another version": (
        "(edif x\n(edifVersion 3 0 0))",
        """\
store.edf:2:1: error: this is EDIF 3 0 0, and 2 0 0 is read [edif-version]
    (edifVersion 3 0 0))
    ^^^^^^^^^^^^
  Export it as EDIF 2 0 0 (ANSI/EIA-548): '(edifVersion 2 0 0)'.""",
    ),
    "nothing inside": (
        HEAD,
        """\
store.edf:1:1: error: no design is told, and no cell has a netlist inside [edif-design]
    (edif x (edifVersion 2 0 0))
    ^^^^^
  Export the file again as a netlist (EDIF 2 0 0, view type NETLIST).""",
    ),
    "two instances of one name": (
        GOOD.replace("(net a", "(instance r1 (viewRef v (cellRef RES)))\n(net a"),
        """\
store.edf:9:11: error: a second instance 'r1' ('R1' before): capitals do not matter in EDIF \
[edif-name-twice]
    (instance r1 (viewRef v (cellRef RES)))
              ^^
  first here: store.edf:8:11
    (instance R1 (viewRef v (cellRef RES (libraryRef parts))))
              ^^
  Each instance of a view has a name of its own.""",
    ),
    "two nets of one name": (
        GOOD.replace("(net b", "(net A"),
        """\
store.edf:10:6: error: a second net 'A' ('a' before): capitals do not matter in EDIF \
[edif-name-twice]
    (net A (joined (portRef &2 (instanceRef R1)))))
         ^
  first here: store.edf:9:6
    (net a (joined (portRef &1 (instanceRef R1))))
         ^
  Each net of a view has a name of its own; two pieces are one net with both.""",
    ),
    "a port on two nets": (
        GOOD.replace("portRef &2", "portRef &1"),
        """\
store.edf:10:25: error: port R1.1 is joined twice [edif-joined-twice]
    (net b (joined (portRef &1 (instanceRef R1)))))
                            ^^
  first here: store.edf:9:25
    (net a (joined (portRef &1 (instanceRef R1))))
                            ^^
  A port is on one net: remove one, or make the two nets one.""",
    ),
    "no such instance, port, cell, library: all in one run": (
        GOOD.replace("&1 (instanceRef R1", "&1 (instanceRef R2").replace("portRef &2", "portRef &3")
        .replace("(net a", "(instance R3 (viewRef v (cellRef RS (libraryRef parts))))\n"
                 "(instance R4 (viewRef v (cellRef RES (libraryRef other))))\n(net a"),
        """\
store.edf:9:34: error: there is no cell 'RS' in library 'parts' [edif-missing]
    (instance R3 (viewRef v (cellRef RS (libraryRef parts))))
                                     ^^
  Did you mean res?
store.edf:10:34: error: there is no cell 'RES': there is no library 'other' [edif-missing]
    (instance R4 (viewRef v (cellRef RES (libraryRef other))))
                                     ^^^
  Did you mean res?
store.edf:11:41: error: there is no instance 'R2' [edif-missing]
    (net a (joined (portRef &1 (instanceRef R2))))
                                            ^^
  Instances are those of the same view.
store.edf:12:25: error: instance 'R1' has no port '3' [edif-missing]
    (net b (joined (portRef &3 (instanceRef R1)))))
                            ^^
  Its ports are 1, 2.""",
    ),
    "a cell inside itself": (
        wrapped(
            "(interface) (contents\n(instance R1 (viewRef v (cellRef top (libraryRef main)))))", RES
        ),
        """\
store.edf:8:34: error: cell 'top' is made of itself [edif-in-itself]
    (instance R1 (viewRef v (cellRef top (libraryRef main)))))
                                     ^^^
  A cell cannot be used inside itself.""",
    ),
    "a schematic": (
        GOOD.replace("(viewType NETLIST)\n(interface)", "(viewType SCHEMATIC)\n(interface)"),
        """\
store.edf:6:7: error: cell 'top' has no view of type NETLIST; its views are SCHEMATIC \
[edif-missing]
    (cell top (cellType GENERIC) (view v (viewType SCHEMATIC)
          ^^^
  Export the file again as a netlist (EDIF 2 0 0, view type NETLIST).""",
    ),
    "what could join nets and is not understood": (
        GOOD.replace("(net b (joined", "(net b (joined (globalPortRef VCC)"),
        """\
store.edf:10:16: error: '(globalportref' cannot be joined: a port is expected here \
[edif-unsupported]
    (net b (joined (globalPortRef VCC) (portRef &2 (instanceRef R1)))))
                   ^^^^^^^^^^^^^^
  Write (portRef PORT (instanceRef INSTANCE)).""",
    ),
    "members that are not there": (
        GOOD.replace("portRef &2", "portRef (member &2 3)"),
        """\
store.edf:10:33: error: port '2' has no member 3 [edif-missing]
    (net b (joined (portRef (member &2 3) (instanceRef R1)))))
                                    ^^
  It is no array.""",
    ),
    "arrays of unequal width": (
        GOOD.replace("(net b", "(net (array b 2)"),
        """\
store.edf:10:35: error: net 'b' has 2 members, and 1 ports are joined to them [edif-width]
    (net (array b 2) (joined (portRef &2 (instanceRef R1)))))
                                      ^^
  Join as many with as many.""",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_what_is_wrong_is_told_with_its_place(case: str, tmp_path: Path) -> None:
    text, said = CASES[case]
    assert told(tmp_path, text, MAP) == said


@pytest.mark.parametrize("depth", [1000, 100_000])
@pytest.mark.parametrize("closed", [True, False])
def test_deep_nesting(depth: int, closed: bool, tmp_path: Path) -> None:
    text = "(edif x " + "(a " * depth + ")" * (depth + 1 if closed else 0)
    assert told(tmp_path, text).splitlines()[0] == (
        "store.edf:1:1206: error: nested deeper than 400 levels [edif-too-deep]"
    )


def test_every_beginning_of_a_file_is_refused_and_none_ends_in_a_traceback(tmp_path: Path) -> None:
    for length in range(0, len(GOOD.rstrip()), 7):
        assert "error:" in told(tmp_path, GOOD[:length], MAP)


def test_blocks_that_grow_without_end_are_refused(tmp_path: Path) -> None:
    """Twenty levels, each of two of the one below: a million blocks from forty lines."""
    cells = RES + "".join(
        f"(cell c{n} (cellType GENERIC) (view v (viewType NETLIST) (interface)\n(contents "
        f"(instance a (viewRef v (cellRef c{n - 1})))\n"
        f"(instance b (viewRef v (cellRef c{n - 1}))))))"
        for n in range(1, 21)
    )
    cells += "(cell c0 (cellType GENERIC) (view v (viewType NETLIST) (interface) (contents)))"
    text = wrapped("(interface) (contents (instance x (viewRef v (cellRef c20))))", cells)
    assert "more than 20,000 parts [edif-too-large]" in told(tmp_path, text)


def test_the_command_ends_with_2_and_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = board(tmp_path, GOOD[:-20], MAP)
    target = tmp_path / "out.yaml"
    for file in (path, tmp_path / "store.edf"):
        words = ["convert", str(file), "--to", "board", "-o", str(target)]
        assert cli.main(words) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert "[edif-unbalanced]" in err
        assert "Traceback" not in err
        assert not target.exists()


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    path = board(tmp_path, GOOD, MAP)
    path.write_text("board: x\nedif: {file: stare.edf, mapping: mop.yaml}\n", "utf-8")
    from breadproof.specs.load import load_netlist
    from breadproof.specs.reading.diagnostics import BadInput

    with pytest.raises(BadInput) as bad:
        load_netlist(path)
    assert (
        str(bad.value).replace(f"{tmp_path}/", "")
        == """\
board.yaml:2:14: error: 'stare.edf': there is no such file [edif-unreadable]
    edif: {file: stare.edf, mapping: mop.yaml}
                 ^^^^^^^^^
  Check the path; it is taken as you typed it.
board.yaml:2:34: error: 'mop.yaml': there is no such file [mapping-unreadable]
    edif: {file: stare.edf, mapping: mop.yaml}
                                     ^^^^^^^^
  Check the path; it is taken as you typed it."""
    )
