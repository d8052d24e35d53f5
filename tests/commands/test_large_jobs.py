"""`breadproof verify` on large jobs: processes, what is kept, Ctrl-C by a real signal."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from breadproof import cli
from breadproof.verify.prove.keeper import KEPT
from tests.commands.test_verify import KEYS

JOBS = pytest.mark.parametrize("jobs", ["1", "2"])


@pytest.fixture(autouse=True)
def keys(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a folder with the board ``keys.yaml``."""
    monkeypatch.chdir(tmp_path)
    Path("keys.yaml").write_text(KEYS, "utf-8")


def told(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    """The results by name."""
    assert cli.main(["verify", "keys.yaml", "--json", *words]) == 1
    report = json.loads(capsys.readouterr().out)
    return {one["name"]: one for one in report["results"]}


@JOBS
def test_what_was_found_out_is_kept(
    capsys: pytest.CaptureFixture[str], own_cache: Path, jobs: str
) -> None:
    first = told(capsys, "--jobs", jobs)
    assert not any(KEPT in one["engines"] for one in first.values())
    assert any(own_cache.rglob("*.json"))
    again = told(capsys, "--jobs", jobs)
    assert {name for name, one in again.items() if one["engines"] != [KEPT]} <= {"quiet"}
    for name, one in again.items():
        changed = {"seconds": first[name]["seconds"], "engines": first[name]["engines"]}
        assert one | changed == first[name]
    fresh = told(capsys, "--jobs", jobs, "--fresh")
    assert not any(KEPT in one["engines"] for one in fresh.values())


def test_another_title_costs_no_proof_and_another_gate_does(
    capsys: pytest.CaptureFixture[str],
) -> None:
    told(capsys)
    Path("keys.yaml").write_text("# a comment\n" + KEYS.replace("title: The", "title: A"), "utf-8")
    assert told(capsys)["both-up"]["engines"] == [KEPT]
    Path("keys.yaml").write_text(KEYS.replace("74LS08", "74LS32"), "utf-8")
    wrong = told(capsys)["both-up"]
    assert (wrong["verdict"], KEPT in wrong["engines"]) == ("fails", False)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--jobs", "0"], "0 is not in the range x>=1"),
        (["--jobs", "many"], "'many' is not a valid integer"),
        (["--memory-limit", "1"], "1 is not in the range x>=16"),
        (["--cluster", "nowhere at all"], "no cluster answers at nowhere at all"),
    ],
)
@pytest.mark.filterwarnings("ignore")  # what Dask warns of is not ours
def test_wrong_calls(capsys: pytest.CaptureFixture[str], words: list[str], message: str) -> None:
    assert cli.main(["verify", "keys.yaml", *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert message in err
    assert words[0] in err


def test_a_cluster_needs_dask(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert cli.main(["verify", "keys.yaml", "--cluster", "tcp://127.0.0.1:8786"]) == 2
    assert "pip install 'breadproof[cluster]' installs it" in capsys.readouterr().err


def test_help_tells_of_all_that(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["verify", "--help"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "--jobs N Processes at a time." in out
    assert "--memory-limit MB Memory of one of these processes; what needs more is undecided" in out
    assert "--cluster ADDRESS Have a Dask cluster do what takes long" in out
    assert "--fresh Prove all anew." in out
    assert "Ctrl-C ends the wait and keeps every finished verdict" in out
    assert "130 interrupted" in out


# ------------------------------------------------------------------------------------ Ctrl-C

ENDLESS = """
import os, sys, time
from breadproof import cli
from breadproof.verify.prove import prover
main, inner = os.getpid(), prover.Prover.end_lively
def ready():
    with open("part", "w") as file:
        file.write("all else is done")
    os.rename("part", "ready")
def endless(*args):
    with open("worker", "w") as file:
        file.write(str(os.getpid()))
    if os.getpid() == main:
        ready()
    time.sleep(600)
def wait(self):
    ready()
    inner(self)
prover.lively_results = endless
prover.Prover.end_lively = wait
sys.exit(cli.main(["verify", "keys.yaml", *sys.argv[1:]]))
"""


HEARS = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)\n"
"""What runs in a shell's background is born deaf to Ctrl-C, and so are those that it starts."""


def interrupted(code: str, *words: str) -> tuple[int, str, str]:
    """Run it, press Ctrl-C when the file ``ready`` is there; status, output, errors."""
    run = subprocess.Popen(
        [sys.executable, "-c", HEARS + code, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    with run:
        while not Path("ready").exists():
            assert run.poll() is None, run.communicate()
            time.sleep(0.02)
        time.sleep(0.3)
        os.killpg(run.pid, signal.SIGINT)  # as a terminal does it: to the whole group
        try:
            out, err = run.communicate(timeout=60)
        finally:
            run.kill()
    return run.returncode, out, err


@JOBS
def test_ctrl_c_keeps_every_finished_verdict(jobs: str) -> None:
    status, out, err = interrupted(ENDLESS, "--jobs", jobs, "--json", "--trace-dir", "runs")
    assert status == 130
    report = json.loads(out)
    results = {one["name"]: one for one in report["results"]}
    dead = {name for name in results if name.startswith("dead:")}
    done = {name: one["verdict"] for name, one in results.items() if name not in dead}
    assert done["both-up"] == "holds"
    assert done["never-lit"] == "fails"
    for name in dead:
        assert results[name]["verdict"] == "undecided"
        assert results[name]["because"] == "interrupted before it was finished"
    count = len(results) - len(dead)
    assert err == (
        f"interrupted: {count} of {len(results)} results were finished and stand above; "
        "the others are undecided\n"
    )
    assert report["verdict"] == "fail"
    for path in Path("runs").glob("*.vcd"):
        # IEEE 1364-2005, 18.2: a value change dump; the last section is of value changes
        assert "$enddefinitions $end" in path.read_text("utf-8")
    assert {path.suffix for path in Path("runs").iterdir()} == {".vcd", ".svg"}


def test_ctrl_c_leaves_no_worker_behind() -> None:
    assert interrupted(ENDLESS, "--jobs", "2")[0] == 130
    with pytest.raises(ProcessLookupError):
        os.kill(int(Path("worker").read_text("utf-8")), 0)


HARD = """
import sys
from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.interrupt import interruptible
from breadproof.verify.prove.solver import Solver
aig, size = Aig(), 12
solver = Solver(aig)
at = [[aig.input() for _ in range(size)] for _ in range(size + 1)]
for row in at:
    solver.require(aig.or_(row))
for hole in range(size):
    for one in range(size + 1):
        for other in range(one):
            solver.require(aig.and2(at[one][hole], at[other][hole]) ^ 1)
try:
    with interruptible():
        open("ready", "w").close()
        print(solver.check([], 100.0))
except KeyboardInterrupt:
    print("interrupted")
"""


def test_ctrl_c_stops_the_solver_in_the_midst_of_a_question() -> None:
    """Thirteen pigeons in twelve holes: resolution is long for that (Haken 1985)."""
    start = time.monotonic()
    status, out, err = interrupted(HARD)
    assert (status, out, err) == (0, "interrupted\n", "")
    assert time.monotonic() - start < 60
