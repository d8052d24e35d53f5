"""Bits that are assigned as a word come to what they are one by one, in Amaranth's simulator."""

import random
from typing import Any

from amaranth.hdl import Cat, Const, Module, Mux, Signal
from amaranth.sim import Simulator

from breadproof.export.lowering import values as v
from breadproof.export.lowering.merging import Assignments, merged, shape
from breadproof.export.lowering.values import Value

WIDTHS = {"self.a": 6, "self.b": 6, "c": 6, "self.one": 1, "two": 1}


def expression(dice: random.Random, depth: int, habits: list[int], *, number: bool) -> str:
    """A shape of `netlogic`, its leaves numbered. Bare numbers stand only where its do: as a whole,
    or as what a choice comes to."""
    if depth == 0 or dice.random() < 0.2:
        habits.append(dice.randrange(4 if number else 3))
        return f"@{len(habits) - 1}@"
    match dice.randrange(4):
        case 0:
            return f"~({expression(dice, depth - 1, habits, number=False)})"
        case 1:
            test = expression(dice, depth - 1, habits, number=False)
            pair = [expression(dice, depth - 1, habits, number=True) for _ in range(2)]
            return f"Mux({test}, {pair[0]}, {pair[1]})"
        case kind:
            pair = [expression(dice, depth - 1, habits, number=False) for _ in range(2)]
            return f"({pair[0]}) {'&|'[kind - 2]} ({pair[1]})"


def leaf(dice: random.Random, bit: int, habit: int) -> str:
    """A leaf of bit ``bit``: by habit a neighbour, the same for all, anything, or a number."""
    match habit:
        case 0:
            return f"self.a[{bit}]"
        case 1:
            return "self.one"
        case 2:
            name = dice.choice(sorted(WIDTHS))
            return name if WIDTHS[name] == 1 else f"{name}[{dice.randrange(6)}]"
        case _:
            return str(dice.getrandbits(1))


class Self:
    """What `self` is in generated text."""


def test_random_words_are_their_bits() -> None:
    dice = random.Random(1364)
    signals: dict[str, Any] = {name: Signal(width) for name, width in WIDTHS.items()}
    this = Self()
    for name, signal in signals.items():
        if name.startswith("self."):
            setattr(this, name.removeprefix("self."), signal)
    space = {"Cat": Cat, "Const": Const, "Mux": Mux, "self": this, "c": signals["c"]}
    space |= {"two": signals["two"]}
    exec("def choose(test, then, other):\n    return (test & then) | (~test & other)", space)
    m = Module()
    pairs = []
    for _ in range(150):
        habits: list[int] = []
        text, width = expression(dice, 3, habits, number=True), dice.randint(2, 6)
        bits, each = [], [Signal() for _ in range(width)]
        for bit in range(width):
            one = text
            for place, habit in enumerate(habits):
                one = one.replace(f"@{place}@", leaf(dice, bit, habit))
            bits.append(Value(text=one, bind=v.COMPARE))
            m.d.comb += each[bit].eq(eval(one, space))
        assert len({shape(bit) for bit in bits}) == 1
        word = Signal(width)
        m.d.comb += word.eq(eval(merged(bits, WIDTHS).text, space))
        pairs.append((word, Cat(each)))
    simulator = Simulator(m)

    async def bench(context: Any) -> None:
        for _ in range(40):
            for signal in signals.values():
                context.set(signal, dice.getrandbits(len(signal)))
            for word, each in pairs:
                assert context.get(word) == context.get(each)

    simulator.add_testbench(bench)
    simulator.run()


def test_bits_that_are_alike_stand_together() -> None:
    assigned = Assignments({"self.bus": 4, "self.d": 4, "self.u": 1})
    for bit in (2, 0, 3, 1):
        level = v.name("self.u") if bit == 3 else v.inverted(v.stretch("self.d", bit, 1, 4))
        assigned.add(v.stretch("self.bus", bit, 1, 4), level)
    assert assigned.lines(0) == [
        "m.d.comb += self.bus[:3].eq(~self.d[:3])",
        "m.d.comb += self.bus[3].eq(self.u)",
    ]


def test_choice_of_two_numbers_is_as_wide_as_its_word() -> None:
    """Amaranth inverts a value in its own width; Mux of the numbers 1 and 0 has one bit."""
    bits = [Value(text=f"~Mux(self.one, {level}, 0)", bind=v.UNARY) for level in (1, 0, 0)]
    assert merged(bits, WIDTHS).text == "~Mux(self.one, Const(1, 3), 0)"
