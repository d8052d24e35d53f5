"""Work that others do, by any executor of `concurrent.futures`; a Dask cluster has one.

What is sent is the board itself and the name of what is to be proved, so the others need nothing
but the same edition of this tool. Their progress is not heard.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Collection
from concurrent.futures import FIRST_COMPLETED, CancelledError, Executor, Future, wait
from dataclasses import dataclass, field
from importlib import import_module
from typing import Any

from breadproof.verify.prove.apart import answer, call, do_apart
from breadproof.verify.prove.crew import Hear, Lost, Work, physical_memory

SLACK = 60.0
"""Seconds for the way there and back, and for a worker that is lost and replaced by another."""
PATIENCE = 10.0
"""Seconds to find the cluster in."""


class NoCluster(Exception):
    """There is no such cluster, or no way to speak with it."""


@dataclass(slots=True)
class _Sent:
    future: Future[object]
    inner: Future[bytes]
    end: float


@dataclass(slots=True)
class Far:
    """A crew (see `crew.Crew`) behind an executor. ``close`` is called at the end."""

    executor: Executor
    size: int
    close: Callable[[], None] = lambda: None
    far: bool = True
    sent: dict[Future[object], _Sent] = field(default_factory=dict)

    def submit(self, work: Work, *args: Any, seconds: float) -> Future[object]:
        """See `Crew`. Its time begins when it is sent, since nobody tells when it is begun."""
        called = call(work, args, seconds, physical_memory() // 2)
        waiting = sum(not one.future.done() for one in self.sent.values())
        end = time.monotonic() + seconds * (1 + waiting // max(1, self.size)) + SLACK
        one = _Sent(Future(), self.executor.submit(do_apart, called), end)
        self.sent[one.future] = one
        return one.future

    def wait(self, futures: Collection[Future[object]], hear: Hear) -> set[Future[object]]:
        """See `Crew`; nothing is heard."""
        while not (done := {future for future in futures if future.done()}):
            going = {one.inner: one for one in self.sent.values() if not one.future.done()}
            soonest = min(one.end for one in going.values())
            left = max(0.0, soonest - time.monotonic())
            ended, _ = wait(going, timeout=left, return_when=FIRST_COMPLETED)
            for inner in ended:
                self._take(going[inner])
            for one in going.values():
                if not one.future.done() and one.end <= time.monotonic():
                    self._lose(one, "out of time")
        return done

    def drop(self, future: Future[object]) -> None:
        """See `Crew`; what has been begun goes on to its limit of time, unheard."""
        self._lose(self.sent[future], "stopped")

    def __enter__(self) -> Far:
        """See `Crew`."""
        return self

    def __exit__(self, *error: object) -> None:
        """See `Crew`."""
        for one in self.sent.values():
            self._lose(one, "stopped")
        self.close()

    def _lose(self, one: _Sent, why: str) -> None:
        one.inner.cancel()
        if not one.future.done():
            one.future.set_exception(Lost(why))

    def _take(self, one: _Sent) -> None:
        try:
            one.future.set_result(answer(one.inner.result()))
        except Lost as lost:
            one.future.set_exception(lost)
        except (Exception, CancelledError) as error:  # noqa: BLE001  # whatever a cluster may raise
            one.future.set_exception(Lost(f"the cluster failed: {type(error).__name__}: {error}"))


def connect(address: str) -> Far:
    """The crew of a Dask cluster.

    Raises:
        NoCluster: it is not there, has no workers, or Dask is not installed.
    """
    try:
        dask: Any = import_module("distributed")
    except ImportError:
        raise NoCluster("Dask is missing; pip install 'breadproof[cluster]' installs it") from None
    logging.getLogger("distributed").setLevel(logging.CRITICAL)
    try:
        client = dask.Client(address, timeout=PATIENCE, set_as_default=False)
        size = sum(client.nthreads().values())
    except (OSError, ValueError, TimeoutError) as error:
        raise NoCluster(f"no cluster answers at {address}: {error}") from None
    if not size:
        client.close()
        raise NoCluster(f"the cluster at {address} has no workers")
    return Far(client.get_executor(pure=False), size, lambda: client.close())
