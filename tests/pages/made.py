"""Pages, and what is on them: boards of a few chips whose runs can be walked by hand."""

from __future__ import annotations

import re
from pathlib import Path

from breadproof.export.stimulus.run import simulate
from breadproof.export.stimulus.setting import bench_player
from breadproof.verify.board import BoardReport
from breadproof.verify.pages.besidepage import beside_page
from breadproof.verify.pages.comparepage import compare_page
from breadproof.verify.pages.simulatepage import simulate_page
from breadproof.verify.pages.verifypage import verify_page
from breadproof.verify.prove.verdict import Result, Verdict
from breadproof.verify.report.played import Film
from breadproof.verify.report.simulated import Told
from breadproof.verify.revisions.beside import Asked, beside
from breadproof.verify.revisions.compare import Compared, Wanted, compare
from breadproof.verify.revisions.verdicts import Means
from breadproof.verify.wiring.registry import check_wiring
from tests.report import boards as b
from tests.revisions.modules import MODULES
from tests.stimulus.boards import PAD, SCRIPT, loaded

HOSTILE = "</title><script>alert(1)</script><img src=x onerror=alert(2)> & 'q' \"d\""
"""What no text of a board may do to a page."""


def failing_report(folder: Path, title: str = "") -> BoardReport:
    """A fight, a formula that fails, one that holds, one that is undecided; a finding or two."""
    text = b.TWO_SOURCES
    if title:
        quoted = title.replace("'", "''")
        old = "title: Pattern switches and a register on one bus"
        assert old in text
        text = text.replace(old, f"title: '{quoted}'")
    machine = b.machine_of(folder, text)
    fight = b.walked(
        machine,
        [{"TAKE": (1,)}, {"MODE": (1, 0)}],
        start={"MODE": (0, 1)},
        storage={"U2.R[0]": 1},
    )
    long = b.walked(machine, [{"TAKE": (k % 2,)} for k in range(1, 30)], start={"MODE": (0, 1)})
    return BoardReport(
        machine=machine,
        wiring=check_wiring(machine.wired),
        results=(
            _result("quiet", "holds"),
            b.broken("fights:bus", fight, "standing", "No two outputs drive net bus at once."),
            _result("glitch:U2.11", "holds"),
            _result("glitch:U2.1", "undecided", because="it ran out of time"),
            b.broken("not-three", long, says=title or "The bus never carries 3."),
            _result("taken", "unreachable"),
        ),
        verdict="fail",
        rounds=2,
        seconds=1.5,
    )


def _result(name: str, verdict: Verdict, because: str = "") -> Result:
    return Result(
        name=name,
        kind="cover" if name == "taken" else "standing",
        verdict=verdict,
        says=f"What is said of {name}.",
        method="induction over 2 steps",
        steps=2,
        seconds=0.1,
        because=because,
    )


CHASE = Path(__file__).resolve().parents[2] / "specs" / "boards" / "revisions"
FOLLOWS = (
    '  follows: {says: The light goes on by one., formula: "always '
    '(prev(clear_n) && rose(beat) && clear_n -> q[2] == prev(q[1]))"}\n'
)


def compared(folder: Path, title: str = "") -> Compared:
    """The chaser and the one with a wire in the next hole, of which one has a formula more."""
    paths: list[Path] = []
    for name in ("chase", "chase-moved"):
        text = _called((CHASE / f"{name}.yaml").read_text("utf-8") + FOLLOWS, title)
        path = folder / f"{name}.yaml"
        path.write_text(text, "utf-8")
        paths.append(path)
    return compare(paths[0], paths[1], Wanted(), Means())


def compared_page(folder: Path, title: str = "") -> str:
    """Their page."""
    return compare_page(compared(folder, title), ("chase.yaml", "chase-moved.yaml"))


WRONG = f"""{SCRIPT}
  - check: {{says: It is not so, formula: "at == 1 && count"}}
  - check: {{at: 2, D1: 1}}
  - check: {{at: 1}}
"""


def simulated_page(folder: Path, title: str = "", script: str = WRONG) -> str:
    """A script of the step pad that comes to a check that fails; see `tests.stimulus.boards`."""
    found = loaded(folder, _called(PAD, title), script, every_step=False).setting
    player = bench_player(found, None, every_round=True)
    film = Film()
    result = simulate(
        player,
        found.program,
        found.sights,
        rows=400,
        say=lambda text: None,
        each_round=film.add,
    )
    told = Told(setting=found, result=result, script="script.yaml", engine="Amaranth", seed=None)
    return simulate_page(told, film, player, "board.yaml")


def _called(text: str, title: str) -> str:
    """A board file with another title, if there is one."""
    quoted = title.replace("'", "''")
    changed = re.sub("^title: .*$", lambda _: f"title: '{quoted}'", text, flags=re.MULTILINE)
    return changed if title else text


def verify_text(folder: Path, title: str = "") -> str:
    """The page of a report."""
    return verify_page(failing_report(folder, title), path="board.yaml")


def beside_text(folder: Path, title: str = "") -> str:
    """A counter of ten steps beside Verilog that goes on from 11, where the board goes to 0."""
    module = MODULES["ten-steps-of-nine-alone"]
    board, verilog, ports = (folder / name for name in ("ten.yaml", "ten.v", "ports.yaml"))
    board.write_text(_called((CHASE / f"{module.board}.yaml").read_text("utf-8"), title), "utf-8")
    verilog.write_text(module.verilog, "utf-8")
    ports.write_text(module.ports, "utf-8")
    found = beside(board, verilog, ports, Asked(proofs=False), Means())
    return beside_page(found, ("ten.yaml", "ten.v"))


PAGES = {
    "beside": beside_text,
    "compare": compared_page,
    "simulate": simulated_page,
    "verify": verify_text,
}
