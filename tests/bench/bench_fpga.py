"""How long bitstreams take: the very first, for which the tools compile themselves, and later ones.

Run by hand: ``python tests/bench/bench_fpga.py``. Aims: the first under 90 s, later ones under
30 s, on two cores that nobody else uses.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
STORE = ROOT / "specs" / "boards" / "light-store.yaml"
TARGETS = ROOT / "specs" / "targets"


def seconds(target: Path, folder: Path, cache: Path) -> float:
    """One export of the light-store; ``cache`` is where the tools keep what they compiled."""
    words = ["--to", "bitstream", "--target", str(target), "-o", str(folder / "store.bin")]
    begun = time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "breadproof", "export", str(STORE), *words],
        env=os.environ | {"YOWASP_CACHE_DIR": str(cache)}, check=True, capture_output=True,
    )  # fmt: skip
    return time.perf_counter() - begun


def main() -> None:
    """Print a line a bitstream."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for position, target in enumerate(sorted(TARGETS.glob("light-store-*.yaml"))):
            cache = folder / "cache"
            if position == 0:
                first = seconds(target, folder, cache)
                sys.stdout.write(f"{target.stem}, the very first: {first:.1f} s\n")
            later = min(seconds(target, folder, cache) for _ in range(3))
            sys.stdout.write(f"{target.stem}, later: {later:.1f} s\n")


if __name__ == "__main__":
    main()
