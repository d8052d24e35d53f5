"""Plain expressions without the parser library: a quick way for what part files are full of.

The grammar is grammar.lark, and the library reads by it. Building its tables takes longer than
loading the parts of a board, and reading by them is slow, so that plain expressions are read here
first: the same precedence (IEEE 1364, 5.1.2), left to right. Whatever is not plainly an expression
(temporal operators, mistakes, odd numbers) is left to the library, which alone finds errors. A test
holds that both give the same trees.
"""

from __future__ import annotations

import re
from typing import cast

from breadproof.specs.formula import syntax as s
from breadproof.specs.formula.numbers import BadNumber, plain_number, sized

_TOKEN = re.compile(
    r"(?P<sized>(?:[0-9][0-9_]*)?[ \t]*'[sS]?[bBoOdDhH][ \t]*[0-9a-fA-FxXzZ?_]+)"
    r"|(?P<space>[ \t\r\n]+)"
    r"|(?P<decimal>[0-9][0-9_]*)"
    r"|(?P<name>[A-Za-z_][A-Za-z0-9_]*(?:\.[A-Za-z0-9_]+)*)"
    r"|(?P<sign>\|\||&&|===|!==|==|!=|<<<|>>>|<<|>>|<=|>=|\*\*|~&|~\||~\^|\^~|\+:|-:"
    r"|[-+*/%&|^~!<>?:()\[\]{},])"
)
_KEYWORDS = frozenset(("always", "never", "until", "before", "next", "eventually"))
_TEMPORAL = ("->", "@", "<>", "<-")
_LEVELS: tuple[tuple[str, ...], ...] = (
    ("||",), ("&&",), ("|",), ("^", "~^", "^~"), ("&",), ("==", "!=", "===", "!=="),
    ("<", "<=", ">", ">="), ("<<", ">>", "<<<", ">>>"), ("+", "-"), ("*", "/", "%"), ("**",),
)  # fmt: skip
_BINDS = {sign: level for level, signs in enumerate(_LEVELS) for sign in signs}
_UNARY = frozenset(("!", "~", "-", "+", "&", "|", "^", "~&", "~|", "~^", "^~"))
MAX_DEPTH = 40
"""Deeper nesting is left to the library, which has a message for it."""

_Token = tuple[str, str, int, int]
_Read = tuple[s.Expr, int, int]
"""An expression, and where its text begins and ends, with the brackets around it."""


class _Leave(Exception):
    """This is nothing for the quick way."""


def quick(text: str) -> s.Expr | None:
    """The tree of a plain expression; None for everything else, mistakes included."""
    if any(sign in text for sign in _TEMPORAL):
        return None
    try:
        reader = _Reader(_tokens(text))
        found, _, _ = reader.conditional()
        reader.end()
    except (_Leave, BadNumber):
        return None
    return found


def _tokens(text: str) -> list[_Token]:
    found: list[_Token] = []
    at = 0
    while at < len(text):
        match = _TOKEN.match(text, at)
        if match is None or match[0] in _KEYWORDS:
            raise _Leave
        at = match.end()
        if match.lastgroup != "space":
            found.append((str(match.lastgroup), match[0], match.start(), at))
    found.append(("end", "", len(text), len(text)))
    return found


class _Reader:
    """Reads one expression from its tokens, by precedence climbing."""

    def __init__(self, tokens: list[_Token]) -> None:
        self.tokens = tokens
        self.at = 0
        self.depth = 0

    def sign(self) -> str:
        """The sign that is next, "" for anything else."""
        kind, text, _, _ = self.tokens[self.at]
        return text if kind == "sign" else ""

    def take(self, sign: str) -> int:
        """Step over a sign that must be next; where it ends."""
        if self.sign() != sign:
            raise _Leave
        self.at += 1
        return self.tokens[self.at - 1][3]

    def end(self) -> None:
        if self.tokens[self.at][0] != "end":
            raise _Leave

    def conditional(self) -> _Read:
        self.depth += 1
        if self.depth > MAX_DEPTH:
            raise _Leave
        found = self.binary(0)
        if self.sign() == "?":
            self.at += 1
            test, start, _ = found
            then, _, _ = self.conditional()
            self.take(":")
            other, _, end = self.conditional()
            stretch = s.Stretch(start=start, end=end)
            whole = s.Conditional(test=test, then=then, other=other, stretch=stretch)
            found = whole, start, end
        self.depth -= 1
        return found

    def binary(self, loosest: int) -> _Read:
        left, start, end = self.unary()
        while (level := _BINDS.get(self.sign(), -1)) >= loosest:
            sign = self.sign()
            self.at += 1
            right, _, end = self.binary(level + 1)
            left = s.Binary(
                op=cast(s.BinaryOp, "~^" if sign == "^~" else sign),
                left=left,
                right=right,
                stretch=s.Stretch(start=start, end=end),
            )
        return left, start, end

    def unary(self) -> _Read:
        sign = self.sign()
        if sign not in _UNARY:
            return self.primary()
        start = self.tokens[self.at][2]
        self.at += 1
        self.depth += 1
        if self.depth > MAX_DEPTH:
            raise _Leave
        operand, _, end = self.unary()
        self.depth -= 1
        op = cast(s.UnaryOp, "~^" if sign == "^~" else sign)
        return s.Unary(op=op, operand=operand, stretch=s.Stretch(start=start, end=end)), start, end

    def primary(self) -> _Read:
        kind, text, start, end = self.tokens[self.at]
        found: s.Expr
        if kind == "name":
            self.at += 1
            if self.sign() == "(":
                found, end = self.call(text, start)
            else:
                found = s.Name(path=text, stretch=s.Stretch(start=start, end=end))
        elif kind in ("sized", "decimal"):
            self.at += 1
            read = sized if kind == "sized" else plain_number
            found = read(text, s.Stretch(start=start, end=end))
        elif text == "(":
            self.at += 1
            found, _, _ = self.conditional()
            end = self.take(")")
        elif text == "{":
            found, end = self.braces(start)
        else:
            raise _Leave
        while self.sign() == "[":
            found, end = self.brackets(found, start)
        return found, start, end

    def call(self, function: str, start: int) -> tuple[s.Expr, int]:
        self.at += 1
        arguments = () if self.sign() == ")" else self.list()
        end = self.take(")")
        stretch = s.Stretch(start=start, end=end)
        return s.Call(function=function, arguments=arguments, stretch=stretch), end

    def list(self) -> tuple[s.Expr, ...]:
        found = [self.conditional()[0]]
        while self.sign() == ",":
            self.at += 1
            found.append(self.conditional()[0])
        return tuple(found)

    def braces(self, start: int) -> tuple[s.Expr, int]:
        """``{a, b}`` or ``{4{a, b}}``."""
        self.at += 1
        items = self.list()
        times = None
        if self.sign() == "{" and len(items) == 1:
            self.at += 1
            times, items = items[0], self.list()
            self.take("}")
        end = self.take("}")
        return s.Concat(items=items, times=times, stretch=s.Stretch(start=start, end=end)), end

    def brackets(self, base: s.Expr, start: int) -> tuple[s.Expr, int]:
        """``base[3]``, ``base[3:0]``, ``base[n +: 4]``."""
        self.at += 1
        at, _, _ = self.conditional()
        middle = self.sign()
        if middle == "]":
            end = self.take("]")
            return s.Index(base=base, at=at, stretch=s.Stretch(start=start, end=end)), end
        if middle not in (":", "+:", "-:"):
            raise _Leave
        self.at += 1
        other, _, _ = self.conditional()
        end = self.take("]")
        stretch = s.Stretch(start=start, end=end)
        if middle == ":":
            return s.Part(base=base, left=at, right=other, stretch=stretch), end
        return s.Slide(base=base, at=at, width=other, down=middle == "-:", stretch=stretch), end
