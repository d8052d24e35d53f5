"""What was proved is taken from run to run, board by board, while what it rests on is the same."""

from __future__ import annotations

from pathlib import Path

from breadproof.verify.prove.keeper import KEPT
from breadproof.verify.prove.store import Store
from breadproof.verify.revisions.compare import Compared, Wanted, compare
from breadproof.verify.revisions.verdicts import Means

FOLDER = Path(__file__).parents[2] / "specs" / "boards" / "revisions"
FORMULAS = """
assert:
  cleared: {says: The clear wins., formula: "always (!clear_n -> s == 0)"}
  both: {says: The gate is high for two highs., formula: "always (a[0] && b[0] -> x)"}
"""


def run(old: Path, new: Path, store: Store) -> Compared:
    return compare(old, new, Wanted(), Means(seconds=60, store=store))


def kept(found: Compared, side: int) -> set[str]:
    """The results of a board that were kept."""
    assert found.proved is not None
    return {one.name for one in found.proved.results[side] if one.engines == (KEPT,)}


def test_one_wire_moved(tmp_path: Path) -> None:
    """A gate beside the crossfade, one of whose inputs moves to another net: what is proved of the
    storage, and said of it, is kept; what is said of the gate is asked anew, once."""
    text = (FOLDER / "crossfade-retimed.yaml").read_text("utf-8")
    text = text.replace("  U2: 74LS283\n", "  U2: 74LS283\n  U3: 74LS08\n").replace(
        "VCC: [U1.16", "VCC: [U3.14, U1.16"
    )
    grounds = ", ".join(f"U3.{pin}" for pin in (7, 4, 5, 9, 10, 12, 13))
    text = text.replace("GND: [U1.8", f"GND: [{grounds}, U1.8")
    text = text.replace("  a[1:0]:", "  x: [U3.3]\n  a[1:0]:")
    text = text.replace("clear_n: in", "x: out, clear_n: in")
    old, new = tmp_path / "old.yaml", tmp_path / "new.yaml"
    wires = "wires:\n  - U3.1 to a[0]\n  - U3.2 to b[0]\n"
    old.write_text(text + FORMULAS + wires, "utf-8")
    new.write_text(text + FORMULAS + wires.replace("b[0]", "b[1]"), "utf-8")
    store = Store(tmp_path / "kept")
    assert run(old, old, store).proved is None  # the same wiring: nothing is to be proved
    found = run(old, new, store)
    assert found.behaviour == "differs"
    assert not kept(found, 0)
    assert {"cleared", "glitch:U1.9", "race:U1.9"} <= kept(found, 1)
    assert "both" not in kept(found, 1)
    again = run(old, new, store)
    assert {"cleared", "both", "glitch:U1.9"} <= kept(again, 0) & kept(again, 1)
    assert found.proved is not None
    assert again.proved is not None
    assert [row.new for row in again.proved.rows] == [row.new for row in found.proved.rows]
