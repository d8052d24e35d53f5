"""A small part file with `times:` that are right, for tests that change one thing in it.

Run as a program, it prints how many of the shipped parts have times, by family.
"""

import sys
from collections import Counter

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PartType
from breadproof.specs.catalogue.partfile import parse_part
from breadproof.specs.catalogue.parttimes import cut_times, read_times, with_times
from breadproof.specs.catalogue.times import Times
from breadproof.specs.reading.yamltree import parse_tree
from tests.catalogue.support import PART

TIMES = """\
times:
  LS:
    source: made up for this test
    delays:
      A* to Q0: plh 15 phl 14.5
      CLK to Q1: pd 27
      G_n to Q1: en 30 phz 18 plz 25
    setup:
      A# before CLK rise: 20
    hold:
      A* after CLK rise: 5
    width:
      CLK high low: 25
      G_n low: 30
    clock:
      CLK: 25
"""

WITH_TIMES = PART + TIMES


def read_with_times(text: str) -> PartType:
    """The part type of a text, its times unread, as `load_part` makes it."""
    rest, times = cut_times(text, "9.yaml")
    return with_times(parse_part(parse_tree(rest, "9.yaml"), "9.yaml"), times)


def times_in(text: str) -> tuple[Times, ...]:
    """The times of a text of a part file."""
    return read_times(read_with_times(text))


def changed_times(old: str, new: str) -> str:
    """`WITH_TIMES` with one thing changed, which must stand there once."""
    assert WITH_TIMES.count(old) == 1
    return WITH_TIMES.replace(old, new)


def count_by_family() -> Counter[str]:
    """How many shipped parts have times, by family."""
    catalogue = Catalogue()
    found: Counter[str] = Counter()
    for number in catalogue.numbers():
        found.update({times.family for times in read_times(catalogue.part(number))})
    return found


if __name__ == "__main__":
    for family, parts in count_by_family().most_common():
        sys.stdout.write(f"{family:5} {parts}\n")
