"""How long the page of a large board takes, and how large it is: by hand, `python -m` this module.

The board is the fade engine, with ten runs of forty steps each that were walked at random; a page
of it is to be under 2 MB, written in under 2 s, and to show something in under 1 s in Chromium.
`watch` is to tell of the light-store's wiring in under 0.5 s after a save. Seconds of the processor
are told, too: they stay what they are on a busy machine.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from breadproof.specs.load import load_machine
from breadproof.specs.machine.machine import Machine
from breadproof.specs.machine.trace import Trace
from breadproof.specs.machine.walk import Walker
from breadproof.verify.board import BoardReport
from breadproof.verify.pages.verifypage import verify_page
from breadproof.verify.prove.verdict import Result
from breadproof.verify.report.levelcode import LevelCode
from breadproof.verify.wiring.registry import check_wiring
from tests.support.browser import browser

BOARD = Path(__file__).resolve().parents[2] / "specs" / "boards" / "fade-engine.yaml"
RUNS, STEPS = 10, 40


def _walked(machine: Machine, seed: int) -> Trace:
    chosen = random.Random(seed)
    walker = Walker(machine)
    walker.settler = LevelCode(machine)
    walker.storage = {store.label: chosen.randint(0, 1) for store in machine.stores}
    storage = dict(walker.storage)
    done = [walker.power_up(12)]
    for _ in range(STEPS):
        control = chosen.choice(machine.netlist.controls)
        bits = walker.controls[control.name]
        flipped = tuple(1 - bit if place == 0 else 0 for place, bit in enumerate(bits))
        done.append(walker.step({control.name: flipped}, 12))
    return Trace(storage=storage, words={}, loops={}, steps=tuple(done))


def _report(machine: Machine) -> BoardReport:
    formulas = [one for one in machine.netlist.formulas if one.kind == "assert"]
    results = [
        Result(
            name=formulas[number % len(formulas)].name,
            kind="assert",
            verdict="fails",
            says=formulas[number % len(formulas)].says,
            method="",
            steps=STEPS,
            seconds=1.0,
            trace=_walked(machine, number),
        )
        for number in range(RUNS)
    ]
    return BoardReport(
        machine=machine,
        wiring=check_wiring(machine.wired),
        results=tuple(results),
        verdict="fail",
        rounds=3,
        seconds=1.0,
    )


def main() -> None:
    """Measure and print."""
    report = _report(load_machine(BOARD))
    wall, cpu = time.perf_counter(), time.process_time()
    text = verify_page(report, path="fade-engine.yaml")
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    sys.stdout.write(
        f"page: {len(text.encode()) / 1e6:.2f} MB in {wall:.2f} s ({cpu:.2f} s of processor)\n"
    )
    program = shutil.which("chromium")
    if program is None:
        return
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "out.html"
        file.write_text(text, "utf-8")
        with browser(program, Path(folder) / "profile") as page:
            page.window(1280, 900)
            page.send("Performance.enable", {"timeDomain": "threadTicks"})
            page.open(file)
            entries = page.run(
                "JSON.stringify(performance.getEntriesByType('paint').map(one => one.startTime))"
            )
            first = min(json.loads(entries))
            metrics = page.send("Performance.getMetrics", {})["metrics"]
            busy = {one["name"]: one["value"] for one in metrics}["TaskDuration"]
            sys.stdout.write(
                f"first paint after {first:.0f} ms, loaded with {1000 * busy:.0f} ms of processor "
                f"in the page's main thread; {page.complaints or 'quiet'}\n"
            )


def watch() -> None:
    """Measure and print what `watch` takes after a save."""
    with tempfile.TemporaryDirectory() as folder:
        board = Path(folder) / "board.yaml"
        text = (BOARD.parent / "light-store.yaml").read_text("utf-8")
        board.write_text(text, "utf-8")
        command = [sys.executable, "-m", "breadproof", "watch", str(board), "--no-proofs"]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
            assert process.stdout is not None
            for number in range(4):
                wall, cpu = time.perf_counter(), _processor(process.pid)
                if number:
                    board.write_text(text.replace("U3: 74LS541 ", f"U3: 74LS{540 + number % 2} "))
                told = ""
                while not told.startswith("watching"):
                    told = process.stdout.readline()
                wall, cpu = time.perf_counter() - wall, _processor(process.pid) - cpu
                what = "saved" if number else "begun"
                sys.stdout.write(f"watch, {what}: {wall:.2f} s ({cpu:.2f} s of processor)\n")
                time.sleep(0.3)
            process.send_signal(signal.SIGINT)


def _processor(process: int) -> float:
    """Seconds of the processor that a process took so far (proc(5), fields 14 and 15)."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


if __name__ == "__main__":
    main()
    watch()
