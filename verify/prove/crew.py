"""Work that is done in processes of its own, within limits of time and memory.

A worker that dies, is killed, takes too long or sends anything that cannot be read is `Lost`: it
has said nothing. What it did send is for the caller to judge.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import pickle
import signal
import time
import warnings
from collections.abc import Callable, Collection
from concurrent.futures import Future
from dataclasses import dataclass, field
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from typing import Any, Protocol

Tell = Callable[[str], None]
Hear = Callable[[Future[object], str], None]
Work = Callable[..., object]
"""Called as ``work(tell, *args)``; ``tell`` takes a word of progress."""

GRACE = 5.0
"""Seconds beyond its time limit after which a worker that has not ended is killed."""
OUT_OF_MEMORY = 101
"""The exit status with which z3 ends a process when it gets no more memory."""


class Lost(Exception):
    """The work came to nothing; the text says why."""


class Crew(Protocol):
    """Those who do work beside each other: processes here, or a cluster."""

    size: int
    """How many work at a time."""
    far: bool
    """Whether they know nothing but what is sent to them."""

    def submit(self, work: Work, *args: Any, seconds: float) -> Future[object]:
        """Have it done; the future ends with what it returns, or with `Lost`."""

    def wait(self, futures: Collection[Future[object]], hear: Hear) -> set[Future[object]]:
        """Wait until one at least has ended; those that have. ``hear`` is told the progress."""

    def drop(self, future: Future[object]) -> None:
        """It is not wanted any more."""

    def __enter__(self) -> Crew:
        """Ready."""

    def __exit__(self, *error: object) -> None:
        """Nothing is wanted any more; what is going on is stopped."""


def physical_memory() -> int:
    """Bytes of memory of this machine; a guess where it does not tell."""
    try:
        return os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES")
    except (AttributeError, OSError, ValueError):
        return 4 << 30


@dataclass(slots=True)
class _Job:
    future: Future[object]
    work: Work
    args: tuple[Any, ...]
    seconds: float
    process: BaseProcess | None = None
    pipe: Connection | None = None
    end: float = 0.0


@dataclass(slots=True)
class Forks:
    """Processes of this machine, split off from this one: they know all that it knows, at no cost.

    ``memory`` is what each may take beyond what it begins with, in bytes.
    """

    size: int
    memory: int
    far: bool = False
    jobs: dict[Future[object], _Job] = field(default_factory=dict)
    running: list[_Job] = field(default_factory=list)
    waiting: list[_Job] = field(default_factory=list)

    def submit(self, work: Work, *args: Any, seconds: float) -> Future[object]:
        """See `Crew`; begun as soon as one of `size` is free."""
        job = _Job(Future(), work, args, seconds)
        self.jobs[job.future] = job
        self.waiting.append(job)
        self._begin()
        return job.future

    def wait(self, futures: Collection[Future[object]], hear: Hear) -> set[Future[object]]:
        """See `Crew`."""
        while not (done := {future for future in futures if future.done()}):
            pipes = {job.pipe: job for job in self.running if job.pipe is not None}
            soonest = min((job.end for job in self.running), default=time.monotonic())
            for pipe in wait(list(pipes), timeout=max(0.0, soonest - time.monotonic())):
                assert isinstance(pipe, Connection), "only pipes are waited for"
                self._take(pipes[pipe], pipe, hear)
            for job in [job for job in self.running if job.end <= time.monotonic()]:
                self._end(job, Lost("out of time"))
        return done

    def drop(self, future: Future[object]) -> None:
        """See `Crew`; a process that works on it is killed."""
        job = self.jobs[future]
        if job in self.waiting:
            self.waiting.remove(job)
        if not future.done():
            self._end(job, Lost("stopped"))

    def __enter__(self) -> Forks:
        """See `Crew`."""
        return self

    def __exit__(self, *error: object) -> None:
        """See `Crew`."""
        self.waiting.clear()
        for job in list(self.running):
            self._end(job, Lost("stopped"))
        for job in self.jobs.values():
            if not job.future.done():
                job.future.set_exception(Lost("stopped"))

    def _begin(self) -> None:
        while self.waiting and len(self.running) < self.size:
            job = self.waiting.pop(0)
            context = multiprocessing.get_context("fork")
            job.pipe, theirs = context.Pipe(duplex=False)
            arguments = (job.pipe, theirs, job, self.memory)
            job.process = context.Process(target=_worker, args=arguments, daemon=True)
            # Ctrl-C must find the new process either not there or deaf to it.
            signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
            try:
                with warnings.catch_warnings():
                    # Threads of this process hold nothing that the new one needs.
                    warnings.simplefilter("ignore", DeprecationWarning)
                    job.process.start()
            finally:
                signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
            theirs.close()
            job.end = time.monotonic() + job.seconds + GRACE
            self.running.append(job)

    def _take(self, job: _Job, pipe: Connection, hear: Hear) -> None:
        """Take what a worker sent: progress, or the last it says."""
        try:
            last, value = pickle.loads(pipe.recv_bytes())
        except EOFError:
            self._end(job, self._why(job))
            return
        except Exception as error:  # noqa: BLE001  # whatever a broken message may raise
            self._end(job, Lost(f"its answer cannot be read ({type(error).__name__})"))
            return
        if last:
            self._end(job, value)
        else:
            hear(job.future, str(value))

    def _why(self, job: _Job) -> Lost:
        """Why a worker ended without a word."""
        assert job.process is not None, "only a running job has a pipe"
        job.process.join(GRACE)
        return why_ended(job.process.exitcode or 0)

    def _end(self, job: _Job, value: object) -> None:
        if job.process is not None:
            job.process.kill()
            job.process.join()
        if job.pipe is not None:
            job.pipe.close()
            job.pipe = None
        if job in self.running:
            self.running.remove(job)
        if isinstance(value, Lost):
            job.future.set_exception(value)
        else:
            job.future.set_result(value)
        self._begin()


def _worker(ours: Connection, pipe: Connection, job: _Job, memory: int) -> None:
    """What a process does: one piece of work, then it ends without any of its parent's endings."""
    ours.close()
    # Ctrl-C goes to a terminal's foreground group: the parent decides what becomes of this one.
    os.setpgid(0, 0)
    signal.set_wakeup_fd(-1)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
    nothing = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nothing, stream)
    limit(memory, job.seconds)

    def tell(text: str) -> None:
        pipe.send_bytes(pickle.dumps((False, text)))

    status = 0
    try:
        pipe.send_bytes(pickle.dumps((True, done(job.work, tell, job.args))))
    except OSError:
        status = 1  # nobody listens any more
    os._exit(status)


def why_ended(status: int) -> Lost:
    """Why a process ended without an answer, by its exit status (below 0: by a signal)."""
    if status == OUT_OF_MEMORY:
        return Lost("out of memory")
    if status < 0:
        return Lost(f"its process was stopped by signal {-status}")
    return Lost(f"its process ended with status {status} and no answer")


def done(work: Work, tell: Tell, args: tuple[Any, ...]) -> object:
    """What the work returns, or `Lost` for what it raises."""
    try:
        return work(tell, *args)
    except MemoryError:
        return Lost("out of memory")
    except Exception as error:  # noqa: BLE001  # it goes back as no answer, with what it was
        return Lost(f"an error of ours: {type(error).__name__}: {error}")


def limit(memory: int, seconds: float) -> None:
    """Bound what this process may take from now on; for one that outlives its parent, too."""
    try:
        import resource
    except ImportError:
        return  # no system of the POSIX family
    with contextlib.suppress(OSError, ValueError):
        size = _size()
        if size:
            resource.setrlimit(resource.RLIMIT_AS, (size + memory, size + memory))
    with contextlib.suppress(OSError, ValueError):
        most = int(time.process_time() + seconds + 2 * GRACE)
        resource.setrlimit(resource.RLIMIT_CPU, (most, most))


def _size() -> int:
    """Bytes of address space that this process has."""
    try:
        with open("/proc/self/statm", encoding="ascii") as file:
            return int(file.read().split()[0]) * os.sysconf("SC_PAGE_SIZE")
    except OSError:
        return 0
