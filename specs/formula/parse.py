"""From formula text to tree, with the parser library; every error names the place."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any, cast

from lark import Lark, Token, Transformer, v_args
from lark.exceptions import UnexpectedCharacters, UnexpectedEOF, UnexpectedInput, VisitError

from breadproof.specs.formula import syntax as s
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
        if isinstance(error.orig_exc, _BadNumber):
            wrong = error.orig_exc
            raise _bad(text, wrong.at, wrong.length, wrong.message, wrong.hint) from None
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


def _unexpected(text: Text, error: UnexpectedInput) -> BadInput:
    position: int | None = getattr(error, "pos_in_stream", None)
    offset = len(text.value) if position is None else position
    if isinstance(error, UnexpectedCharacters):
        hint = "Names are letters, digits and _; operators are those of IEEE 1364 and IEEE 1850."
        if text.value[offset] == "=":
            hint = "Equality is written == ."
        return _bad(text, offset, 1, f"'{text.value[offset]}' does not belong in a formula", hint)
    token = getattr(error, "token", None)
    if token is None or token.type == "$END":
        return _bad(
            text, len(text.value), 1, "the formula ends too early", "Close brackets, add operands."
        )
    hint = "Look just before this place for a missing operator, operand or bracket."
    return _bad(text, offset, len(token), f"'{token}' cannot stand here", hint)


class _BadNumber(Exception):
    def __init__(self, token: Token, message: str, hint: str) -> None:
        super().__init__(message)
        self.at = token.start_pos or 0
        self.length = len(token)
        self.message = message
        self.hint = hint


MAX_DIGITS = 1100
"""Longer constants are refused; 4096 bits are 1024 hexadecimal digits."""


def _checked(token: Token) -> str:
    """The token without its underscores. Raises `_BadNumber` if it is absurdly long."""
    text = token.replace("_", "")
    if len(text) > MAX_DIGITS:
        raise _BadNumber(token, "the number is too long", "Widths are 1 to 4096 bits; use hex.")
    return text


_BASES = {"b": 2, "o": 8, "d": 10, "h": 16}


def _sized(token: Token, stretch: s.Stretch) -> s.Number:
    """A based constant (IEEE 1364, 3.5.1)."""
    size, _, rest = _checked(token).replace(" ", "").replace("\t", "").partition("'")
    signed = rest[0] in "sS"
    rest = rest[1:] if signed else rest
    base, digits = _BASES[rest[0].lower()], rest[1:]
    if any(digit in "xXzZ?" for digit in digits):
        raise _BadNumber(
            token,
            "x and z are no levels of a wire",
            "A formula speaks of 0 and 1; use floats(net) or fights(net) for the rest.",
        )
    try:
        value = int(digits, base)
    except ValueError:
        raise _BadNumber(
            token,
            f"'{digits}' is no number of base {base}",
            "b takes 0 and 1, o 0 to 7, d 0 to 9, h 0 to 9 and a to f.",
        ) from None
    width = int(size) if size else None
    if width is not None and not 1 <= width <= 4096:
        raise _BadNumber(token, f"a width of {width} bits", "Widths are 1 to 4096 bits.")
    bits = 32 if width is None else width
    if value >> bits:
        raise _BadNumber(
            token, f"{token} does not fit in {bits} bits", "Give it more bits, or a smaller value."
        )
    return s.Number(value=value, width=width, signed=signed, stretch=stretch)


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
        count = int(_checked(items[0]))
        if count > 64:
            raise _BadNumber(items[0], f"next[{count}] looks too far", "At most next[64].")
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
        return _sized(items[0], self._at(meta))

    def decimal(self, meta: Any, items: list[Any]) -> s.Expr:
        value = int(_checked(items[0]))
        if value >> 32:
            raise _BadNumber(items[0], f"{value} does not fit in 32 bits", "Write 40'd123… .")
        return s.Number(value=value, width=None, signed=True, stretch=self._at(meta))

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
