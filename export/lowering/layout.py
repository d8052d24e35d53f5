"""Laying out generated Python: lines of at most 79 characters (PEP 8), broken at brackets."""

from __future__ import annotations

LIMIT = 79
INDENT = "    "
_OPEN, _CLOSE = "([{", ")]}"
_OPERATORS = (" | ", " & ", " + ")


def lay_out(text: str, depth: int, comment: str = "", *, inside: bool = False) -> list[str]:
    """One statement or list item at an indentation, broken if it is too long.

    ``comment`` stands behind it, or above it if there is no room. A text that stands ``inside`` of
    brackets is broken before its loosest operators; another one inside its last outermost brackets
    that leave room for what is before and behind: at commas, each item on a line of its own, or
    else before operators.
    """
    pad = INDENT * depth
    line = f"{pad}{text}"
    if comment and len(line) + len(comment) + 4 <= LIMIT:
        return [f"{line}  # {comment}"]
    above = _comment(comment, depth) if comment else []
    if len(line) <= LIMIT:
        return [*above, line]
    if inside:
        for operator in _OPERATORS:
            terms = _split(text, (operator,))
            if len(terms) > 1:
                rest = [f"{operator.lstrip()}{term}" for term in terms[1:]]
                return [
                    piece
                    for term in [terms[0], *rest]
                    for piece in lay_out(term, depth, inside=True)
                ]
    pairs = _brackets(text)
    if not pairs:
        return [*above, line]
    room = LIMIT - len(pad)
    fitting = [(a, b) for a, b in pairs if a < room and len(text) - b <= room]
    start, end = fitting[-1] if fitting else pairs[0]
    head, content, tail = text[: start + 1], text[start + 1 : end], text[end:]
    return [*above, f"{pad}{head}", *_content(content, depth + 1), f"{pad}{tail}"]


def _content(text: str, depth: int) -> list[str]:
    """What stands in brackets, an item a line; numbers in rows of 8."""
    items = _split(text, (", ",))
    if all(item.startswith("0x") for item in items):
        rows = [f"{', '.join(items[at : at + 8])}," for at in range(0, len(items), 8)]
        return [f"{INDENT * depth}{row}" for row in rows]
    if len(items) > 1:
        items = [f"{item.removesuffix(',')}," for item in items]
    return [piece for item in items for piece in lay_out(item, depth, inside=True)]


def _comment(text: str, depth: int) -> list[str]:
    lines: list[str] = []
    room = LIMIT - 4 * depth - 6
    for word in text.split():
        if lines and len(lines[-1]) + len(word) + 1 <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return [f"{INDENT * depth}# {line}" for line in lines]


def prose(text: str, depth: int) -> list[str]:
    """A comment of its own, folded."""
    return _comment(text, depth)


def docstring(text: str, depth: int, more: str = "") -> list[str]:
    """A docstring, folded, with ``more`` as its second paragraph; what would end it is replaced."""
    pad = INDENT * depth
    lines = _folded(text, depth)
    lines[0] = f'{pad}"""{lines[0].strip()}'
    if more:
        lines += ["", *_folded(more, depth)]
    if len(lines) == 1 and len(lines[0]) + 3 <= LIMIT:
        return [f'{lines[0]}"""']
    return [*lines, f'{pad}"""']


def _folded(text: str, depth: int) -> list[str]:
    plain = text.replace("\\", "/").replace('"', "'")
    pad = INDENT * depth
    return [f"{pad}{line.lstrip().removeprefix('# ')}" for line in _comment(plain, depth)] or [pad]


def _brackets(text: str) -> list[tuple[int, int]]:
    """The outermost pairs of brackets with something in them."""
    found: list[tuple[int, int]] = []
    level, start = 0, -1
    for place, letter in enumerate(text):
        if letter in _OPEN:
            if level == 0:
                start = place
            level += 1
        elif letter in _CLOSE:
            level -= 1
            if level == 0 and place > start + 1:
                found.append((start, place))
    return found


def _split(text: str, separators: tuple[str, ...]) -> list[str]:
    """The parts between separators that stand outside of brackets."""
    parts: list[str] = []
    level = start = place = 0
    while place < len(text):
        letter = text[place]
        level += (letter in _OPEN) - (letter in _CLOSE)
        hit = next((s for s in separators if level == 0 and text.startswith(s, place)), "")
        if hit:
            parts.append(text[start:place])
            place += len(hit)
            start = place
        else:
            place += 1
    parts.append(text[start:])
    return [part for part in parts if part]
