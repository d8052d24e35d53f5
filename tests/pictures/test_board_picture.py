"""The picture of a board has every pin and every wire, and marks what was found."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest

from breadproof.specs.load import load_netlist
from breadproof.verify.pictures.boardpicture import BoardPicture, board_file
from breadproof.verify.pictures.stickers import finding_stickers
from breadproof.verify.wiring.registry import check_wiring

from .reading import SVG, corners, of_class, parsed, texts

BOARDS = Path(__file__).resolve().parents[2] / "specs" / "boards"

HOLES = """\
board: two-gates
breadboards: {b1: {tie-points: 400}}
parts:
  U1: {part: 74LS00, at: b1.e3}
  KEY: {part: push-button}
wires:
  - {from: b1.a3, to: b1.j5, colour: green}
  - KEY.1 to b1.a4
  - b1.lower+ to b1.j3
nets:
  VCC: [U1.14]
  GND: [U1.7, KEY.2]
"""


@pytest.mark.parametrize("name", ["light-store", "light-store-holes", "twins/enable-open"])
def test_every_pin_is_there_once_with_its_net(name: str) -> None:
    netlist = load_netlist(BOARDS / f"{name}.yaml")
    tree = parsed(board_file(netlist, {}))
    pins = {one.get("id"): one for one in of_class(tree, "b-pin")}
    assert len(pins) == len(of_class(tree, "b-pin"))
    assert set(pins) == {f"pin-{pin.label}" for pin in netlist.pins()}
    for pin in netlist.pins():
        drawn = pins[f"pin-{pin.label}"]
        title = next(drawn.iter(f"{SVG}title")).text or ""
        assert title.startswith(pin.label)
        net = None if pin.net is None else netlist.nets[pin.net].name
        assert ("connected to nothing" in title) == (net is None)
        assert net is None or f"net {net}," in title
    parts = of_class(tree, "b-part")
    assert {one.get("tabindex") for one in parts} == {"0"}
    assert len(parts) == len(netlist.parts)
    for part in netlist.parts:
        named = [one for one in parts if any(_names(text, part.name) for text in texts(one))]
        assert len(named) == 1, part.name


def _names(text: str, name: str) -> bool:
    return text == name or text.startswith(f"{name} ")


def _ends(path: str) -> tuple[tuple[float, float], tuple[float, float]]:
    numbers = [float(text) for text in re.findall(r"-?[\d.]+", path)]
    return (numbers[0], numbers[1]), (numbers[-2], numbers[-1])


def test_wires_have_the_files_colours_and_end_in_its_holes(tmp_path: Path) -> None:
    path = tmp_path / "b.yaml"
    path.write_text(HOLES, "utf-8")
    tree = parsed(board_file(load_netlist(path), {}))
    place = {
        one.get("id"): (float(one.get("cx", "")), float(one.get("cy", "")))
        for one in of_class(tree, "b-pin")
    }
    wires = of_class(tree, "b-wire")
    titles = [next(one.iter(f"{SVG}title")).text for one in wires]
    assert titles[0] is not None
    assert titles[0].endswith("b1.a3 to b1.j5")
    (x, y), (to, up) = _ends(wires[0].get("d", ""))
    pitch = place["pin-U1.2"][0] - place["pin-U1.1"][0]
    # pin 1 is in e3, so a3 is four tenths of an inch below it; pin 12 is in f5, j5 four above.
    assert (x, y) == pytest.approx((place["pin-U1.1"][0], place["pin-U1.1"][1] + 4 * pitch))
    assert (to, up) == pytest.approx((place["pin-U1.12"][0], place["pin-U1.12"][1] - 4 * pitch))
    assert wires[0].get("stroke") == "#009e73"
    # Nothing joins the ground pin yet: the jumper that is still needed is dashed.
    missing = [one for one in wires if "b-missing" in one.get("class", "")]
    assert missing
    assert all(
        "still to be put in" in (next(one.iter(f"{SVG}title")).text or "") for one in missing
    )


LAMPS = """\
board: lamps
breadboards: {b1: {tie-points: 400}}
parts:
  R1: {part: resistor, value: 330, at: [b1.a5, b1.a24]}
  R2: {part: resistor, value: 330, at: [b1.b5, b1.a26]}
  L1: {part: led, at: [b1.lower+, b1.b24]}
  L2: {part: led, at: [b1.lower+, b1.b26]}
wires: [VCC to b1.lower+]
nets:
  GND: [R1.1]
"""


def test_a_leg_on_a_rail_is_near_the_other_leg(tmp_path: Path) -> None:
    path = tmp_path / "b.yaml"
    path.write_text(LAMPS, "utf-8")
    tree = parsed(board_file(load_netlist(path), {}))
    across = {one.get("id"): float(one.get("cx", "")) for one in of_class(tree, "b-pin")}
    for lamp in ("L1", "L2"):  # straight down from columns 24 and 26
        assert across[f"pin-{lamp}.1"] == across[f"pin-{lamp}.2"]


def test_pins_of_the_front_panel_are_called_by_name_or_number(tmp_path: Path) -> None:
    path = tmp_path / "b.yaml"
    path.write_text(HOLES.replace("  KEY: {part: push-button}", PANEL), "utf-8")
    tree = parsed(board_file(load_netlist(path), {}))
    named = {
        texts(part)[0]: [one.text for one in of_class(part, "b-pin-name")]
        for part in of_class(tree, "b-part")
    }
    assert named["KEY"] == ["1", "2"]
    assert named["LAMP"] == ["A", "K"]
    assert named["DS1"] == ["e", "d", "3", "c", "dp", "b", "a", "8", "f", "g"]  # 3, 8: common


PANEL = """\
  KEY: {part: push-button}
  LAMP: {part: led}
  DS1: {part: display, common: anode}\
"""


def test_signs_of_supply_and_ground_are_seen_on_dark_too(tmp_path: Path) -> None:
    """Ground has the colour of the letters, which is light where the paper is dark."""
    path = tmp_path / "b.yaml"
    path.write_text(HOLES.replace("VCC: [U1.14]", "VCC: [U1.14, KEY.1]"), "utf-8")
    text = board_file(load_netlist(path), {})
    strokes = {
        (next(one.iter(f"{SVG}title")).text or "").partition(":")[0]: one.get("stroke")
        for one in of_class(parsed(text), "b-stub")
    }
    assert strokes == {"net GND": None, "net VCC": "#c02f1d"}
    assert re.findall(r"\.b-ground\{stroke:(#\w+)\}", text) == ["#1d2226", "#e8e9e6"]


SHOWN = """\
board: shown
breadboards: {b1: {tie-points: 400}}
parts:
  L1: {part: led, at: [b1.a5, b1.a8]}
  L2: {part: led, at: [b1.a10, b1.a13]}
  BAR: {part: led-bar, ways: 8}
  DS1: {part: display, common: anode}
nets: {VCC: [L1.A]}
"""


def test_what_lamps_bars_and_displays_show_is_said_in_words_too(tmp_path: Path) -> None:
    """A 7 is segments a, b and c, as everybody draws it."""
    path = tmp_path / "b.yaml"
    path.write_text(SHOWN, "utf-8")
    lit = frozenset({"L1", "BAR[10]", "BAR[2]", "DS1[a]", "DS1[b]", "DS1[c]"})
    drawn = BoardPicture(load_netlist(path), {}, lit=lit).draw()
    says = [next(one.iter("title")).text for one in of_class(drawn, "b-part")]
    assert says == [
        "L1: led, LED, lit",
        "L2: led, LED, dark",
        "BAR: led-bar, LED bar, lit: 2 10",
        "DS1: display, seven-segment display, one digit, shows 7",
    ]
    assert len(of_class(drawn, "b-shines")) == 1
    assert {"lit: 2 10", "shows 7"} <= {one.text for one in drawn.iter("text")}


def test_findings_mark_their_pins_with_a_sign_and_words() -> None:
    netlist = load_netlist(BOARDS / "twins" / "enable-open.yaml")
    tree = parsed(board_file(netlist, finding_stickers(check_wiring(netlist))))
    (ring,) = of_class(tree, "b-ring")
    (pin,) = [one for one in of_class(tree, "b-pin") if one.get("id") == "pin-U5.19"]
    assert (ring.get("cx"), ring.get("cy")) == (pin.get("cx"), pin.get("cy"))
    assert [one.text for one in of_class(tree, "b-sign")] == ["\N{MULTIPLICATION X}"]
    assert pin.get("tabindex") == "0"
    assert "error: U5.19 (G2_n) is open" in (next(pin.iter(f"{SVG}title")).text or "")


def test_wires_in_channels_do_not_run_on_each_other() -> None:
    netlist = load_netlist(BOARDS / "light-store.yaml")
    tree = parsed(board_file(netlist, {}))
    lanes: dict[float, list[tuple[float, float]]] = {}
    for one in of_class(tree, "b-wire"):
        path = one.get("d", "")
        if "Q" in path:
            continue
        places = corners(path)
        for (x, y), (to, down) in pairwise(places):
            if y == down and abs(x - to) > 1:
                lanes.setdefault(y, []).append((min(x, to), max(x, to)))
    assert sum(len(spans) for spans in lanes.values()) > 200
    for spans in lanes.values():
        spans.sort()
        assert all(a[1] <= b[0] for a, b in pairwise(spans))
