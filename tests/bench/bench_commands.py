"""How long the commands take, as ratios to a reference that is timed in the same run.

Run by hand: ``python tests/bench/bench_commands.py``. The reference is a Python process that only
imports z3 and Amaranth, the two heavy libraries that a full `verify` may need.
"""

from __future__ import annotations

import subprocess
import sys
import time

RUNS = 5
COMMANDS = {
    "reference: import z3, amaranth": [sys.executable, "-c", "import z3, amaranth"],
    "breadproof --help": [sys.executable, "-m", "breadproof", "--help"],
    "breadproof parts 74LS157": [sys.executable, "-m", "breadproof", "parts", "74LS157"],
    "breadproof verify light-store": [
        sys.executable, "-m", "breadproof", "verify", "specs/boards/light-store.yaml",
    ],
}  # fmt: skip


def seconds(command: list[str]) -> float:
    """The shortest of some runs of a whole process."""
    times: list[float] = []
    for _ in range(RUNS):
        start = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Print a line a command: seconds, and how many times the reference."""
    measured = {name: seconds(command) for name, command in COMMANDS.items()}
    reference = next(iter(measured.values()))
    for name, took in measured.items():
        sys.stdout.write(f"{name:36} {took:7.3f} s  {took / reference:6.2f} x\n")


if __name__ == "__main__":
    main()
