"""The pins of a design: which there are, and who uses each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.yamltree import Text, near
from breadproof.specs.target.devices import Device
from breadproof.specs.target.mapped import MappedChain, MappedPin
from breadproof.specs.target.model import Active, Chain, Pull, Target, Wiring


@dataclass(slots=True)
class PinBook:
    """Hands out pins, each once; what is wrong with one is noted in ``problems``.

    ``device`` None: only doubles are noticed. ``aliases`` are further names of its pins.
    """

    target: Target
    device: Device | None
    aliases: Mapping[str, str]
    problems: Problems
    used: dict[str, tuple[str, Span]] = field(default_factory=dict)
    chains: dict[str, Chain] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Index the chains."""
        self.chains = {chain.name.value: chain for chain in self.target.chains}

    def chain(self, chain: Chain) -> MappedChain:
        """The three pins of a chain."""
        whose = f"chain '{chain.name.value}'"
        load, clock, data = (
            self.pin(text, whose, direct=True) for text in (chain.load, chain.clock, chain.data)
        )
        return MappedChain(
            name=chain.name.value, load=load, clock=clock, data=data, inputs=chain.inputs
        )

    def pin(
        self,
        text: Text,
        whose: str,
        active: Active = "high",
        pull: Pull = "none",
        *,
        direct: bool = False,
        out: bool = False,
    ) -> MappedPin:
        """A pin, noted as used; ``direct`` ones are no inputs of a chain, ``out`` neither."""
        name = text.value.strip()
        chain, dot, number = name.rpartition(".")
        if dot and chain in self.chains and not direct:
            self._input_of(chain, number, text, out)
            self.use(name, whose, text.span)
            count = int(number) if number.isdecimal() else 0
            return MappedPin(
                pin=name, span=text.span, active=active, pull=pull, chain=chain, number=count
            )
        pin = self.aliases.get(name, name.upper())
        self._exists(pin, name, text.span, pull)
        self.use(pin, whose, text.span)
        return MappedPin(pin=pin, span=text.span, active=active, pull=pull)

    def _input_of(self, chain: str, number: str, text: Text, out: bool) -> None:
        inputs = self.chains[chain].inputs
        if not number.isdecimal() or not 1 <= int(number) <= inputs:
            self.problems.error(
                "pin-unknown",
                f"chain '{chain}' has no input '{number}'",
                text.span,
                hint=f"It has {chain}.1 to {chain}.{inputs}.",
            )
        elif out:
            self.problems.error(
                "pin-unfit",
                f"'{text.value}' is an input of a chain",
                text.span,
                hint="Name a pin of the FPGA.",
            )

    def _exists(self, pin: str, name: str, span: Span, pull: Pull) -> None:
        device = self.device
        if device is None:
            return
        if not device.has(pin):
            names = [*(device.pins or ()), *self.aliases, *self.chains]
            self.problems.error(
                "pin-unknown",
                f"{device.name} in {device.package} has no pin '{name}' that a design can use",
                span,
                hint=near(name, sorted(names))
                or "Look at the package's pin table; supplies and programming pins are not there.",
            )
        elif pin in device.open_drain:
            self.problems.error(
                "pin-unfit",
                f"pin {pin} of this package only pulls low, for a lamp with its own current",
                span,
                hint="Take another pin.",
            )
        elif pull not in device.pulls:
            self.problems.error(
                "pin-unfit",
                f"pins of {device.name} have no pull {pull}",
                span,
                hint="Write 'pull: none' and put a resistor of 10k to ground at the pin, or wire "
                "the contact to ground and write 'active: low'.",
            )

    def use(self, pin: str, whose: str, span: Span) -> None:
        """Note who uses a pin."""
        if pin in self.used:
            other, there = self.used[pin]
            self.problems.error(
                "pin-twice",
                f"pin {pin} is used twice: by {other} and by {whose}",
                span,
                hint="One pin has one job; name another.",
                related=(("first here", there),),
            )
        else:
            self.used[pin] = (whose, span)

    def count(self, wiring: Wiring, wanted: int, what: str) -> None:
        """Note that an entry has not as many pins as it needs."""
        self.problems.error(
            "pins-missing",
            f"'{wiring.name.value}' has {len(wiring.pins)} pins and needs {wanted}",
            wiring.name.span,
            hint=f"Write {what}.",
        )


def bare(name: str) -> str:
    """``bus[7:0]`` as ``bus``; ``SW1[3]`` stays."""
    head, bracket, tail = name.partition("[")
    return head if bracket and ":" in tail else name


def named(text: Text, known: Iterable[str]) -> str:
    """What the board calls what a target names: ``bus[7:0]`` is ``bus``, ``store.bus`` the bus of
    the board ``store``, which is ``store/bus`` in a machine of several boards."""
    name = bare(text.value)
    whole = {one.replace("/", "."): one for one in known}
    return whole.get(name, name)
