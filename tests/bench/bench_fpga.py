"""How long bitstreams take: the very first, for which the tools compile themselves, and later ones.

Run by hand: ``python tests/bench/bench_fpga.py``. Aims: the first under 90 s, later ones under
30 s, on two cores that nobody else uses; the fade engine's Verilog, proved, under 60 s. Both the
time and the processor's time are told, since a busy machine stretches the first alone.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
STORE = ROOT / "specs" / "boards" / "light-store.yaml"
ENGINE = STORE.with_name("fade-engine.yaml")
TARGETS = ROOT / "specs" / "targets"


def measured(board: Path, words: list[str], cache: Path) -> tuple[float, float]:
    """Seconds of one export, and the processor's; ``cache`` is where tools keep what they made."""
    begun, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(
        [sys.executable, "-m", "breadproof", "export", str(board), *words],
        env=os.environ | {"YOWASP_CACHE_DIR": str(cache)}, check=True, capture_output=True,
    )  # fmt: skip
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return time.perf_counter() - begun, spent


def told(what: str, found: tuple[float, float]) -> None:
    """Print a line."""
    sys.stdout.write(f"{what:36} {found[0]:6.1f} s, {found[1]:6.1f} s of processor\n")
    sys.stdout.flush()


def main() -> None:
    """Print a line an export."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        cache = folder / "cache"
        for position, target in enumerate(sorted(TARGETS.glob("light-store-*.yaml"))):
            words = ["--to", "bitstream", "--target", str(target), "-o", str(folder / "store.bin")]
            if position == 0:
                told(f"{target.stem}, the very first", measured(STORE, words, cache))
            told(f"{target.stem}, later", min(measured(STORE, words, cache) for _ in range(2)))
        words = ["--to", "verilog", "-o", str(folder / "engine.v")]
        told("fade-engine, Verilog", measured(ENGINE, words, cache))


if __name__ == "__main__":
    main()
