"""Work in processes of their own: whatever becomes of a worker, it is an answer or none."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Any

import pytest

from breadproof.verify.prove import apart, cluster, crew
from breadproof.verify.prove.cluster import Far
from breadproof.verify.prove.crew import Crew, Forks, Lost, Work
from tests.prove import workers

MEMORY = 256 << 20


def here() -> Crew:
    return Forks(size=2, memory=MEMORY)


def far() -> Crew:
    pool = ThreadPoolExecutor(2)
    return Far(pool, 2, lambda: pool.shutdown(cancel_futures=True))


@pytest.fixture(params=[here, far])
def team(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[Crew]:
    """A crew: processes split off, and interpreters behind an executor."""
    monkeypatch.setattr(cluster, "physical_memory", lambda: 2 * MEMORY)
    with request.param() as made:
        yield made


def why(team: Crew, work: Work, *args: Any, seconds: float = 60.0) -> str:
    """Why a piece of work came to nothing."""
    future = team.submit(work, *args, seconds=seconds)
    team.wait([future], lambda one, text: None)
    with pytest.raises(Lost) as lost:
        future.result()
    return str(lost.value)


def test_each_answer_comes_back_to_its_question(team: Crew) -> None:
    futures = {team.submit(workers.square, n, seconds=60): n for n in range(5)}
    left = set(futures)
    while left:
        for future in team.wait(left, lambda one, text: None):
            assert future.result() == futures[future] ** 2
            left.remove(future)


@pytest.mark.parametrize(
    ("work", "args", "told"),
    [
        (workers.dies, (signal.SIGKILL,), "stopped by signal 9"),
        (workers.dies, (signal.SIGTERM,), "stopped by signal 15"),
        (workers.leaves, (0,), ""),
        (workers.leaves, (3,), "status 3"),
        (workers.fails, (), "KeyError: 'U7'"),
        (workers.eats, (), "out of memory"),
        (workers.solver_eats, (), "out of memory"),
        (workers.search_eats, (), "out of memory"),
        (workers.nonsense, (), "cannot be read"),
        (workers.unsendable, (), ""),
    ],
)
def test_what_becomes_of_a_worker_is_no_answer(
    work: Work, args: tuple[object, ...], told: str
) -> None:
    with here() as team:
        assert told in why(team, work, *args)
        # and the crew goes on
        future = team.submit(workers.square, 3, seconds=60)
        team.wait([future], lambda one, text: None)
        assert future.result() == 9


def test_what_becomes_of_a_worker_far_away_is_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster, "physical_memory", lambda: 2 * MEMORY)
    with far() as team:
        assert why(team, workers.dies, signal.SIGKILL) == "its process was stopped by signal 9"
        assert why(team, workers.eats) == "out of memory"
        assert why(team, workers.leaves, 0).startswith("its answer cannot be read")
        assert "KeyError: 'U7'" in why(team, workers.fails)


def test_progress_is_heard() -> None:
    heard: list[tuple[Future[object], str]] = []
    with Forks(size=1, memory=MEMORY) as team:
        futures = [team.submit(workers.square, n, seconds=60) for n in (2, 3)]
        for future in futures:
            team.wait([future], lambda one, text: heard.append((one, text)))
    assert heard == [(futures[0], "squaring 2"), (futures[1], "squaring 3")]


def test_who_takes_too_long_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crew, "GRACE", 0.1)
    with Forks(size=1, memory=MEMORY) as team:
        start = time.monotonic()
        assert why(team, workers.slow, 60.0, seconds=0.2) == "out of time"
        assert time.monotonic() - start < 30


def test_who_takes_too_long_far_away_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(apart, "GRACE", 0.1)
    with far() as team:
        assert why(team, workers.slow, 60.0, seconds=0.2) == "out of time"


def test_a_cluster_that_says_nothing_is_not_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    class Silent(ThreadPoolExecutor):
        def submit(self, *args: Any, **other: Any) -> Future[Any]:
            return Future()

    monkeypatch.setattr(cluster, "SLACK", 0.2)
    with Far(Silent(1), 1) as team:
        assert why(team, workers.square, 3, seconds=0.1) == "out of time"


def test_what_is_dropped_ends_at_once() -> None:
    with Forks(size=1, memory=MEMORY) as team:
        long = team.submit(workers.stubborn, seconds=600)
        short = team.submit(workers.square, 3, seconds=60)
        (process,) = [job.process for job in team.running]
        assert process is not None
        assert not short.done()
        team.drop(long)
        assert not process.is_alive()
        team.wait([short], lambda one, text: None)
        assert short.result() == 9


def test_nobody_is_left_at_the_end() -> None:
    with Forks(size=2, memory=MEMORY) as team:
        futures = [team.submit(workers.stubborn, seconds=600) for _ in range(3)]
        processes = [job.process for job in team.running]
    assert len(processes) == 2
    assert not any(process.is_alive() for process in processes if process is not None)
    assert all(isinstance(future.exception(), Lost) for future in futures)


def test_another_edition_far_away_does_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(apart, "edition", lambda: "another")
    with far() as team:
        told = why(team, workers.square, 3)
    assert told == "another version of breadproof is installed there"


@pytest.mark.parametrize("told", [b"", b"no pickle", None, 3, "text"])
def test_what_is_no_answer_is_taken_for_none(told: object) -> None:
    with pytest.raises(Lost, match="cannot be read"):
        apart.answer(told)


def test_ctrl_c_is_the_parent_s() -> None:
    """SIGINT to the group, as a terminal sends it: the workers do not die of it."""
    code = (
        "import os, signal\n"
        # what runs in a shell's background is born deaf to Ctrl-C
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "from breadproof.verify.prove.crew import Forks\n"
        "from tests.prove import workers\n"
        "with Forks(size=1, memory=1 << 28) as team:\n"
        "    one = team.submit(workers.slow, 1.0, seconds=60)\n"
        "    try:\n"
        "        os.killpg(0, signal.SIGINT)\n"
        "        team.wait([one], lambda future, text: None)\n"
        "        print('deaf')\n"
        "    except KeyboardInterrupt:\n"
        "        team.wait([one], lambda future, text: None)\n"
        "        print(one.result())\n"
    )
    words = [sys.executable, "-c", code]
    run = subprocess.run(
        words, capture_output=True, text=True, check=False, start_new_session=True, cwd=os.getcwd()
    )
    assert (run.stdout, run.stderr) == ("done\n", "")
