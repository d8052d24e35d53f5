"""The command `breadproof watch`: check a board again whenever it is saved."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, TYPE_CHECKING

import click

from breadproof.limits import time_limit
from breadproof.own_parts import own_parts
from breadproof.watched_files import WatchedFiles

if TYPE_CHECKING:
    from breadproof.verify.report.differences import Verdicts
    from breadproof.verify.report.entries import Entries
    from breadproof.verify.wiring.finding import Finding

PAUSE = 0.05
"""Seconds between two looks at the files."""

EPILOG = """\b
Example:
  breadproof watch light-store.yaml
      leave it running in a window of its own, and edit the file in another
  breadproof watch light-store.yaml --no-proofs
      the wiring alone

What is proved is kept as 'verify' keeps it: what a change does not touch is not proved again.

Exit status: 130, since Ctrl-C ends it; 2 wrong call.
"""


@click.command("watch", epilog=EPILOG)
@click.argument("board", type=click.Path(path_type=Path), metavar="BOARD")
@click.option("--no-proofs", is_flag=True, help="Check the wiring alone.")
@time_limit("Time for one property; what takes longer is undecided. 60 if left out.")
@own_parts
@click.option("--plain", is_flag=True, help="No colour, and no characters beyond ASCII.")
def command(
    board: Path, no_proofs: bool, seconds: float, folders: tuple[Path, ...], plain: bool
) -> int:
    """Check the board file BOARD, and again whenever it, or a file that it is made of, is saved.

    First the wiring, at once; then the proofs. From the second time on only what changed is shown.
    """
    from breadproof.verify.report.entries import Entries
    from breadproof.verify.report.page import page_of_stdout

    if board.is_dir():
        raise click.BadParameter(f"'{board}' is a folder; name a board file.", param_hint="BOARD")
    watch = _Watch(
        board=board,
        folders=folders,
        proofs=not no_proofs,
        seconds=seconds,
        entries=Entries(page_of_stdout(plain=plain)),
    )
    watch.run()
    return 0


@dataclass(slots=True)
class _Watch:
    board: Path
    folders: tuple[Path, ...]
    proofs: bool
    seconds: float
    entries: Entries
    files: WatchedFiles = field(init=False)
    findings: tuple[Finding, ...] | None = None
    verdicts: Verdicts | None = None

    def __post_init__(self) -> None:
        self.files = WatchedFiles([self.board])

    def run(self) -> None:
        """Until somebody presses Ctrl-C."""
        while True:
            good = self.wiring()
            if good and self.proofs and not self.prove():
                self.files.settle()
                continue
            self.say(f"watching {self.board}; Ctrl-C ends it")
            while not self.files.changed():
                time.sleep(PAUSE)
            self.files.settle()
            self.say("")

    def say(self, *lines: str) -> None:
        for line in lines:
            click.echo(line)
        sys.stdout.flush()

    # wiring -----------------------------------------------------------------------------------

    def wiring(self) -> bool:
        """Read and check; whether the file could be read."""
        from breadproof.specs.load import load_netlist
        from breadproof.specs.reading.diagnostics import BadInput
        from breadproof.verify.report.differences import finding_lines
        from breadproof.verify.report.findings import summary
        from breadproof.verify.wiring.registry import check_wiring

        start = time.monotonic()
        with self.files.reading():
            try:
                findings = check_wiring(load_netlist(self.board, self.folders))
            except BadInput as bad:
                self.say(*(diagnostic.render() for diagnostic in bad.diagnostics))
                return False
        told = summary(findings) or "nothing is wrong"
        took = f"{time.monotonic() - start:.2f} s"
        lines = finding_lines(self.findings, findings, self.entries)
        again = "" if lines or self.findings is None else ", as before"
        clock = time.strftime("%H:%M:%S")
        paint = self.entries.page.paint
        self.say(f"{clock}  {paint('Wiring', 'bold')}  {told}{again} ({took})", *lines)
        self.findings = findings
        return True

    # proofs -----------------------------------------------------------------------------------

    def prove(self) -> bool:
        """Have another process prove, and tell what is new; False if a file was saved meanwhile."""
        command = [sys.executable, "-m", "breadproof", "verify", str(self.board), "--json"]
        command += ["--time-limit", str(self.seconds)]
        for folder in self.folders:
            command += ["--parts", str(folder)]
        with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
            process = subprocess.Popen(command, stdout=out, stderr=err, start_new_session=True)
            try:
                while process.poll() is None:
                    if self.files.changed():
                        return False
                    time.sleep(PAUSE)
            finally:
                _end(process)
            self.tell(process.returncode, _read(out), _read(err))
        return True

    def tell(self, status: int, out: str, err: str) -> None:
        """What `verify` printed, as far as it is new."""
        from breadproof.verify.report.differences import Verdicts, verdict_lines

        if status not in (0, 1, 3):
            self.say(err.rstrip())
            return
        report = json.loads(out)
        now = Verdicts(
            board=report["verdict"],
            results={one["name"]: one["verdict"] for one in report["results"]},
            says={one["name"]: one["says"] for one in report["results"]},
        )
        lines = verdict_lines(self.verdicts, now, self.entries)
        well = sum(verdict in ("holds", "covered") for verdict in now.results.values())
        verdict = self.entries.verdict(now.board).rstrip()
        again = "" if lines or self.verdicts is None else ", as before"
        paint = self.entries.page.paint
        clock = time.strftime("%H:%M:%S")
        told = f"{verdict}; {well} of {len(now.results)} results are well{again}"
        self.say(f"{clock}  {paint('Proofs', 'bold')}  {told}", *lines)
        if now.board == "fail" and lines:
            self.say(*self.entries.text(f"'breadproof verify {self.board}' shows the runs.", 2))
        self.verdicts = now


def _end(process: subprocess.Popen[bytes]) -> None:
    """End a process: by Ctrl-C, so that it keeps what it has proved; or else at once."""
    if process.poll() is not None:
        return
    process.send_signal(signal.SIGINT)
    try:
        process.wait(timeout=3)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()


def _read(file: IO[bytes]) -> str:
    file.seek(0)
    return file.read().decode("utf-8", "replace")
