"""A Dask cluster of two workers, one of which is killed during the run."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Iterator
from concurrent.futures import Future
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from breadproof.verify.prove.cluster import Far, NoCluster, connect
from breadproof.verify.prove.crew import Work
from breadproof.verify.prove.prover import Prover
from tests.prove import workers
from tests.prove.directed import EXAMPLES, Example

# What Dask warns of is not ours.
pytestmark = pytest.mark.filterwarnings("ignore")


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    """Two workers of one thread, which come back when they are killed."""
    dask: Any = import_module("distributed")
    made = dask.LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50
    )
    with made:
        yield made


def worker_pids(cluster: Any) -> list[int]:
    """The processes of the workers."""
    return [nanny.pid for nanny in cluster.workers.values()]


def test_a_worker_that_is_killed_is_replaced(cluster: Any) -> None:
    with connect(cluster.scheduler_address) as crew:
        assert crew.size == 2
        futures = [crew.submit(workers.slow, 1.0, seconds=60) for _ in range(2)]
        time.sleep(0.5)
        os.kill(worker_pids(cluster)[0], signal.SIGKILL)
        left = set(futures)
        while left:
            left -= crew.wait(left, lambda one, text: None)
    assert [future.result() for future in futures] == ["done", "done"]


class Killing(Far):
    """A crew that loses a worker as soon as there is work."""

    pid = 0

    def submit(self, work: Work, *args: Any, seconds: float) -> Future[object]:
        future = Far.submit(self, work, *args, seconds=seconds)
        if self.pid:
            threading.Timer(0.4, os.kill, (self.pid, signal.SIGKILL)).start()
            self.pid = 0
        return future


def test_a_proof_goes_on_when_a_worker_is_killed(cluster: Any, tmp_path: Path) -> None:
    """The verdict is that of the table; the kill comes while the workers are at work."""
    book = EXAMPLES["arbiter with a token"]
    facts: dict[str, int | None] = {t: step for t, step in book.facts.items() if step == 5}
    assert len(facts) == 1
    example = Example(chips=book.chips, nets=book.nets, ports=book.ports, facts=facts)
    with connect(cluster.scheduler_address) as crew:
        killing = Killing(crew.executor, crew.size)
        killing.pid = worker_pids(cluster)[1]
        prover = Prover(example.machine(tmp_path), seconds=20, crew=killing)
        results = {one.name: one for one in prover.run()}
    assert not killing.pid
    assert (results["f0"].verdict, results["f0"].steps) == ("fails", 5)
    assert results["f0"].engines
    dead = [one for one in results.values() if one.name.startswith("dead:")]
    assert {one.verdict for one in dead} == {"holds"}


def test_where_there_is_no_cluster(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("breadproof.verify.prove.cluster.PATIENCE", 0.3)
    with pytest.raises(NoCluster, match=r"no cluster answers at tcp://127\.0\.0\.1:9"):
        connect("tcp://127.0.0.1:9")
    with pytest.raises(NoCluster, match="no cluster answers at nowhere"):
        connect("nowhere at all")
