"""What a wiring rule has to say: one finding, with every pin involved and its place in the file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from breadproof.specs.netlist.model import Pin
from breadproof.specs.reading.diagnostics import Diagnostic, Severity, Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that is wrong with the wiring.

    ``net`` is the net's name, or None where the fault is that there is none. ``pins`` are labels
    such as ``U3.1``, the culprit first. ``span`` is where the board file has it, ``hint`` the way
    out; ``accepted`` is the builder's reason to leave it, if the board file has one. ``nets`` are
    all of its nets, if it speaks of several.
    """

    code: str
    severity: Severity
    message: str
    net: str | None
    pins: tuple[str, ...]
    span: Span
    hint: str
    accepted: str = ""
    nets: tuple[str, ...] = ()

    @property
    def fails(self) -> bool:
        """Whether the board cannot pass with it."""
        return self.severity is Severity.ERROR and not self.accepted

    def as_json(self) -> dict[str, object]:
        """The finding as an entry of ``wiring`` (design.md, section 8)."""
        return {
            "code": self.code,
            "severity": self.severity.value,
            "message": self.message,
            "net": self.net,
            "pins": list(self.pins),
            "file": self.span.file,
            "line": self.span.line,
            "column": self.span.column,
            **({"accepted": self.accepted} if self.accepted else {}),
        }

    def diagnostic(self) -> Diagnostic:
        """The finding as a diagnostic, for `Diagnostic.render`."""
        return Diagnostic(
            code=self.code,
            message=self.message,
            span=self.span,
            severity=self.severity,
            hint=self.hint,
        )


def called(pin: Pin) -> str:
    """A pin by number and name: ``U3.1 (S)``; a pin that has no name of its own: ``SW1.2``."""
    return pin.label if pin.name == pin.number else f"{pin.label} ({pin.name})"


def a(word: str) -> str:
    """``a 74HC00``, ``an oscillator``."""
    return f"{'an' if word[:1].lower() in 'aeiou' else 'a'} {word}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def volts(value: float) -> str:
    """``5 V``, ``0.8 V``; two digits behind the point at most."""
    return f"{value:.2f}".rstrip("0").rstrip(".") + " V"


def ohms(value: float) -> str:
    """``220 ohm``, ``10k``, ``4.7k``, ``1M``; two significant digits behind the point at most."""
    for scale, letter in ((1e6, "M"), (1e3, "k")):
        if value >= scale:
            return f"{value / scale:.2f}".rstrip("0").rstrip(".") + letter
    return f"{value:.0f} ohm"


def milliamps(value: float) -> str:
    """``0.4 mA``; below a tenth in microamperes: ``20 uA``."""
    if value < 1e-4:
        return f"{value * 1e6:.0f} uA"
    return f"{value * 1e3:.2f}".rstrip("0").rstrip(".") + " mA"
