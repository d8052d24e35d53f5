"""The main job: wiring, standing checks and formulas of one board."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from pathlib import Path

from breadproof.specs.load import load_machine
from breadproof.specs.netlist.model import Netlist
from breadproof.verify.board import BoardReport
from breadproof.verify.prove.crew import Crew
from breadproof.verify.prove.dontcare import with_dont_care
from breadproof.verify.prove.extract import TraceMismatch
from breadproof.verify.prove.prover import Prover
from breadproof.verify.prove.rescue import with_rescues
from breadproof.verify.prove.rests import with_grounds
from breadproof.verify.prove.store import Store
from breadproof.verify.prove.verdict import Result, board_verdict
from breadproof.verify.wiring.registry import check_wiring

GROUNDS_SECONDS = 10.0
"""Longer it is not looked for what one proof rests on."""


def verify_board(
    path: Path,
    *,
    folders: Sequence[Path] = (),
    only: tuple[str, ...] = (),
    seconds: float = 60.0,
    progress: Callable[[str], None] = lambda text: None,
    crew: Crew | None = None,
    store: Store | None = None,
    grounds: bool = False,
) -> BoardReport:
    """Everything that can be said about the board of a file.

    ``folders`` hold part files of the user's own. ``only`` restricts the results to those names
    (what they rest on is settled all the same); ``seconds`` is the time limit of one property.
    ``crew`` does what takes long beside; ``store`` has what earlier runs found out. Ctrl-C during
    the proofs ends them, and is reported.

    With ``grounds`` it is told what each proof rests on, and which tied pin, tied the other way,
    makes a formula hold that fails.

    Raises:
        BadInput: the file cannot be understood.
        KeyError: ``only`` names what the board does not have.
    """
    start = time.monotonic()
    progress("reading")
    machine = load_machine(path, folders)
    progress("wiring")
    wiring = check_wiring(machine.wired)
    prover = Prover(machine, seconds=seconds, progress=progress, crew=crew, store=store)
    results = prover.run(only)
    interrupted = prover.interrupted
    try:
        if not interrupted:
            results = with_dont_care(machine, prover.rounds, results, only, progress)
            limit = min(seconds, GROUNDS_SECONDS)
            if grounds:
                results = with_grounds(machine, prover.rounds, results, limit, progress)
                results = with_rescues(machine, results, seconds, progress)
    except KeyboardInterrupt:
        interrupted = True  # the verdicts are there; some are not explained
    return BoardReport(
        machine=machine,
        wiring=wiring,
        results=confirmed(machine.netlist, results, progress),
        verdict=board_verdict(sum(finding.fails for finding in wiring), results),
        rounds=prover.rounds,
        seconds=time.monotonic() - start,
        interrupted=interrupted,
    )


def confirmed(
    netlist: Netlist, results: tuple[Result, ...], progress: Callable[[str], None]
) -> tuple[Result, ...]:
    """The results, after each trace was replayed through the Amaranth modules.

    Raises:
        TraceMismatch: the modules do something else than the trace says: our fault.
    """
    traced = [result for result in results if result.trace is not None]
    if not traced:
        return results
    # Amaranth is slow to import, and rarely needed.
    from breadproof.export.replay import replay
    from breadproof.export.simulate import Bench

    bench = Bench(netlist)
    for number, result in enumerate(traced):
        progress(f"replaying {result.name} ({number + 1} of {len(traced)})")
        if result.trace is None:
            continue
        answer = replay(netlist, result.trace, bench)
        if not answer.agrees:
            first = "; ".join(answer.differences[:3])
            raise TraceMismatch(f"the run for {result.name} replays differently: {first}")
    return results
