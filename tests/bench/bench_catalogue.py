"""How long the part files of a board take to load, in a new process, a chip of each kind.

Run by hand: ``python -m tests.bench.bench_catalogue``. Seconds of processor time, without the
imports, from the first look for a part to the last; the target is 50 ms a board. The reference is
PyYAML's own reader on the same files, which is timed in the same run.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from pathlib import Path

RUNS = 5
ROOT = Path(__file__).resolve().parents[2]
FORTY = (
    "00", "02", "04", "08", "10", "11", "14", "20", "21", "27", "30", "32", "74", "86", "125",
    "126", "138", "139", "151", "153", "157", "158", "161", "163", "164", "165", "173", "174",
    "175", "189", "240", "241", "244", "245", "257", "273", "283", "373", "374", "6116",
)  # fmt: skip
SCRIPT = """
import sys, time
from pathlib import Path
import yaml
import breadproof.specs.load
from breadproof.specs.catalogue.catalogue import Catalogue
start = time.process_time()
catalogue = Catalogue()
for printed in sys.argv[1:]:
    catalogue.find(printed, "LS")
loaded = time.process_time()
folder = Path(breadproof.specs.load.__file__).parent / "parts"
for printed in sys.argv[1:]:
    text = (folder / f"{catalogue.find(printed, 'LS').type.number}.yaml").read_text("utf-8")
    list(yaml.parse(text, Loader=yaml.SafeLoader))
print(loaded - start, time.process_time() - loaded)
"""


def forty_chips(folder: Path) -> Path:
    """A board of forty chips that are all different, in a folder."""
    path = folder / "forty.yaml"
    lines = [f'  U{number}: "{number}"' for number in FORTY]
    path.write_text("\n".join(["board: forty", "parts:", *lines, "nets:", ""]), "utf-8")
    return path


def printed_on(path: Path) -> list[str]:
    """What is printed on the chips of a board file, each once."""
    found = re.findall(r"^  U\d+: (?:\{part: )?\"?(\w+)", path.read_text("utf-8"), re.M)
    return list(dict.fromkeys(found))


def seconds(chips: list[str]) -> tuple[float, float]:
    """The shortest of some runs: loading, and the reference."""
    runs: list[tuple[float, float]] = []
    for _ in range(RUNS):
        words = [sys.executable, "-c", SCRIPT, *chips]
        ran = subprocess.run(words, check=True, capture_output=True, text=True)
        load, reference = map(float, ran.stdout.split())
        runs.append((load, reference))
    return min(load for load, _ in runs), min(reference for _, reference in runs)


def main() -> None:
    """Print a line a board: milliseconds, milliseconds a chip, and times the reference."""
    with tempfile.TemporaryDirectory() as folder:
        for path in (ROOT / "specs/boards/light-store.yaml", forty_chips(Path(folder))):
            chips = printed_on(path)
            load, reference = seconds(chips)
            sys.stdout.write(
                f"{path.stem:12} {len(chips):3} chips {load * 1e3:7.1f} ms "
                f"{load * 1e3 / len(chips):6.2f} ms a chip {load / reference:6.2f} x\n"
            )


if __name__ == "__main__":
    main()
