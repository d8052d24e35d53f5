"""How many faults are in each group, and the fault coverage."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from breadproof.verify.faults.fault import Kind
from breadproof.verify.faults.judged import GROUPS, Group, Judged
from breadproof.verify.faults.run import FaultReport


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """``warned`` are those of the detected of which a warning alone tells."""

    groups: dict[Group, int]
    warned: int

    @property
    def all(self) -> int:
        """How many there are."""
        return sum(self.groups.values())

    @property
    def telling(self) -> int:
        """Those that are not proved to make no difference: what coverage is of."""
        return self.all - self.groups["redundant"]

    @property
    def coverage(self) -> float | None:
        """Detected over not redundant, from 0 to 1; None where there is nothing to detect."""
        return self.groups["detected"] / self.telling if self.telling else None

    @property
    def firm(self) -> float | None:
        """The coverage by what makes `verify` fail, warnings aside."""
        firm = self.groups["detected"] - self.warned
        return firm / self.telling if self.telling else None


def counted(judged: Iterable[Judged]) -> Counts:
    """The groups of some faults."""
    judged = tuple(judged)
    groups = Counter(one.group for one in judged)
    return Counts(
        groups={group: groups[group] for group in GROUPS},
        warned=sum(one.detector is not None and one.detector.warning for one in judged),
    )


def by_kind(report: FaultReport) -> dict[Kind, Counts]:
    """The groups of each kind that was looked for."""
    kinds = {fault.name: fault.kind for fault in report.faults}
    return {
        kind: counted(one for one in report.judged if kinds[one.fault] == kind)
        for kind in report.wanted.kinds
    }


def percent(share: float | None) -> str:
    """``97.3 %``; rounded down, so that 100 % is all."""
    return "-" if share is None else f"{int(share * 1000) / 10:.1f} %"
