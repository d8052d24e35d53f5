"""All that a proof claims of the chain of a board let loose, as literals (see `rests`)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from breadproof.verify.prove.aig import Aig
from breadproof.verify.prove.cubes import clause_literal, state
from breadproof.verify.prove.engine import Property
from breadproof.verify.prove.frames import Moment
from breadproof.verify.prove.looseframes import LooseFrames
from breadproof.verify.prove.paths import remembered
from breadproof.verify.prove.proof import Clause, Proof, Ranking
from breadproof.verify.prove.ranking import rank_bits, within


@dataclass(frozen=True, slots=True)
class Lost:
    """Something that must not be: ``literal``, after ``moments`` that meet the clauses."""

    literal: int
    moments: int


@dataclass(slots=True)
class LooseQuestion:
    """All that a proof claims of its chain."""

    frames: LooseFrames
    one: Property
    proof: Proof
    depth: int

    def bits(self, moment: Moment) -> dict[str, int]:
        """The state at a moment, with all memories of formulas."""
        machine = self.frames.machine
        return state(machine, machine.logic.monitors, moment)

    def knows_all_bits(self) -> bool:
        """Whether the clauses are about bits of the state alone."""
        known = self.bits(self.frames.moments[0])
        ranked = () if self.proof.ranking is None else self.proof.ranking.bits
        named = [name for clause in self.proof.clauses for name, _ in clause]
        return all(name in known for name in (*named, *ranked))

    def bad(self, moment: int) -> int:
        """The violation at a moment."""
        return self.one.bad(self.frames.moments[moment])

    def met(self, clauses: Sequence[Clause], moment: int) -> int:
        """Whether all clauses hold at a moment."""
        aig, bits = self.frames.aig, self.bits(self.frames.moments[moment])
        return aig.and_([clause_literal(aig, clause, bits) for clause in clauses])

    def allowed(self, moment: int) -> int:
        """Whether all moments up to this one meet the assumptions that are taken."""
        return self.frames.aig.and_(self.frames.allowed[: moment + 1])

    def taken(self, clauses: Sequence[Clause], lost: Lost) -> dict[int, tuple[Clause, ...]]:
        """What is assumed of the moments before something is lost: literals, by clause."""
        found: dict[int, tuple[Clause, ...]] = {}
        for moment in range(lost.moments):
            for clause in clauses:
                literal = self.met([clause], moment)
                found[literal] = (*found.get(literal, ()), clause)
        return found

    def main(self, clauses: Sequence[Clause]) -> Lost:
        """A violation after moments that are good and meet the clauses."""
        aig, steps = self.frames.aig, self.proof.steps
        before = [self.met(clauses, moment) for moment in range(steps)]
        if self.proof.kind == "induction":
            before += [self.bad(moment) ^ 1 for moment in range(steps)]
            before += [self.differ(*pair) for pair in self.proof.apart]
        literal = aig.and_([self.allowed(steps), *before, self.bad(steps)])
        return Lost(literal, steps)

    def kept(self, clauses: Sequence[Clause]) -> Lost:
        """Clauses that are lost after moments that meet them."""
        aig, depth = self.frames.aig, self.depth
        before = [self.met(clauses, moment) for moment in range(depth)]
        lost = self.met(clauses, depth) ^ 1
        return Lost(aig.and_([self.allowed(depth), *before, lost]), depth)

    def fails(self, clauses: Sequence[Clause]) -> int:
        """Whether any question of the proof, with these clauses, fails."""
        aig, initial = self.frames.aig, self.frames.initial
        ways = [self.main(clauses).literal]
        firsts = self.proof.steps if self.proof.kind == "induction" else 1
        for moment in range(firsts):
            ways.append(aig.and_([initial, self.allowed(moment), self.bad(moment)]))
        if clauses:
            ways.append(self.kept(clauses).literal)
            for moment in range(self.depth):
                lost = self.met(clauses, moment) ^ 1
                ways.append(aig.and_([initial, self.allowed(moment), lost]))
        if self.proof.ranking is not None:
            ways += self.waits_for_ever(self.proof.ranking)
        return aig.or_(ways)

    def waits_for_ever(self, ranking: Ranking) -> list[int]:
        """What a ranking excludes: a first moment without a rank, a step that leaves the ranked
        states, and one in which something is still waited for and the rank does not fall, nor stays
        with the assumption that it counts on still waiting."""
        aig, machine, moments = self.frames.aig, self.frames.machine, self.frames.moments[:2]
        bits = [[self.bits(m)[name] for name in ranking.bits] for m in moments]
        inside = [within(aig, one, ranking.states) for one in bits]
        step = [inside[0], self.allowed(1)]
        found = [aig.and_([self.frames.initial, self.allowed(0), inside[0] ^ 1])]
        found.append(aig.and_([*step, inside[1] ^ 1]))
        values = moments[1].values
        counted_on = [
            aig.and2(self.frames.assumed[one.formula.name], values[awaited.node])
            for one in machine.logic.formulas
            if one.kind == "assume"
            for awaited in one.awaited
        ]
        formula = next(f for f in machine.logic.formulas if f.formula.name == self.one.name)
        for awaited, falling in zip(formula.awaited, ranking.falling, strict=True):
            ranks = [rank_bits(aig, one, ranking, falling) for one in bits]
            reasons = [
                aig.and2(_is(aig, ranks[0], rank), counted_on[k])
                for rank, k in enumerate(falling.counts_on)
                if k >= 0
            ]
            may = [_below(aig, ranks[1], ranks[0])]
            may.append(aig.and2(aig.equal(*ranks), aig.or_(reasons)))
            found.append(aig.and_([*step, values[awaited.node], aig.or_(may) ^ 1]))
        return found

    def differ(self, earlier: int, later: int) -> int:
        """Whether two moments are in different states; a memory that was written counts as one."""
        frames = self.frames
        a, b = self.whole_state(earlier), self.whole_state(later)
        moments = frames.moments
        written = [
            write.when
            for number, log in enumerate(frames.memories)
            for write in log.writes[moments[earlier].until[number] : moments[later].until[number]]
        ]
        return frames.aig.or_([frames.aig.equal(a, b) ^ 1, *written])

    def whole_state(self, number: int) -> list[int]:
        """All that later steps depend on, what is let loose included."""
        machine = self.frames.machine
        moment = self.frames.moments[number]
        monitors = remembered(machine, self.one.node)
        bits = state(machine, monitors, moment).values()
        return [*bits, *self.frames.loose_state(number)]


def _is(aig: Aig, word: Sequence[int], number: int) -> int:
    """Whether a word, most significant bit first, is a number."""
    places = reversed(range(len(word)))
    return aig.and_([bit ^ 1 ^ ((number >> k) & 1) for bit, k in zip(word, places, strict=True)])


def _below(aig: Aig, one: Sequence[int], other: Sequence[int]) -> int:
    """Whether a word is less than another, most significant bit first."""
    less = Aig.false
    for a, b in zip(reversed(one), reversed(other), strict=True):
        less = aig.or_([aig.and2(a ^ 1, b), aig.and2(aig.xor(a, b) ^ 1, less)])
    return less
