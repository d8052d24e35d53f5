"""Arithmetic chips against Python's integers, over all their inputs.

Every signal is a truth table: one integer, whose bit i is the level under the i-th combination
of the inputs. Formulas are worked out here, from their syntax trees, so that nothing that works
them out for boards is trusted. What is expected comes from the function tables of the data books,
from memory, written as arithmetic; that of the 181 in both of its forms, which must agree.
"""

from collections.abc import Callable, Iterator, Mapping

import pytest

from breadproof.specs.catalogue.catalogue import Catalogue
from breadproof.specs.catalogue.part import PinKind
from breadproof.specs.formula import syntax as s

CATALOGUE = Catalogue()

Levels = Mapping[str, int]
Wanted = dict[str, int]


def _table(expr: s.Expr, known: dict[str, int], every: int) -> int:
    """The truth table of a formula of one bit."""
    match expr:
        case s.Name(path=name):
            return known[name]
        case s.Unary(op="!", operand=operand):
            return every ^ _table(operand, known, every)
        case s.Binary(op="&" | "|" | "^" as op, left=left, right=right):
            one, other = _table(left, known, every), _table(right, known, every)
            return one & other if op == "&" else one | other if op == "|" else one ^ other
    raise AssertionError(f"{expr} is not expected in a part of this list")


def _input_table(place: int, count: int) -> int:
    """0101…, 0011…, and so on: the truth table of the input at a place."""
    table, length = (1 << (1 << place)) - 1 << (1 << place), 2 << place
    while length < 1 << count:
        table |= table << length
        length *= 2
    return table


def _tables(number: str) -> tuple[tuple[str, ...], dict[str, int]]:
    """The inputs of a part and the truth tables of its outputs."""
    part = CATALOGUE.part(number)
    inputs = tuple(pin.name for pin in part.pins if pin.kind is PinKind.IN)
    every = (1 << (1 << len(inputs))) - 1
    known = {name: _input_table(place, len(inputs)) for place, name in enumerate(inputs)}
    found: dict[str, int] = {}
    for output in (*part.inner, *part.logic):
        target = known if output in part.inner else found
        match output.level.expr:
            case s.Part(base=s.Name(path=stem), left=s.Number(value=high)):
                tables = [known[f"{stem}{high - at}"] for at in range(len(output.names))]
            case expr:
                tables = [_table(expr, known, every)]
        target.update(zip(output.names, tables, strict=True))
    return inputs, found


def _combinations(inputs: tuple[str, ...]) -> Iterator[dict[str, int]]:
    for at in range(1 << len(inputs)):
        yield {name: at >> place & 1 for place, name in enumerate(inputs)}


def _word(levels: Levels, stem: str, first: int, count: int, tail: str = "") -> int:
    return sum(levels[f"{stem}{first + at}{tail}"] << at for at in range(count))


def _bits(stem: str, first: int, count: int, word: int) -> Wanted:
    return {f"{stem}{first + at}": word >> at & 1 for at in range(count)}


def _not(word: int) -> int:
    return ~word & 15


Words = Callable[[int, int], int]

LOGIC_HIGH: tuple[Words, ...] = (
    lambda a, b: _not(a),
    lambda a, b: _not(a | b),
    lambda a, b: _not(a) & b,
    lambda a, b: 0,
    lambda a, b: _not(a & b),
    lambda a, b: _not(b),
    lambda a, b: a ^ b,
    lambda a, b: a & _not(b),
    lambda a, b: _not(a) | b,
    lambda a, b: _not(a ^ b),
    lambda a, b: b,
    lambda a, b: a & b,
    lambda a, b: 15,
    lambda a, b: a | _not(b),
    lambda a, b: a | b,
    lambda a, b: a,
)
LOGIC_LOW: tuple[Words, ...] = (
    lambda a, b: _not(a),
    lambda a, b: _not(a & b),
    lambda a, b: _not(a) | b,
    lambda a, b: 15,
    lambda a, b: _not(a | b),
    lambda a, b: _not(b),
    lambda a, b: _not(a ^ b),
    lambda a, b: a | _not(b),
    lambda a, b: _not(a) & b,
    lambda a, b: a ^ b,
    lambda a, b: b,
    lambda a, b: a | b,
    lambda a, b: 0,
    lambda a, b: a & _not(b),
    lambda a, b: a & b,
    lambda a, b: a,
)
SUMS_HIGH: tuple[Words, ...] = (
    lambda a, b: a,
    lambda a, b: a | b,
    lambda a, b: a | _not(b),
    lambda a, b: 15,
    lambda a, b: a + (a & _not(b)),
    lambda a, b: (a | b) + (a & _not(b)),
    lambda a, b: a + _not(b),
    lambda a, b: (a & _not(b)) + 15,
    lambda a, b: a + (a & b),
    lambda a, b: a + b,
    lambda a, b: (a | _not(b)) + (a & b),
    lambda a, b: (a & b) + 15,
    lambda a, b: a + a,
    lambda a, b: (a | b) + a,
    lambda a, b: (a | _not(b)) + a,
    lambda a, b: a + 15,
)
SUMS_LOW: tuple[Words, ...] = (
    lambda a, b: a + 15,
    lambda a, b: (a & b) + 15,
    lambda a, b: (a & _not(b)) + 15,
    lambda a, b: 15,
    lambda a, b: a + (a | _not(b)),
    lambda a, b: (a & b) + (a | _not(b)),
    lambda a, b: a + _not(b),
    lambda a, b: a | _not(b),
    lambda a, b: a + (a | b),
    lambda a, b: a + b,
    lambda a, b: (a & _not(b)) + (a | b),
    lambda a, b: a | b,
    lambda a, b: a + a,
    lambda a, b: (a & b) + a,
    lambda a, b: (a & _not(b)) + a,
    lambda a, b: a,
)
"""The tables of the 181 by S3 to S0; minus 1 is plus 1111, as the carry out tells."""


def _alu_181(levels: Levels) -> Wanted:
    a, b, function = (_word(levels, stem, 0, 4) for stem in "ABS")
    if levels["M"]:
        result = LOGIC_HIGH[function](a, b)
        assert result == _not(LOGIC_LOW[function](_not(a), _not(b)))
        return {**_bits("F", 0, 4, result), "AEQB": int(result == 15)}
    high = SUMS_HIGH[function](a, b) + 1 - levels["CN"]
    without = SUMS_LOW[function](_not(a), _not(b))
    low = without + levels["CN"]
    assert high & 15 == _not(low & 15)
    assert high >> 4 == 1 - (low >> 4)
    wanted = {**_bits("F", 0, 4, high), "AEQB": int(high & 15 == 15), "CN4": low >> 4}
    wanted["G_n"] = 1 - (without >> 4)
    if without < 16:
        wanted["P_n"] = int(without != 15)
    return wanted


def _carries_182(levels: Levels) -> Wanted:
    carry, generated = levels["CN"], 0
    wanted = {}
    for at, name in enumerate(("CNX", "CNY", "CNZ", "")):
        generates, propagates = not levels[f"G{at}_n"], not levels[f"P{at}_n"]
        carry = int(generates or (propagates and carry))
        generated = int(generates or (propagates and generated))
        wanted[name] = carry
    del wanted[""]
    return {**wanted, "G_n": 1 - generated, "P_n": int(_word(levels, "P", 0, 4, "_n") != 0)}


def _alu_382(levels: Levels) -> Wanted:
    """CN4 and OVR outside the sums are those that a readout of an LS chip shows."""
    a, b, function = _word(levels, "A", 0, 4), _word(levels, "B", 0, 4), _word(levels, "S", 0, 3)
    carry = levels["CN"]
    if function in (1, 2, 3):
        one, other = ((_not(a), b), (a, _not(b)), (a, b))[function - 1]
        result = one + other + carry
        signed = one - (one & 8) * 2 + other - (other & 8) * 2 + carry
        return {
            **_bits("F", 0, 4, result),
            "CN4": result >> 4,
            "OVR": int(not -8 <= signed <= 7),
        }
    result = {0: 0, 4: a ^ b, 5: a | b, 6: a & b, 7: 15}[function]
    passed = int(result == 15 and carry)
    return {**_bits("F", 0, 4, result), "CN4": passed, "OVR": passed}


def _alu_381(levels: Levels) -> Wanted:
    """P_n and G_n of the logic functions are those of the LS part's logic diagram."""
    a, b, function = _word(levels, "A", 0, 4), _word(levels, "B", 0, 4), _word(levels, "S", 0, 3)
    if function in (1, 2, 3):
        one, other = ((_not(a), b), (a, _not(b)), (a, b))[function - 1]
        total = one + other
        sums = _bits("F", 0, 4, total + levels["CN"])
        return {**sums, "G_n": int(total <= 15), "P_n": int(total != 15)}
    result = {0: 0, 4: a ^ b, 5: a | b, 6: a & b, 7: 15}[function]
    return {**_bits("F", 0, 4, result), "G_n": 1, "P_n": int(result != 15)}


def _adder(levels: Levels) -> Wanted:
    total = _word(levels, "A", 1, 4) + _word(levels, "B", 1, 4) + levels["C0"]
    return {**_bits("S", 1, 4, total), "C4": total >> 4}


def _comparator_85(levels: Levels) -> Wanted:
    a, b = _word(levels, "A", 0, 4), _word(levels, "B", 0, 4)
    above, below, same = (levels[f"{name}_IN"] for name in ("AGTB", "ALTB", "AEQB"))
    if a != b:
        outcome = (a > b, a < b, False)
    elif same:
        outcome = (False, False, True)
    else:
        outcome = (not below, not above, False)
    names = ("AGTB_OUT", "ALTB_OUT", "AEQB_OUT")
    return {name: int(level) for name, level in zip(names, outcome, strict=True)}


def _comparator_682(levels: Levels) -> Wanted:
    p, q = _word(levels, "P", 0, 8), _word(levels, "Q", 0, 8)
    return {"PEQQ_n": int(p != q), "PGTQ_n": int(p <= q)}


def _identity(levels: Levels) -> Wanted:
    same = _word(levels, "P", 0, 8) == _word(levels, "Q", 0, 8)
    return {"PEQQ_n": int(bool(levels["G_n"]) or not same)}


def _parity(levels: Levels) -> Wanted:
    odd = sum(levels.values()) % 2
    return {"EVEN": 1 - odd, "ODD": odd}


def _priority(levels: Levels) -> Wanted:
    asked = [at for at in range(8) if not levels[f"I{at}_n"]]
    if levels["EI_n"] or not asked:
        wanted = {f"A{at}_n": 1 for at in range(3)}
        return {**wanted, "GS_n": 1, "EO_n": levels["EI_n"]}
    wanted = {f"A{at}_n": 1 - (asked[-1] >> at & 1) for at in range(3)}
    return {**wanted, "GS_n": 0, "EO_n": 1}


CHIPS: dict[str, Callable[[Levels], Wanted]] = {
    "83": _adder,
    "85": _comparator_85,
    "148": _priority,
    "181": _alu_181,
    "182": _carries_182,
    "280": _parity,
    "283": _adder,
    "381": _alu_381,
    "382": _alu_382,
    "520": _identity,
    "521": _identity,
    "682": _comparator_682,
    "688": _identity,
}


@pytest.mark.parametrize("number", CHIPS)
def test_all_inputs(number: str) -> None:
    inputs, found = _tables(number)
    size = max(1, (1 << len(inputs)) // 8)
    tables = {name: table.to_bytes(size, "little") for name, table in found.items()}
    seen = set()
    for at, levels in enumerate(_combinations(inputs)):
        for name, level in CHIPS[number](levels).items():
            assert tables[name][at >> 3] >> (at & 7) & 1 == level, (name, levels)
            seen.add(name)
    assert seen == set(found)


def test_a_wrong_truth_table_is_seen() -> None:
    """The tables that the comparison rests on: exclusive OR of two inputs, and its inputs."""
    assert [_input_table(place, 3) for place in range(3)] == [0xAA, 0xCC, 0xF0]
    inputs, found = _tables("280")
    assert len(inputs) == 9
    assert found["ODD"] == sum(1 << at for at in range(512) if at.bit_count() % 2)
