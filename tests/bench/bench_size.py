"""How `breadproof check` grows with the board: 75 to 600 chips, as whole processes.

Run by hand: ``python -m tests.bench.bench_size``. The reference, timed in the same run, is PyYAML's
reader in C on the same file. Targets: 300 chips in under 2 s and 300 MB; growth close to linear.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.bench.large_board import large_board

RUNS = 3
MODULES = (8, 15, 30, 60)
READER = "import sys, yaml; yaml.load(open(sys.argv[1], 'rb'), yaml.CSafeLoader)"


def seconds(command: list[str]) -> float:
    """The shortest of some runs of a whole process."""
    times: list[float] = []
    for _ in range(RUNS):
        start = time.perf_counter()
        done = subprocess.run(command, check=False, stdout=subprocess.DEVNULL)
        times.append(time.perf_counter() - start)
        if done.returncode not in (0, 1):
            raise SystemExit(f"{command} ended with {done.returncode}")
    return min(times)


def main() -> None:
    """Print a line a board: chips, pins, seconds, times the reference, memory of the largest."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "board.yaml")
        for modules in MODULES:
            text = large_board(modules)
            path.write_text(text, "utf-8")
            pins = text.count(".") - text.count("..")
            took = seconds([sys.executable, "-m", "breadproof", "check", str(path)])
            reference = seconds([sys.executable, "-c", READER, str(path)])
            largest = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
            sys.stdout.write(
                f"{10 * modules:4} chips {pins:6} pins  {took:6.2f} s  {took / reference:5.1f} x  "
                f"{largest:4} MB\n"
            )


if __name__ == "__main__":
    main()
