"""A transition system as SMT-LIB 2 definitions: what begins, a step, and each property.

Every function takes the state: one Bool a bit, one array a memory (bit vectors to bit vectors).
``trans`` takes the state, the inputs and the state after the step; a property's ``after`` the
state and the inputs. A script is these definitions, constants for the states of some moments, and
assertions that apply the functions to them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from breadproof.verify.exchange.through import Through
from breadproof.verify.exchange.waits import numbered
from breadproof.verify.prove.memory import Write
from breadproof.verify.prove.system import Array, Goal, System

LOGIC = "QF_ABV"


@dataclass(frozen=True, slots=True)
class Constant:
    """A name, unquoted, and its sort."""

    name: str
    sort: str


def quoted(name: str) -> str:
    """A name as a symbol: in bars, within which all but bars and backslashes may stand."""
    return f"|{name.replace('|', '!').replace(chr(92), '!')}|"


def array_sort(array: Array) -> str:
    """The sort of a memory."""
    return f"(Array (_ BitVec {array.address_bits}) (_ BitVec {array.word_bits}))"


class Definitions:
    """Writes the functions of one system."""

    def __init__(self, system: System) -> None:
        """Name the variables."""
        self.system = system
        self.aig = system.aig
        self.state = [
            *(Constant(bit.name, "Bool") for bit in system.bits),
            *(Constant(array.name, array_sort(array)) for array in system.arrays),
        ]
        self.inputs = [Constant(one.name, "Bool") for one in system.inputs]
        self.symbols = {bit.now >> 1: quoted(bit.name) for bit in system.bits}
        self.symbols |= {one.literal >> 1: quoted(one.name) for one in system.inputs}
        self.through = Through(system.aig, system.reads)

    # terms ------------------------------------------------------------------------------------

    def term(self, literal: int) -> str:
        """A literal as a term, within the bindings of `bound`."""
        if literal < 2:
            return "true" if literal else "false"
        symbol = self.symbols.get(literal >> 1, f"v{literal >> 1}")
        return f"(not {symbol})" if literal & 1 else symbol

    def vector(self, literals: Sequence[int]) -> str:
        """Literals, most significant first, as a bit vector."""
        bits = [f"(ite {self.term(literal)} #b1 #b0)" for literal in literals]
        found = bits.pop()
        while bits:
            found = f"(concat {bits.pop()} {found})"
        return found

    def conjunction(self, literals: Iterable[int]) -> str:
        """All of them."""
        terms = [self.term(literal) for literal in literals]
        return f"(and true {' '.join(terms)})" if terms else "true"

    def bound(self, roots: Sequence[int], body: str) -> str:
        """A term with all that ``roots`` are made of bound around it, level by level."""
        levels: dict[int, int] = {}
        bindings: dict[int, dict[str, str]] = {}
        for variable in self.through.cone(roots, self.symbols):
            if variable in self.symbols:
                levels[variable] = 0
                continue
            deep = max((levels[arg] for arg in self.through.behind(variable)), default=0) + 1
            number = self.through.read_of.get(variable)
            if number is None:
                gate = self.aig.fanin[variable] or (0, 0)
                term = f"(and {self.term(gate[0])} {self.term(gate[1])})"
            else:
                read = self.system.reads[number]
                memory = quoted(self.system.arrays[read.memory].name)
                word = f"(select {memory} {self.vector(read.address)})"
                bindings.setdefault(deep, {})[f"r{number}"] = word
                deep += 1
                bit = read.word.index(2 * variable)
                term = f"(= ((_ extract {bit} {bit}) r{number}) #b1)"
            levels[variable] = deep
            bindings.setdefault(deep, {})[f"v{variable}"] = term
        lines = []
        for deep in sorted(bindings):
            pairs = " ".join(f"({name} {term})" for name, term in bindings[deep].items())
            lines.append(f"  (let ({pairs})")
        return "\n".join([*lines, f"  {body}{')' * len(lines)}"])

    # functions --------------------------------------------------------------------------------

    def function(
        self, name: str, takes: Sequence[Constant], roots: Sequence[int], body: str
    ) -> str:
        """A definition of a Bool."""
        takes_text = " ".join(f"({quoted(one.name)} {one.sort})" for one in takes)
        return f"(define-fun {quoted(name)} ({takes_text}) Bool\n{self.bound(roots, body)})"

    def predicate(self, name: str, literals: Sequence[int]) -> str:
        """That all of some literals of the state hold."""
        return self.function(name, self.state, literals, self.conjunction(literals))

    def after(self, name: str, literals: Sequence[int]) -> str:
        """That all of some literals of the state and the inputs hold."""
        takes = [*self.state, *self.inputs]
        return self.function(name, takes, literals, self.conjunction(literals))

    def here(self) -> str:
        """``here``: the state is a quiet moment."""
        return self.predicate("here", self.system.here)

    def init(self) -> str:
        """``init``: the state is a first moment."""
        return self.predicate("init", [*self.system.here, *self.system.first])

    def trans(self) -> str:
        """``trans``: a step leads from the state to the one with primes."""
        return self.step("trans", self.system.there)

    def step(self, name: str, there: Sequence[int]) -> str:
        """That the state with primes is where the inputs lead, and that all of ``there`` hold."""
        system = self.system
        roots = [*there, *(bit.then for bit in system.bits)]
        equal = [f"(= {quoted(bit.name + chr(39))} {self.term(bit.then)})" for bit in system.bits]
        contents: list[tuple[str, str]] = []
        for number, array in enumerate(system.arrays):
            found = quoted(array.name)
            for place, write in enumerate(array.writes):
                roots += [write.when, *write.address, *write.word]
                contents.append((f"m{number}w{place}", self.written(found, write)))
                found = f"m{number}w{place}"
            equal.append(f"(= {quoted(array.name + chr(39))} {found})")
        lets = "".join(f"(let (({name} {term}))\n  " for name, term in contents)
        all_of = ["(and true", self.conjunction(there), *equal]  # one alone is no conjunction
        body = f"{lets}{' '.join(all_of)}){')' * len(contents)}"
        return self.function(name, [*self.state, *self.inputs, *self.primed()], roots, body)

    def primed(self) -> list[Constant]:
        """The state after the step."""
        return [Constant(one.name + "'", one.sort) for one in self.state]

    def written(self, content: str, write: Write) -> str:
        """A memory's content after one of the writes."""
        word = self.vector(tuple(reversed(write.word)))
        stored = f"(store {content} {self.vector(write.address)} {word})"
        return f"(ite {self.term(write.when)} {stored} {content})"

    def goal(self, name: str, goal: Goal) -> list[str]:
        """``NAME at first`` and ``NAME after``."""
        return [
            self.predicate(f"{name} at first", [goal.at_first]),
            self.after(f"{name} after", [goal.after]),
        ]

    # scripts ----------------------------------------------------------------------------------

    def moment(self, number: int, constants: Sequence[Constant]) -> list[Constant]:
        """The constants of one moment, or the inputs of the step to it."""
        return [Constant(f"{one.name}@{number}", one.sort) for one in constants]

    def declared(self, constants: Iterable[Constant]) -> list[str]:
        """Their declarations."""
        return [f"(declare-const {quoted(one.name)} {one.sort})" for one in constants]

    def applied(self, name: str, *constants: Sequence[Constant]) -> str:
        """A function of constants."""
        names = " ".join(quoted(one.name) for group in constants for one in group)
        return f"({quoted(name)} {names})" if names else quoted(name)

    def run(self, steps: int) -> tuple[list[str], Callable[[str, int], str]]:
        """Declarations and assertions of a run from its first moment, of so many steps, and the
        term of a goal (by the name that `goal` had) at one of its moments."""
        states = [self.moment(k, self.state) for k in range(steps + 1)]
        inputs = [self.moment(k, self.inputs) for k in range(steps + 1)]
        lines = self.declared(states[0])
        lines.append(f"(assert {self.applied('init', states[0])})")
        for k in range(1, steps + 1):
            lines += self.declared([*states[k], *inputs[k]])
            lines.append(f"(assert {self.applied('trans', states[k - 1], inputs[k], states[k])})")

        def at(name: str, k: int) -> str:
            if k == 0:
                return self.applied(f"{name} at first", states[0])
            return self.applied(f"{name} after", states[k - 1], inputs[k])

        return lines, at


def smtlib(system: System, title: Sequence[str] = ()) -> str:
    """All definitions of a system as one file; ``title`` are lines of comment.

    What strong operators and assumptions wait for is ``NAME waits K``, K from 1.
    """
    work = Definitions(system)
    lines = [f"; {line}".rstrip() for line in (*title, *EXPLAINED)]
    lines += [f"(set-logic {LOGIC})", work.here(), work.init(), work.trans()]
    for one in system.safety:
        lines += [f"; {one.kind}: {one.name}", *work.goal(one.name, one)]
    for name, waiting in numbered(system.waiting):
        lines += [f"; {name} for {waiting.text}: never for ever", *work.goal(name, waiting)]
    for name, fair in numbered(system.fair):
        lines += [f"; {name} (an assumption): never for ever", *work.goal(name, fair)]
    return "\n".join([*lines, ""])


EXPLAINED = (
    "A state is a quiet moment of the board: one Bool a bit, one array a memory.",
    "here: it is a quiet moment. init: it is a first one. trans: a step leads from it to the state",
    "with primes; the Bools between are what the world chooses in the step.",
    "'NAME at first' holds of a first moment, 'NAME after' of a state and the inputs of a step,",
    "if there NAME is violated (a cover: reached). A proof is an invariant that follows from init,",
    "is kept by trans, and excludes both.",
)
