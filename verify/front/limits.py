"""The limits of time, memory and processes that commands share."""

from __future__ import annotations

import math
import os
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from breadproof.verify.prove.crew import Crew

_LONGEST = 1e6
"""Seconds; the solver counts milliseconds in 32 bits."""

_MEGABYTE = 1 << 20

F = TypeVar("F", bound=Callable[..., Any])


def _checked(context: click.Context, parameter: click.Parameter, seconds: float) -> float:
    if math.isnan(seconds) or not 0 < seconds <= _LONGEST:
        raise click.BadParameter(
            f"{seconds:g} seconds; between 0 and {_LONGEST:,.0f} it must be",
            ctx=context,
            param_hint="--time-limit",
        )
    return seconds


def time_limit(help_text: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """The option ``--time-limit SECONDS``, handed on as ``seconds``: above 0, at most a million."""
    return click.option(
        "--time-limit",
        "seconds",
        type=float,
        default=60.0,
        metavar="SECONDS",
        callback=_checked,
        help=help_text,
    )


def crew_options(command: F) -> F:
    """The options ``--jobs``, ``--memory-limit`` and ``--cluster``, for `crew_of`."""
    options = (
        click.option(
            "--jobs",
            type=click.IntRange(min=1),
            metavar="N",
            help="Processes at a time. As many as there are processors if left out; 1 does all in "
            "one process.",
        ),
        click.option(
            "--memory-limit",
            "megabytes",
            type=click.IntRange(min=16),
            metavar="MB",
            help="Memory of one of these processes; what needs more is undecided. An even share "
            "of what there is if left out.",
        ),
        click.option(
            "--cluster",
            metavar="ADDRESS",
            help="Have a Dask cluster do what takes long: its scheduler's address, such as "
            "tcp://10.0.0.5:8786. Needs the extra 'cluster'.",
        ),
    )
    for option in reversed(options):
        command = option(command)
    return command


def processors() -> int:
    """How many processors this process may use."""
    affinity = getattr(os, "sched_getaffinity", None)
    return len(affinity(0)) if affinity is not None else os.cpu_count() or 1


def crew_of(
    jobs: int | None, megabytes: int | None, cluster: str | None
) -> AbstractContextManager[Crew | None]:
    """Those who do work beside; None if all is to be done in this process."""
    # Here and not above: --help must not wait for it.
    from breadproof.verify.prove.crew import Forks, physical_memory

    if cluster is not None:
        from breadproof.verify.prove.cluster import NoCluster, connect

        try:
            return connect(cluster)
        except NoCluster as error:
            raise click.BadParameter(str(error), param_hint="--cluster") from None
    size = jobs or processors()
    if size == 1 or not hasattr(os, "fork"):
        return nullcontext()
    share = physical_memory() // (size + 1)
    return Forks(size=size, memory=megabytes * _MEGABYTE if megabytes else share)
