"""What is told of a build: the report, what went wrong, and the safety sheet's levels."""

import json
from pathlib import Path

import pytest

from breadproof.export.fpga.report import read_report
from breadproof.export.fpga.sheet_levels import levels
from breadproof.export.fpga.troubles import trouble
from breadproof.specs.load import load_netlist
from tests.export.boards import CHANGEOVER, GATED
from tests.fpga.boards import PAD, PAD_TARGET, written
from tests.fpga.building import mapped_of

# As nextpnr 0.11 said it, shortened.
TOO_LARGE = """
Info: Device utilisation:
Info: 	         ICESTORM_LC:    2034/   1280   158%
Info: 	        ICESTORM_RAM:       4/     16    25%
Info: 	               SB_IO:      16/     96    16%
ERROR: Unable to place cell 'x', no BELs remaining to implement cell type 'ICESTORM_LC'
"""
NO_PIN = "ERROR: package does not have a pin named '99' (on line 3)"


@pytest.mark.parametrize(
    ("said", "expected", "place"),
    [
        (TOO_LARGE, "too large for hx1k: it needs 2034 logic cells of 1280", (2, 9)),
        (NO_PIN, "hx1k in tq144 has no pin '99'", (9, 13)),
    ],
)
def test_what_is_the_users_is_told_at_its_place(
    said: str, expected: str, place: tuple[int, int], tmp_path: Path
) -> None:
    netlist = load_netlist(written(tmp_path, PAD, "board.yaml"))
    mapped = mapped_of(netlist, written(tmp_path, PAD_TARGET, "target.yaml"))
    found = trouble(said, mapped)
    assert found is not None
    (one,) = found.diagnostics
    assert expected in one.message
    assert (one.span.line, one.span.column) == place


def test_what_is_nobodys_is_not(tmp_path: Path) -> None:
    netlist = load_netlist(written(tmp_path, PAD, "board.yaml"))
    mapped = mapped_of(netlist, written(tmp_path, PAD_TARGET, "target.yaml"))
    assert trouble("ERROR: failed to open chipdb", mapped) is None
    assert trouble("", mapped) is None


def test_the_slowest_clock_counts() -> None:
    text = json.dumps(
        {
            "fmax": {"a": {"achieved": 80.5, "constraint": 12}, "b": {"achieved": 33.0}},
            "utilization": {"ICESTORM_LC": {"used": 7, "available": 1280}, "SB_GB": {"used": 1}},
        }
    )
    report = read_report(text, 12e6)
    assert report.achieved == 33e6
    assert [(use.what, use.used, use.available) for use in report.uses] == [
        ("logic cells", 7, 1280)
    ]


def test_ls_takes_an_fpgas_levels_and_hc_does_not(tmp_path: Path) -> None:
    """At 5 V LS inputs want 2.0 V for a high, HC inputs 3.5 V (data books): an FPGA pin at 3.3 V
    gives 2.9 V. Nothing of 5 V goes back without a buffer."""
    ls = "\n".join(levels(load_netlist(written(tmp_path, GATED, "ls.yaml"))))
    hc = "\n".join(levels(load_netlist(written(tmp_path, CHANGEOVER, "hc.yaml"))))
    down = "74LVC245 at 3.3 V; never directly"
    assert f"| LS | {down} | directly: its inputs want 2 V and 0.8 V |" in ls
    assert f"| HC | {down} | 74AHCT245 or 74HCT245 at 5 V: its inputs want 3.5 V and 1.5 V |" in hc
    assert "its inputs bear 5.5 V" in ls
