"""From formula text to tree, with the parser library; every error names the place."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar, cast

from lark import Lark, Token, Transformer, v_args
from lark.exceptions import UnexpectedCharacters, UnexpectedEOF, UnexpectedInput, VisitError

from breadproof.specs.formula import syntax as s
from breadproof.specs.formula.numbers import BadNumber, digits, plain_number, sized
from breadproof.specs.formula.quick import quick
from breadproof.specs.reading.diagnostics import BadInput, Diagnostic, Span
from breadproof.specs.reading.yamltree import Text

MAX_FORMULA = 20_000
MAX_NESTING = 100
"""Deeper nesting is refused: a formula of a board needs five levels."""


@cache
def _parser() -> Lark:
    grammar = files("breadproof.specs.formula").joinpath("grammar.lark").read_text("utf-8")
    return Lark(grammar, parser="lalr", propagate_positions=True, maybe_placeholders=False)


def parse(source: Text | str) -> s.Expr:
    """The tree of a formula; a plain string is for formulas that stand in no file.

    Raises:
        BadInput: the text is no formula; with a caret under the place.
    """
    text = plain(source) if isinstance(source, str) else source
    nesting = 0
    for offset, character in enumerate(text.value):
        nesting += (character in "([{") - (character in ")]}")
        if nesting > MAX_NESTING or offset > MAX_FORMULA:
            raise _bad(text, offset, 1, "the formula is too deep or too long", "Split it in two.")
    if not text.value.strip():
        raise _bad(text, 0, 1, "the formula is empty", "Write one, or remove the entry.")
    return quick(text.value) or _whole(text)


def _whole(text: Text) -> s.Expr:
    """The tree of any formula, by the grammar."""
    try:
        tree = _parser().parse(text.value)
        return cast(s.Expr, _Builder().transform(tree))
    except UnexpectedEOF:
        raise _bad(
            text, len(text.value), 1, "the formula ends too early", "Close brackets, add operands."
        ) from None
    except UnexpectedInput as error:
        raise _unexpected(text, error) from None
    except VisitError as error:
        if isinstance(error.orig_exc, RecursionError):
            raise _bad(text, 0, 1, "the formula is too deep", "Split it in two.") from None
        if isinstance(error.orig_exc, _BadToken):
            wrong, token = error.orig_exc.wrong, error.orig_exc.token
            start = token.start_pos or 0
            raise _bad(text, start, len(token), wrong.message, wrong.hint) from None
        raise
    except RecursionError:
        raise _bad(text, 0, 1, "the formula is too deep", "Split it in two.") from None


def plain(value: str, file: str = "<formula>") -> Text:
    """A `Text` for a formula that stands in no file."""
    lines = tuple(value.split("\n"))
    places = tuple(
        (row + 1, column + 1) for row, line in enumerate(lines) for column in range(len(line) + 1)
    )
    return Text(
        value=value,
        span=Span(file=file, line=1, column=1, length=max(1, len(lines[0])), text=lines[0]),
        places=places,
        lines=lines,
    )


def _bad(text: Text, offset: int, length: int, message: str, hint: str) -> BadInput:
    return BadInput(
        [
            Diagnostic(
                code="formula-syntax", message=message, span=text.at(offset, length), hint=hint
            )
        ]
    )


HINTS = {
    "=": "Equality is written == .",
    "=>": "'a => b' is written a -> b; at least is >= .",
    "and": "'a and b' is written a && b.",
    "or": "'a or b' is written a || b.",
    "not": "'not a' is written !a.",
    "xor": "'a xor b' is written a ^ b.",
    "if": "'if a then b' is written a -> b.",
    "then": "'if a then b' is written a -> b.",
    "implies": "'a implies b' is written a -> b.",
    "is": "'a is b' is written a == b.",
    "when": "'b when a' is written a -> b.",
    "while": "'b while a' is written a -> b.",
    "eventually": "It is written with its mark: eventually! a.",
    "<>": "Different is written != .",
}
"""What people write, from other languages, and how it is written here."""
OPERATORS = ("always", "before", "never", "next", "until")
WORD = re.compile(r"[A-Za-z_][A-Za-z0-9_]*|==|=>|<>|=")
NUMBER = re.compile(r"(?P<width>[0-9]+)(?P<base>[bodhBODHxX])(?P<digits>[0-9A-Fa-f]+)")


def _way_out(text: str, offset: int) -> str:
    """A hint by the word at a place, or by the one before it; "" if it is none of the usual."""
    for found in NUMBER.finditer(text):
        if found.start() < offset < found.end():
            base, digits_ = found["base"].lower().replace("x", "h"), found["digits"]
            width = found["width"] if int(found["width"]) else str(4 * len(digits_))
            return f"A number with a width is written {width}'{base}{digits_}."
    found_words = {word.start(): word for word in WORD.finditer(text)}
    ends = {word.end(): word for word in found_words.values() if word.group().isalpha()}
    before = ends.get(len(text[:offset].rstrip()))
    for word in (found_words.get(offset), found_words.get(offset - 1), before):
        if word is not None and word.group().lower() in HINTS:
            return HINTS[word.group().lower()]
    for word in (found_words.get(offset), before):
        if word is not None and word.group() in OPERATORS:
            return (
                f"'{word.group()}' is an operator; if a net is called so, name one of its pins "
                "here, such as U5.11, or call it otherwise."
            )
    return ""


def _unexpected(text: Text, error: UnexpectedInput) -> BadInput:
    position: int | None = getattr(error, "pos_in_stream", None)
    offset = len(text.value) if position is None else position
    if isinstance(error, UnexpectedCharacters):
        hint = _way_out(text.value, offset) or (
            "Names are letters, digits and _; operators are those of IEEE 1364 and IEEE 1850."
        )
        return _bad(text, offset, 1, f"'{text.value[offset]}' does not belong in a formula", hint)
    token = getattr(error, "token", None)
    if token is None or token.type == "$END":
        return _bad(
            text, len(text.value), 1, "the formula ends too early", "Close brackets, add operands."
        )
    hint = _way_out(text.value, offset) or (
        "Look just before this place for a missing operator, operand or bracket."
    )
    return _bad(text, offset, len(token), f"'{token}' cannot stand here", hint)


class _BadToken(Exception):
    """A constant that means nothing, and its token."""

    def __init__(self, token: Token, wrong: BadNumber) -> None:
        super().__init__(wrong.message)
        self.token = token
        self.wrong = wrong


_Made = TypeVar("_Made")


def _number(token: Token, read: Callable[[], _Made]) -> _Made:
    try:
        return read()
    except BadNumber as wrong:
        raise _BadToken(token, wrong) from None


@v_args(meta=True)
class _Builder(Transformer[Token, Any]):
    """One method a grammar alternative."""

    @staticmethod
    def _at(meta: Any) -> s.Stretch:
        return s.Stretch(start=meta.start_pos, end=meta.end_pos)

    def start(self, meta: Any, items: list[Any]) -> s.Expr:
        return cast(s.Expr, items[0])

    def group(self, meta: Any, items: list[Any]) -> s.Expr:
        return cast(s.Expr, items[0])

    def always(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Always(operand=items[0], never=False, stretch=self._at(meta))

    def never(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Always(operand=items[0], never=True, stretch=self._at(meta))

    def implies(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Implies(left=items[0], right=items[1], both=False, stretch=self._at(meta))

    def iff(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Implies(left=items[0], right=items[1], both=True, stretch=self._at(meta))

    def _ordering(self, meta: Any, items: list[Any], kind: Any, strong: bool) -> s.Expr:
        return s.Ordering(
            kind=kind, strong=strong, left=items[0], right=items[-1], stretch=self._at(meta)
        )

    def until(self, meta: Any, items: list[Any]) -> s.Expr:
        return self._ordering(meta, items, "until", False)

    def until_strong(self, meta: Any, items: list[Any]) -> s.Expr:
        return self._ordering(meta, items, "until", True)

    def before(self, meta: Any, items: list[Any]) -> s.Expr:
        return self._ordering(meta, items, "before", False)

    def before_strong(self, meta: Any, items: list[Any]) -> s.Expr:
        return self._ordering(meta, items, "before", True)

    def next_one(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Next(count=1, operand=items[0], stretch=self._at(meta))

    def next_many(self, meta: Any, items: list[Any]) -> s.Expr:
        count = int(_number(items[0], lambda: digits(items[0])))
        if count > 64:
            wrong = BadNumber(f"next[{count}] looks too far", "At most next[64].")
            raise _BadToken(items[0], wrong)
        return s.Next(count=count, operand=items[1], stretch=self._at(meta))

    def eventually(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Eventually(operand=items[-1], stretch=self._at(meta))

    def clocked(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Clocked(operand=items[0], event=items[1], stretch=self._at(meta))

    def conditional(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Conditional(test=items[0], then=items[1], other=items[2], stretch=self._at(meta))

    def binary(self, meta: Any, items: list[Any]) -> s.Expr:
        op = "~^" if items[1] == "^~" else str(items[1])
        return s.Binary(
            op=cast(s.BinaryOp, op), left=items[0], right=items[2], stretch=self._at(meta)
        )

    def unary(self, meta: Any, items: list[Any]) -> s.Expr:
        op = "~^" if items[0] == "^~" else str(items[0])
        return s.Unary(op=cast(s.UnaryOp, op), operand=items[1], stretch=self._at(meta))

    def sized(self, meta: Any, items: list[Any]) -> s.Expr:
        return _number(items[0], lambda: sized(items[0], self._at(meta)))

    def decimal(self, meta: Any, items: list[Any]) -> s.Expr:
        return _number(items[0], lambda: plain_number(items[0], self._at(meta)))

    def name(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Name(path=str(items[0]), stretch=self._at(meta))

    def index(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Index(base=items[0], at=items[1], stretch=self._at(meta))

    def part(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Part(base=items[0], left=items[1], right=items[2], stretch=self._at(meta))

    def _slide(self, meta: Any, items: list[Any], down: bool) -> s.Expr:
        return s.Slide(
            base=items[0], at=items[1], width=items[3], down=down, stretch=self._at(meta)
        )

    def upward(self, meta: Any, items: list[Any]) -> s.Expr:
        return self._slide(meta, items, False)

    def downward(self, meta: Any, items: list[Any]) -> s.Expr:
        return self._slide(meta, items, True)

    def call(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Call(function=str(items[0]), arguments=tuple(items[1:]), stretch=self._at(meta))

    def concat(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Concat(items=tuple(items), times=None, stretch=self._at(meta))

    def repeat(self, meta: Any, items: list[Any]) -> s.Expr:
        return s.Concat(items=tuple(items[1:]), times=items[0], stretch=self._at(meta))
