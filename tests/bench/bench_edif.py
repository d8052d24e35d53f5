"""How long an EDIF file of 5 MB takes, as a whole process, and against a plain reference.

Run by hand: ``python -m tests.bench.bench_edif``. The drawing is that of `tests.edif.workshop`, of
127 chips, with so many properties at each instance that it is 5 MB, and one of as many channels as
make 5 MB without them. Seconds of processor time, since other work may share the machine; the
target is 3 s. The reference only splits the same text into parentheses, strings and words with a
regular expression, and counts the depth, in the same run.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.edif.workshop import MAPPING, rack

RUNS = 3
SIZE = 5_000_000
REFERENCE = """
import re, sys
text = open(sys.argv[1], encoding="utf-8").read()
depth = count = 0
for found in re.finditer(r'[()]|"[^"]*"|[^\\s()"]+', text):
    token = found.group()
    depth += (token == "(") - (token == ")")
    count += 1
assert depth == 0
"""
READ = """
import sys
from pathlib import Path
from breadproof.specs.load import load_netlist
load_netlist(Path(sys.argv[1]))
"""


def seconds(words: list[str]) -> float:
    """The shortest of some runs of a whole process, in seconds of its processor time."""
    times: list[float] = []
    for _ in range(RUNS):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(words, check=True, stdout=subprocess.DEVNULL)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        times.append(after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime)
    return min(times)


def noted() -> str:
    """The rack with so many properties that it has the size."""
    bare = len(rack()[0])
    one = len(rack(notes=1)[0]) - bare
    return rack(notes=(SIZE - bare) // one + 1)[0]


def large() -> str:
    """As many racks side by side, each a block of its own, as have the size."""
    text = rack()[0]
    count = SIZE // len(text) + 1
    head, cell = text.split("(cell sheet", 1)
    body = cell[: cell.rindex("(design")].rstrip()[:-1]
    cells = "\n".join(f"(cell sheet{k}{body}" for k in range(count))
    uses = " ".join(
        f"(instance s{k} (viewRef n (cellRef sheet{k} (libraryRef rack))))" for k in range(count)
    )
    ground = " ".join(f"(portRef odd (instanceRef s{k}))" for k in range(1))
    top = (
        "(cell all (cellType GENERIC) (view n (viewType NETLIST) (interface) (contents "
        f"{uses} (net odd (joined {ground})))))"
    )
    return f"{head}{cells}\n{top})\n(design all (cellRef all (libraryRef rack))))\n"


def main() -> None:
    """Print a line a file: size, seconds, times the reference, memory."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "map.yaml").write_text(MAPPING, "utf-8")
        for title, text, more in (
            ("127 chips, many properties", noted(), ""),
            ("racks side by side", large(), _supplies(large())),
        ):
            (folder / "rack.edf").write_text(text, "utf-8")
            board = folder / "rack.yaml"
            board.write_text(
                f"board: rack\nedif: {{file: rack.edf, mapping: map.yaml{more}}}\n", "utf-8"
            )
            reference = seconds([sys.executable, "-c", REFERENCE, str(folder / "rack.edf")])
            took = seconds([sys.executable, "-c", READ, str(board)])
            memory = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
            sys.stdout.write(
                f"{title:28} {len(text) / 1e6:5.2f} MB  reference {reference:5.2f} s  "
                f"{took:5.2f} s  {took / reference:5.2f} x  {memory:5.0f} MB\n"
            )


def _supplies(text: str) -> str:
    """Each rack has supplies of its own, which are joined."""
    count = text.count("(instance s")
    high = ", ".join(f"s{k}/+5V" for k in range(count))
    low = ", ".join(f"s{k}/GND" for k in range(count))
    return f", supplies: {{VCC: [{high}], GND: [{low}]}}"


if __name__ == "__main__":
    main()
