"""Netlists after the standard: EDIF 2 0 0, ANSI/EIA-548-1988, from memory.

Each example uses one construct of it; the nets that must come out are written by hand.
"""

from pathlib import Path

import pytest

from tests.edif.support import cell, nets, read, told, wrapped

NAND = cell("NAND", "A", "B", "Y")
MAP = """\
cells:
  NAND: {part: 74LS00, gates: [{A: 1, B: 2, Y: 3}, {A: 4, B: 5, Y: 6}]}
  RES: resistor
  BUS: {part: connector, pins: 4}
"""


def use(name: str, kind: str, more: str = "") -> str:
    return f"(instance {name} (viewRef v (cellRef {kind} (libraryRef parts))){more})"


def test_rename_escaped_names_and_capitals(tmp_path: Path) -> None:
    """Identifiers: letters, digits, _, and & before what is no letter; capitals do not matter."""
    cells = cell('(rename &74LS00 "74LS00")', "&1", "&2", "&3", "&14", "&7")
    top = """(interface) (contents
      (instance u1 (viewRef V (cellRef &74ls00 (libraryRef PARTS))))
      (net (rename NET00001 "sel") (joined (portRef &1 (instanceRef U1)) (PORTREF &2
      (INSTANCEREF u1))))
      (net &5V (joined (portRef &14 (instanceRef u1))))
      (net GND (joined (portRef &7 (instanceRef u1)))))"""
    found = read(tmp_path, wrapped(top, cells))
    assert nets(found) == {"sel": ["u1.1", "u1.2"], "VCC": ["u1.14"], "GND": ["u1.7"]}


def test_designators_of_ports_and_of_instances_are_pin_numbers(tmp_path: Path) -> None:
    """A port's own designator, and that of a portInstance, which wins: one gate of several."""
    cells = cell(
        "GATE", '(rename I0 "in0") (designator "1")', 'I1 (designator "2")', 'O (designator "3")'
    )
    second = (
        '(designator "U1") (portInstance I0 (designator "13")) '
        '(portInstance I1 (designator (stringDisplay "12"))) (portInstance O (designator "11"))'
    )
    top = f"""(interface) (contents
      {use("g1", "GATE", '(designator "U1")')} {use("g2", "GATE", second)}
      (net a (joined (portRef I0 (instanceRef g1)) (portRef O (instanceRef g2))))
      (net b (joined (portRef O (instanceRef g1)) (portRef I0 (instanceRef g2))
                     (portRef I1 (instanceRef g2)))))"""
    found = read(tmp_path, wrapped(top, cells), "cells: {GATE: 74LS00}")
    assert [part.name for part in found.parts] == ["U1"]
    assert nets(found) == {"a": ["U1.1", "U1.11"], "b": ["U1.3", "U1.12", "U1.13"]}


def test_arrays_of_ports_nets_and_instances(tmp_path: Path) -> None:
    """``array`` with ``member``, members from 0; a ``portList`` joins one port to each member."""
    cells = cell("RES", "&1", "&2") + cell("BUS", '(array (rename P "P[1:4]") 4)')
    top = f"""(interface (port (array (rename D "D[3:0]") 4) (direction INOUT)))
     (contents
      (instance (array (rename R "R[1:4]") 4) (viewRef v (cellRef RES (libraryRef parts))))
      {use("J1", "BUS")}
      (net (array (rename d "D[3:0]") 4) (joined (portRef D) (portRef P (instanceRef J1))
        (portList (portRef &1 (instanceRef (member R 0))) (portRef &1 (instanceRef (member R 1)))
                  (portRef &1 (instanceRef (member R 2))) (portRef &1 (instanceRef (member R 3))))))
      (net pull (joined (portRef &2 (instanceRef (member R 0))) (portRef &2 (instanceRef
      (member R 3))))))"""
    mapping = MAP + "\n  # by number\n"
    mapping = mapping.replace(
        "pins: 4}", 'pins: 4, ports: {"P[1]": 1, "P[2]": 2, "P[3]": 3, "P[4]": 4}}'
    )
    found = read(tmp_path, wrapped(top, cells), mapping)
    assert nets(found) == {
        "D[3]": ["R_1.1", "J1.1"], "D[2]": ["R_2.1", "J1.2"],
        "D[1]": ["R_3.1", "J1.3"], "D[0]": ["R_4.1", "J1.4"], "pull": ["R_1.2", "R_4.2"],
    }  # fmt: skip
    assert [(v.name, v.left, v.right) for v in found.vectors] == [("D", 3, 0)]
    assert [(p.name, p.direction) for p in found.ports] == [("D", "both")]


def test_cells_of_cells_and_what_leaves_them(tmp_path: Path) -> None:
    """A block used twice: its parts are two, its inner nets are two, its ports join them."""
    block = f"""(cell pair (cellType GENERIC) (view v (viewType NETLIST)
     (interface (port I (direction INPUT)) (port O (direction OUTPUT)))
     (contents {use("ra", "RES", '(designator "R1")')} {use("rb", "RES")}
      (net (rename x "in") (joined (portRef I) (portRef &1 (instanceRef ra))))
      (net mid (joined (portRef &2 (instanceRef ra)) (portRef &1 (instanceRef rb))))
      (net y (joined (portRef O) (portRef &2 (instanceRef rb)))))))"""
    top = f"""(interface (port far (direction OUTPUT))) (contents
      {use("first", "pair")} {use("second", "pair")}
      (net begin (joined (portRef I (instanceRef first))))
      (net between (joined (portRef O (instanceRef first)) (portRef I (instanceRef second))))
      (net last (joined (portRef O (instanceRef second)) (portRef far))))"""
    found = read(tmp_path, wrapped(top, cell("RES", "&1", "&2") + block), MAP)
    assert nets(found) == {
        "begin": ["first_R1.1"], "first_mid": ["first_R1.2", "first_rb.1"],
        "between": ["first_rb.2", "second_R1.1"], "second_mid": ["second_R1.2", "second_rb.1"],
        "far": ["second_rb.2"],
    }  # fmt: skip


def test_nets_inside_nets_bundles_and_external_libraries(tmp_path: Path) -> None:
    """Pieces of a net are the net; a bundle is its nets; an external library is one."""
    text = wrapped(
        f"""(interface) (contents {use("R1", "RES")} {use("R2", "RES")}
          (net whole (joined (portRef &1 (instanceRef R1))) (net piece (joined (portRef &1
      (instanceRef R2)))))
          (netBundle bundle (listOfNets (net one (joined (portRef &2 (instanceRef R1))))
                                        (net two (joined (portRef &2 (instanceRef R2)))))))""",
        cell("RES", "&1", "&2"),
    ).replace("(library parts", "(external parts")
    found = read(tmp_path, text, MAP)
    assert nets(found) == {"whole": ["R1.1", "R2.1"], "one": ["R1.2"], "two": ["R2.2"]}


def test_properties_of_all_kinds_and_names_of_several_words(tmp_path: Path) -> None:
    """string, integer, number (also as e), boolean; ``Part Number`` without quotes."""
    more = """(property Part Number (string "74HC00")) (property "two words" (string "x"))
      (property Height (integer 4))
      (property weight (number (e 15 -1))) (property Fitted (boolean (true)))
      (property (rename note_1 "a note") (string "%34%two%34% at 100%37%"))"""
    top = f"""(interface) (contents {use("U1", "X", more)} (net a (joined (portRef A1
      (instanceRef U1)))))"""
    found = read(tmp_path, wrapped(top, cell("X", "A1", "B1", "Y1")))
    assert [(p.printed, p.family.name if p.family else "") for p in found.parts] == [
        ("74HC00", "HC")
    ]


def test_values_options_and_counts(tmp_path: Path) -> None:
    """Value properties as they are typed, in ohms and farads; ways by the number of ports."""
    cells = (
        cell("RES", "&1", "&2")
        + cell("CAP", "&1", "&2")
        + cell("SW", *(f"&{n}" for n in range(1, 17)))
    )
    values = {
        "R1": "4K7",
        "R2": "10K 5%37%",
        "R3": "1MEG",
        "R4": "330 OHM",
        "C1": "100NF",
        "C2": "0.1uF/50V",
    }
    uses = [
        use(n, "RES" if n[0] == "R" else "CAP", f'(property VALUE (string "{v}"))')
        for n, v in values.items()
    ]
    joined = " ".join(f"(portRef &1 (instanceRef {n}))" for n in (*values, "S1"))
    top = f"(interface) (contents {' '.join(uses)} {use('S1', 'SW')} (net a (joined {joined})))"
    found = read(
        tmp_path, wrapped(top, cells), "cells: {RES: resistor, CAP: capacitor, SW: dip-switch}"
    )
    assert {p.name: p.value for p in found.parts[:-1]} == pytest.approx(
        {"R1": 4700, "R2": 10e3, "R3": 1e6, "R4": 330, "C1": 1e-7, "C2": 1e-7}
    )
    assert found.parts[-1].ways == 8


def test_gates_by_their_letters(tmp_path: Path) -> None:
    """U1A and U1B are gates of one package; pins A, B and Y are those of the gate (common
    practice of drawings); U2A alone is one gate, too."""
    top = f"""(interface) (contents {use("U1A", "NAND")} {use("U1B", "NAND")} {use("U2C", "NAND")}
      (net s (joined (portRef A (instanceRef U1A)) (portRef Y (instanceRef U1B)) (portRef Y
      (instanceRef U2C))))
      (net r (joined (portRef Y (instanceRef U1A)) (portRef A (instanceRef U1B)) (portRef A
      (instanceRef U2C)))))"""
    found = read(tmp_path, wrapped(top, NAND), "cells: {NAND: 74LS00}")
    assert [part.name for part in found.parts] == ["U1", "U2"]
    # 74LS00 of the data book: A1 1, Y1 3, A2 4, Y2 6, A3 9, Y3 8.
    assert nets(found) == {"s": ["U1.1", "U1.6", "U2.8"], "r": ["U1.3", "U1.4", "U2.9"]}


def test_whole_chips_with_letters_stay_apart(tmp_path: Path) -> None:
    """Two chips that are called U1A and U1B: the same pins are on different nets."""
    cells = cell("X00", "&1", "&2", "&3")
    top = f"""(interface) (contents {use("U1A", "X00")} {use("U1B", "X00")}
      (net s (joined (portRef &1 (instanceRef U1A)))) (net r (joined (portRef &1
      (instanceRef U1B)))))"""
    found = read(tmp_path, wrapped(top, cells), "cells: {X00: 74LS00}")
    assert [part.name for part in found.parts] == ["U1A", "U1B"]


def test_gates_by_the_mapping(tmp_path: Path) -> None:
    """The first instance of a designator is the first gate."""
    top = f"""(interface)
      (contents {use("g1", "NAND", '(designator "U1")')} {use("g2", "NAND", '(designator "U1")')}
      (net s (joined (portRef A (instanceRef g1)) (portRef Y (instanceRef g2))))
      (net r (joined (portRef Y (instanceRef g1)) (portRef B (instanceRef g2)))))"""
    found = read(tmp_path, wrapped(top, NAND), MAP)
    assert nets(found) == {"s": ["U1.1", "U1.6"], "r": ["U1.3", "U1.5"]}


@pytest.mark.parametrize(
    ("port", "pin"),
    [("1A", "2"), ("A1", "2"), ("a1", "2"), ("G_n", "15"), ("/G", "15"), ("~G", "15"), ("nG", "15"),
     ("G#", "15"), ("G_L", "15"), ("G", "15"), ("VDD", "16"), ("+5V", "16"), ("VSS", "8"),
      ("S", "1")],
)  # fmt: skip
def test_pins_by_name(port: str, pin: str, tmp_path: Path) -> None:
    """The 157 of the data book, from memory; marks of active low are common practice."""
    cells = cell("74LS157", f'(rename P "{port}")').replace("cell 74", "cell &74")
    top = f"""(interface) (contents {use("U1", "&74LS157")} (net a (joined (portRef P
      (instanceRef U1)))))"""
    assert nets(read(tmp_path, wrapped(top, cells))) == {"a": [f"U1.{pin}"]}


def test_supplies_by_symbols_and_hidden_pins(tmp_path: Path) -> None:
    """A one-port cell that is called as a supply is its symbol, wherever it stands; the supply
    pins that the drawing leaves out are joined if the mapping file says that it does."""
    cells = (
        cell("VCC", "P")
        + cell("GND", "G")
        + cell("(rename X &74LS00)".replace("&", '"').replace("00)", '00")'), "A1")
    )
    top = f"""(interface)
      (contents {use("U1", "X")} {use("p1", "VCC")} {use("p2", "VCC")} {use("p3", "GND")}
      (net n1 (joined (portRef P (instanceRef p1)))) (net n2 (joined (portRef P
      (instanceRef p2)) (portRef A1 (instanceRef U1))))
      (net n3 (joined (portRef G (instanceRef p3)))))"""
    found = read(tmp_path, wrapped(top, cells), "hidden-supplies: true")
    assert nets(found) == {"VCC": ["U1.1", "U1.14"], "GND": ["U1.7"]}
    assert [net.rail for net in found.nets] == [5.0, 0.0]


def test_supplies_that_the_board_file_names(tmp_path: Path) -> None:
    cells = cell("RES", "&1", "&2")
    top = f"""(interface) (contents {use("R1", "RES")}
      (net (rename p "+5V_A") (joined (portRef &1 (instanceRef R1)))) (net (rename m "-")
      (joined (portRef &2 (instanceRef R1)))))"""
    found = read(tmp_path, wrapped(top, cells), MAP, key=', supplies: {VCC: +5V_A, GND: "-"}')
    assert nets(found) == {"VCC": ["R1.1"], "GND": ["R1.2"]}


def test_two_nets_that_could_be_the_supply(tmp_path: Path) -> None:
    cells = cell("RES", "&1", "&2")
    top = f"""(interface) (contents {use("R1", "RES")}
(net VCC (joined (portRef &1 (instanceRef R1))))
(net (rename p "+5V") (joined (portRef &2 (instanceRef R1)))))"""
    assert (
        told(tmp_path, wrapped(top, cells), MAP)
        == """\
board.yaml:2:14: error: 'VCC' and '+5V' could be VCC, and are not joined [edif-supply]
    edif: {file: store.edf, mapping: map.yaml}
                 ^^^^^^^^^
  'VCC': store.edf:8:6
    (net VCC (joined (portRef &1 (instanceRef R1))))
         ^^^
  '+5V': store.edf:9:14
    (net (rename p "+5V") (joined (portRef &2 (instanceRef R1)))))
                 ^
  Say which: 'supplies: {VCC: VCC}'; a list joins them: 'VCC: [VCC, +5V]'."""
    )


def test_the_board_file_adds_to_the_drawing(tmp_path: Path) -> None:
    """Parts of its own, a net of the drawing with one pin more, ports and formulas."""
    cells = cell("RES", "&1", "&2")
    top = f"""(interface) (contents {use("R1", "RES")} (net tap_n (joined (portRef &1
      (instanceRef R1)))) (net VCC (joined (portRef &2 (instanceRef R1)))))"""
    more = """\
parts: {TAP: push-button}
nets: {tap_n: [TAP.1], GND: [TAP.2]}
ports: {tap_n: out}
assert: {low: always (TAP -> !tap_n)}
"""
    found = read(tmp_path, wrapped(top, cells), MAP, more)
    assert nets(found) == {"tap_n": ["R1.1", "TAP.1"], "VCC": ["R1.2"], "GND": ["TAP.2"]}
    assert [port.name for port in found.ports] == ["tap_n"]
    assert [formula.name for formula in found.formulas] == ["low"]


def test_the_design_that_is_wanted(tmp_path: Path) -> None:
    cells = cell("RES", "&1", "&2")
    top = (
        f"(interface) (contents {use('R1', 'RES')} (net a (joined (portRef &1 (instanceRef R1)))))"
    )
    text = wrapped(
        top, cells, "(design one (cellRef top)) (design two (cellRef RES (libraryRef parts)))"
    )
    assert nets(read(tmp_path, text, MAP, key=", design: one")) == {"a": ["R1.1"]}
    assert "the file has 2 designs" in told(tmp_path, text, MAP)
    assert "there is no design 'three'" in told(tmp_path, text, MAP, key=", design: three")
    assert nets(read(tmp_path, wrapped(top, cells, ""), MAP)) == {"a": ["R1.1"]}
