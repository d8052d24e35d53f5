"""Rule of families: a chip whose function is not known to exist in the family it names."""

from __future__ import annotations

from collections.abc import Iterator

from breadproof.specs.catalogue.names import full_name
from breadproof.specs.reading.diagnostics import Severity
from breadproof.verify.wiring.finding import Finding, listed
from breadproof.verify.wiring.survey import Survey


def family_unknown(survey: Survey) -> Iterator[Finding]:
    """A chip of a family in which no such function is known."""
    for part in survey.chips:
        family, known = part.family, part.type.families
        if family is None or family.name in known:
            continue
        number = part.type.number
        name = full_name(number, family.name)
        others = [full_name(number, other) for other in known]
        yield Finding(
            code="family-unknown",
            severity=Severity.WARNING,
            message=f"{part.name} is a {name}, and a {number} is not known to exist in the "
            f"{family.name} family: it is known in {listed(list(known))}",
            net=None,
            pins=(),
            span=part.span,
            hint=f"Check what is printed on the chip, or take a {listed(others, 'or')}.",
        )
