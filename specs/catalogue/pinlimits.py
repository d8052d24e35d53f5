"""The limits of a part: those of its family, by the class of each pin, or its own.

`limits_of` is the one way by which the limits of a pin are looked up.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from breadproof.specs.catalogue.limits import Drive, Family, Inputs, OwnLimits, Sink
from breadproof.specs.catalogue.part import PartType


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The limits of a part on a board."""

    type: PartType
    family: Family

    @property
    def supply(self) -> tuple[float, float]:
        """The lowest and the highest supply."""
        own = self.type.limits
        return self.family.supply if own is None or own.supply is None else own.supply

    def inputs(self, name: str) -> Inputs:
        """What the input of that pin name asks for."""
        pin = self.type.pin(name)
        base = self.family.schmitt if pin is not None and pin.schmitt else self.family.inputs
        own = self._own(name)
        if own is None or (own.v_il, own.v_ih, own.i_il, own.i_ih, own.input_bears) == (None,) * 5:
            return base
        v_il, v_ih = _or(own.v_il, base.v_il), _or(own.v_ih, base.v_ih)
        points = base.points
        if points and (own.v_il is not None or own.v_ih is not None):
            points = ((base.nominal, v_il, v_ih),)  # in proportion to the supply from there
        return replace(
            base,
            v_il=v_il,
            v_ih=v_ih,
            i_il=_or(own.i_il, base.i_il),
            i_ih=_or(own.i_ih, base.i_ih),
            points=points,
            bears=base.bears if own.input_bears is None else own.input_bears,
            source=own.source,
        )

    def drive(self, name: str) -> Drive:
        """What the output of that pin name gives."""
        base = self.family.drive(self.type.output_class(name))
        own = self._own(name)
        if own is None or (own.v_ol, own.v_oh, own.i_ol, own.i_oh) == (None,) * 4:
            return base
        i_oh = _or(own.i_oh, base.i_oh)
        return replace(
            base,
            v_ol=_or(own.v_ol, base.v_ol),
            v_oh=_or(own.v_oh, base.v_oh),
            i_ol=_or(own.i_ol, base.i_ol),
            i_oh=i_oh,
            i_oh_max=base.i_oh_max if own.i_oh is None else i_oh,
            at=base.at if own.v_oh is None else None,
            light=base.light if own.v_oh is None and own.v_ol is None else None,
            source=own.source,
        )

    def sink(self, name: str) -> Sink:
        """What the open-collector output of that pin name takes."""
        base = self.family.sink(self.type.output_class(name))
        own = self._own(name)
        if own is None or (own.v_ol, own.i_ol, own.i_oz, own.bears) == (None,) * 4:
            return base
        return replace(
            base,
            v_ol=_or(own.v_ol, base.v_ol),
            i_ol=_or(own.i_ol, base.i_ol),
            off=_or(own.i_oz, base.off),
            bears=base.bears if own.bears is None else own.bears,
            source=own.source,
        )

    def off(self, name: str) -> float:
        """What the output of that pin name takes or gives at most while it lets go."""
        pin = self.type.pin(name)
        if pin is not None and pin.kind.sinks:
            return self.sink(name).off
        own = self._own(name)
        return _or(None if own is None else own.i_oz, self.family.i_oz)

    def _own(self, name: str) -> OwnLimits | None:
        own = self.type.limits
        return None if own is None else own.of_pin(name, self.family.name)


def limits_of(kind: PartType, family: Family | None) -> Limits | None:
    """The limits of a part type in a family; None for what is no chip."""
    return None if family is None else Limits(type=kind, family=family)


def _or(own: float | None, other: float) -> float:
    return other if own is None else own
