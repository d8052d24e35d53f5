"""Random constant expressions that are legal in IEEE 1364 and in the formula language."""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from tests.formulas.constants import Vector

BINARY = (
    "||", "&&", "|", "^", "~^", "^~", "&", "==", "!=", "===", "!==", "<", "<=", ">", ">=",
    "<<", ">>", "<<<", ">>>", "+", "-", "*",
)  # fmt: skip
UNARY = ("!", "~", "-", "+", "&", "|", "^", "~&", "~|", "~^", "^~")
MAX_WIDTH = 70


@dataclass
class Writer:
    """Writes expressions; ``used`` counts the operators."""

    random: Random
    vectors: dict[str, Vector]
    used: dict[str, int] = field(default_factory=dict)

    def note(self, what: str) -> None:
        self.used[what] = self.used.get(what, 0) + 1

    def value(self, width: int) -> int:
        """Any value, the extreme ones often."""
        top = (1 << width) - 1
        any_value = self.random.getrandbits(width)
        return self.random.choice((0, 1, top, top >> 1, (top >> 1) + 1, any_value)) & top

    def literal(self, width: int | None = None, *, zero: bool = True) -> str:
        any_width = self.random.randint(1, MAX_WIDTH)
        width = width or self.random.choice((1, 2, 3, 4, 8, 16, 31, 32, 33, 64, 65, any_width))
        value = self.value(width)
        if not (zero or value):
            value = 1
        base, digits = self.random.choice(
            (("h", f"{value:x}"), ("d", f"{value}"), ("b", f"{value:b}"), ("o", f"{value:o}"))
        )
        sign = self.random.choice(("", "", "s"))
        return f"{width}'{sign}{base}{digits}"

    def name(self) -> str:
        name = self.random.choice(sorted(self.vectors))
        vector = self.vectors[name]
        low, high = sorted((vector.left, vector.right))
        a, b = sorted(self.random.randint(low, high) for _ in range(2))
        match self.random.randrange(5):
            case 0:
                self.note("bit")
                return f"{name}[{a}]"
            case 1:
                self.note("part")
                return f"{name}[{b}:{a}]" if vector.left >= vector.right else f"{name}[{a}:{b}]"
            case 2:
                self.note("+:")
                return f"{name}[{a} +: {b - a + 1}]"
            case 3:
                self.note("-:")
                return f"{name}[{b} -: {b - a + 1}]"
            case _:
                return name

    def primary(self) -> str:
        return self.literal() if self.random.randrange(3) else self.name()

    def expr(self, depth: int) -> str:
        if depth == 0 or self.random.randrange(8) == 0:
            return self.primary()
        match self.random.randrange(14):
            case 0 | 1:
                op = self.random.choice(UNARY)
                self.note(f"unary {op}")
                inner = self.expr(depth - 1)
                return f"{op}({inner})"
            case 2:
                self.note("?:")
                test, then, other = (self.loose(depth) for _ in range(3))
                return f"({test} ? {then} : {other})"
            case 3:
                self.note("{}")
                items = [self.expr(depth - 1) for _ in range(self.random.randint(1, 3))]
                return "{" + ", ".join(items) + "}"
            case 4:
                self.note("{{}}")
                return f"{{{self.random.randint(1, 3)}{{{self.expr(depth - 1)}}}}}"
            case 5:
                function = self.random.choice(("$signed", "$unsigned"))
                self.note(function)
                return f"{function}({self.expr(depth - 1)})"
            case 6:
                op = self.random.choice(("/", "%"))
                self.note(op)
                return f"({self.expr(depth - 1)} {op} {self.literal(zero=False)})"
            case 7:
                self.note("**")
                return f"({self.expr(depth - 1)} ** {self.random.randint(0, 6)})"
            case _:
                op = self.random.choice(BINARY)
                self.note(op)
                right = self.loose(depth)
                if op in ("<<", ">>", "<<<", ">>>") and self.random.randrange(3):
                    right = str(self.random.randint(0, MAX_WIDTH + 2))
                text = f"{self.loose(depth)} {op} {right}"
                return text if self.random.randrange(2) else f"({text})"

    def loose(self, depth: int) -> str:
        """An operand, with brackets or left to the precedence of the operators."""
        inner = self.expr(depth - 1)
        return inner if self.random.randrange(3) == 0 else f"({inner})"


def vectors(random: Random) -> dict[str, Vector]:
    """Some vectors, numbered down and up, from zero and not."""
    found = {}
    for number in range(6):
        width, base = random.randint(1, MAX_WIDTH), random.choice((0, 0, 1, 5))
        ends = (base + width - 1, base) if random.randrange(3) else (base, base + width - 1)
        if width == 1:
            ends = (0, 0)
        found[f"v{number}"] = Vector(*ends, random.getrandbits(width))
    return found
