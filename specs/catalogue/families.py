"""The logic families by name.

The values are in `bipolar` and `cmos`: guaranteed ones, never typical ones. Those whose source is
"trade numbers" are from the project's collection of trade numbers; the others are from memory of
the data books, and of the JEDEC standards that are named. Where the parts of a class differ (the
octal drivers of one family do), the weakest of the class is given, so that a sum that fits here
fits on every one.
"""

from __future__ import annotations

from breadproof.specs.catalogue.bipolar import BIPOLAR
from breadproof.specs.catalogue.cmos import CMOS
from breadproof.specs.catalogue.limits import Family

__all__ = ["FAMILIES", "Family"]

FAMILIES: dict[str, Family] = {family.name: family for family in (*BIPOLAR, *CMOS)}
"""Families by name. MOS is that of 5 V memories with TTL levels, and of nothing else."""
