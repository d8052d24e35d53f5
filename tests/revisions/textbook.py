"""Pairs of small boards that textbooks call equal, each with a third that is wrong on purpose.

Sources: G. Boole 1854 and A. de Morgan 1847 (laws of algebra); A. Blake 1937 (consensus); C. E.
Shannon 1938 (expansion by a variable); M. M. Mano, Digital Design (a function in a decoder and a
NAND gate, and in a multiplexer; flip-flops made of one another); data book of the 280 (parity).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

Wires = Mapping[str, str]
"""Nets with their pins, as in a board file."""


def board(chips: Mapping[str, str], wires: Wires, inputs: str, outputs: str, more: str = "") -> str:
    """A board file. ``wires`` may name VCC and GND, too."""
    sixteen = ("109", "151", "138", "157")
    supply = [f"{name}.{16 if kind in sixteen else 14}" for name, kind in chips.items()]
    ground = [f"{name}.{8 if kind in sixteen else 7}" for name, kind in chips.items()]
    nets = {"VCC": ", ".join(supply), "GND": ", ".join(ground)}
    for net, pins in wires.items():
        nets[net] = f"{nets[net]}, {pins}" if net in nets else pins
    ports = [f"{name}: in" for name in inputs.split()] + [f"{n}: out" for n in outputs.split()]
    return "\n".join(
        [
            "board: textbook",
            "parts:",
            *(f"  {name}: 74LS{kind}" for name, kind in chips.items()),
            "nets:",
            *(f"  {net}: [{pins}]" for net, pins in nets.items()),
            f"ports: {{{', '.join(ports)}}}",
            more,
        ]
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Law:
    """``one`` and ``two`` do the same, ``wrong`` does not; after the reset, if there is one."""

    one: str
    two: str
    wrong: str
    reset: bool = False


_ABC = "a b c"
_AND_OR = {"U1": "08", "U2": "32", "U3": "04"}
_CLEARED = "reset: {low: clear_n}"


def _consensus(third: str) -> str:
    """a b or !a c, or with a third product."""
    wires = {
        "a": "U1.1, U3.1", "a_n": "U3.2, U1.4", "b": f"U1.2{', U1.9' * bool(third)}",
        "c": f"U1.5{', U1.10' * bool(third)}", "p": "U1.3, U2.1", "q": "U1.6, U2.2",
    }  # fmt: skip
    if third:
        wires |= {"r": "U1.8, U2.4", "s": "U2.3, U2.5", "f": "U2.6"}
    else:
        wires |= {"f": "U2.3"}
    return board(_AND_OR, wires, _ABC, "f")


def _majority_in_gates() -> str:
    """a b + b c + a c."""
    return board(
        {"U1": "08", "U2": "32"},
        {
            "a": "U1.1, U1.9", "b": "U1.2, U1.4", "c": "U1.5, U1.10", "p": "U1.3, U2.1",
            "q": "U1.6, U2.2", "r": "U1.8, U2.4", "s": "U2.3, U2.5", "f": "U2.6",
        },
        _ABC, "f",
    )  # fmt: skip


def _majority_in_a_multiplexer(ones: tuple[int, ...]) -> str:
    """The truth table at the inputs of a 151 whose select is a b c."""
    data = (4, 3, 2, 1, 15, 14, 13, 12)
    high = ", ".join(f"U1.{data[k]}" for k in ones)
    low = ", ".join(f"U1.{data[k]}" for k in range(8) if k not in ones)
    wires = {"VCC": high, "GND": f"{low}, U1.7", "a": "U1.9", "b": "U1.10", "c": "U1.11"}
    return board({"U1": "151"}, {**wires, "f": "U1.5"}, _ABC, "f")


def _majority_in_a_decoder(minterms: tuple[int, ...]) -> str:
    """The NAND of a 138's outputs is the sum of their minterms."""
    outputs = (15, 14, 13, 12, 11, 10, 9, 7)
    wires = {"GND": "U1.4, U1.5", "VCC": "U1.6", "a": "U1.3", "b": "U1.2", "c": "U1.1"}
    for pin, minterm in zip((1, 2, 4, 5), minterms, strict=True):
        wires[f"m{minterm}"] = f"U1.{outputs[minterm]}, U2.{pin}"
    return board({"U1": "138", "U2": "20"}, {**wires, "f": "U2.6"}, _ABC, "f")


def _expanded(low: str, high: str) -> str:
    """f by its cofactors for a = 0 and a = 1, chosen by a 157."""
    wires = {
        "a": "U2.1", "GND": "U2.15", "b": "U1.1, U3.1", "c": "U1.2, U3.2", "and": "U1.3",
        "or": "U3.3", "f": "U2.4",
    }  # fmt: skip
    wires[low] += ", U2.2"
    wires[high] += ", U2.3"
    return board({"U1": "08", "U3": "32", "U2": "157"}, wires, _ABC, "f")


def _parity_in_gates(*, upside_down: bool) -> str:
    """A chain of exclusive ORs; EVEN of the 280 is high for an even number of ones."""
    wires = {
        "a": "U1.1", "b": "U1.2", "ab": "U1.3, U1.4", "c": "U1.5", "abc": "U1.6, U1.9",
        "d": "U1.10", "abcd": "U1.8, U1.12", "f": "U1.11",
    }  # fmt: skip
    wires["GND" if upside_down else "VCC"] = "U1.13"
    return board({"U1": "86"}, wires, "a b c d", "f")


def _parity() -> str:
    wires = {"a": "U1.8", "b": "U1.9", "c": "U1.10", "d": "U1.11", "f": "U1.5"}
    return board({"U1": "280"}, {**wires, "GND": "U1.1, U1.2, U1.4, U1.12, U1.13"}, "a b c d", "f")


def _jk() -> str:
    """The first half of a 109."""
    wires = {
        "j": "U1.2", "k_n": "U1.3", "beat": "U1.4", "clear_n": "U1.1", "q": "U1.6", "VCC": "U1.5",
    }  # fmt: skip
    return board({"U1": "109"}, wires, "j k_n beat clear_n", "q", _CLEARED)


def _jk_of_d(held: str) -> str:
    """D = J !Q + !K Q: a JK flip-flop made of a D flip-flop (the 109's K is turned over)."""
    wires = {
        "j": "U2.1", "k_n": "U2.4", "beat": "U1.3", "clear_n": "U1.1", "VCC": "U1.4",
        "q": "U1.5", "q_n": "U1.6", "p": "U2.3, U3.1", "r": "U2.6, U3.2", "d": "U3.3, U1.2",
    }  # fmt: skip
    wires["q_n"] += ", U2.2"
    wires[held] += ", U2.5"
    return board({"U1": "74", "U2": "08", "U3": "32"}, wires, "j k_n beat clear_n", "q", _CLEARED)


def _toggles() -> str:
    """T = J = K."""
    wires = {
        "t": "U1.2, U2.1", "t_n": "U2.2, U1.3", "beat": "U1.4", "clear_n": "U1.1", "q": "U1.6",
        "VCC": "U1.5",
    }  # fmt: skip
    return board({"U1": "109", "U2": "04"}, wires, "t beat clear_n", "q", _CLEARED)


def _toggles_of_d(from_: str) -> str:
    """D = Q xor T."""
    wires = {
        "t": "U2.1", "beat": "U1.3", "clear_n": "U1.1", "VCC": "U1.4", "q": "U1.5", "q_n": "U1.6",
        "d": "U2.3, U1.2",
    }  # fmt: skip
    wires[from_] += ", U2.2"
    return board({"U1": "74", "U2": "86"}, wires, "t beat clear_n", "q", _CLEARED)


LAWS = {
    "consensus": Law(one=_consensus("b c"), two=_consensus(""), wrong=_majority_in_gates()),
    "a function in a multiplexer": Law(
        one=_majority_in_gates(),
        two=_majority_in_a_multiplexer((3, 5, 6, 7)),
        wrong=_majority_in_a_multiplexer((3, 5, 7)),
    ),
    "a function in a decoder": Law(
        one=_majority_in_gates(),
        two=_majority_in_a_decoder((3, 5, 6, 7)),
        wrong=_majority_in_a_decoder((3, 4, 6, 7)),
    ),
    "expansion": Law(
        one=_majority_in_gates(), two=_expanded("and", "or"), wrong=_expanded("or", "and")
    ),
    "parity": Law(
        one=_parity(),
        two=_parity_in_gates(upside_down=False),
        wrong=_parity_in_gates(upside_down=True),
    ),
    "JK of D": Law(one=_jk(), two=_jk_of_d("q"), wrong=_jk_of_d("q_n"), reset=True),
    "T of D": Law(one=_toggles(), two=_toggles_of_d("q"), wrong=_toggles_of_d("q_n"), reset=True),
}
