"""The time limit that commands share."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import click

_LONGEST = 1e6
"""Seconds; the solver counts milliseconds in 32 bits."""


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
