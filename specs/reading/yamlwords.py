"""What PyYAML finds wrong with a file, for somebody who does not know how YAML is parsed."""

from __future__ import annotations

import re
from dataclasses import dataclass

import yaml

QUOTE = (
    "Check indentation, colons and brackets here; quote a formula that has ': ' or ' #' in it, "
    "begins with ! { [ & * or %, or has [ ] or , inside braces."
)
COLUMNS = "Lines of one level begin in the same column; those of a list begin with '- '."
LIKE_ABOVE = "Write 'name: value' above, too, and begin lines of one level in the same column."
START = re.compile("found character (.+) that cannot start any token")
WANTED = re.compile("expected ',' or '(.)', but got ")
END = re.compile("expected <block end>, but found '(.+)'")

RANGED = re.compile(r"[\w./]+$")
IN_BRACKETS = re.compile(r"\[[^\[\]\n]*\]")

LINES = ("?", "-", "<block mapping start>", "<block sequence start>")
"""With these an entry of a table or of a list begins."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A character of a text, from 0."""

    index: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Wrong:
    """What is wrong, where, and what was begun before, by name."""

    message: str
    hint: str
    mark: Mark
    begun: tuple[tuple[str, Mark], ...] = ()


def in_words(error: yaml.MarkedYAMLError, text: str) -> Wrong:
    """The words for an error of PyYAML's parser in a text."""
    problem, context = str(error.problem or ""), str(error.context or "")
    first = None if error.context_mark is None else Mark(index=error.context_mark.index)
    last = first if error.problem_mark is None else Mark(index=error.problem_mark.index)
    here = last or Mark(index=0)
    begun = first or here
    if found := START.match(problem):
        if found[1] == r"'\t'":
            return Wrong(message="a tab stands here", hint="Indent with blanks.", mark=here)
        return Wrong(
            message=f"no value begins with {found[1]}", hint="Put it in quotes.", mark=here
        )
    if problem == "mapping values are not allowed here":
        return _colon(here, text)
    if problem == "could not find expected ':'":
        return Wrong(
            message="a ':' is missing in this line", hint="Write 'name: value'.", mark=begun
        )
    if found := WANTED.match(problem):
        kind = "list" if found[1] == "]" else "table"
        message = f"a ',' or the '{found[1]}' of a {kind} is missing here"
        begins = ((f"the {kind} begins here", begun),)
        return Wrong(message=message, hint=_bracketed(here, text), mark=here, begun=begins)
    if found := END.match(problem):
        if found[1] in "]}":
            message = f"this '{found[1]}' closes nothing"
            return Wrong(message=message, hint="Remove it, or open what it closes.", mark=here)
        if found[1] == "<scalar>":
            message = "something stands behind a value that has ended"
            return Wrong(message=message, hint="Put the whole value in quotes.", mark=here)
        if found[1] in LINES:
            level = ("those begin here", begun)
            message = "this line does not fit in with those above"
            return Wrong(message=message, hint=COLUMNS, mark=here, begun=(level,))
    told = " ".join(part for part in (problem, context) if part)
    return _unended(problem, context, text, here, begun) or Wrong(
        message=told, hint=QUOTE, mark=here
    )


def _bracketed(here: Mark, text: str) -> str:
    """What to do where a table or list in brackets goes wrong: a name with brackets of its own
    (``q[1:0]``) has to be quoted there."""
    before = RANGED.search(text[: here.index])
    behind = IN_BRACKETS.match(text, here.index)
    if before is None or behind is None:
        return QUOTE
    return f'In braces and brackets a name like this is quoted: "{before[0]}{behind[0]}".'


def _unended(problem: str, context: str, text: str, here: Mark, begun: Mark) -> Wrong | None:
    """What was begun, or seems to be, and does not end."""
    if "quoted scalar" in context and "end of stream" in problem:
        return Wrong(message="this quotation mark is not closed", hint="Close it.", mark=begun)
    if context in ("while scanning an anchor", "while scanning an alias"):
        sign = text[begun.index : begun.index + 1]
        message = f"'{sign}' begins something else in YAML"
        return Wrong(message=message, hint="Put the whole value in quotes.", mark=begun)
    if context == "while parsing a flow node" and "stream end" in problem:
        return Wrong(message="the file ends inside brackets", hint="Close them.", mark=here)
    return None


def _colon(here: Mark, text: str) -> Wrong:
    """A ': ' where none may stand: the second one of a line, or in a line that goes on with the
    one above."""
    start = text.rfind("\n", 0, here.index) + 1
    if ": " in text[start : here.index]:
        return Wrong(message="a second ': ' stands in this line", hint=QUOTE, mark=here)
    above = text[:start].rstrip()
    line = above[above.rfind("\n") + 1 :]
    place = len(above) - len(line.lstrip())
    return Wrong(
        message="this ': ' stands in a line that goes on with the one above",
        hint=LIKE_ABOVE,
        mark=here,
        begun=(("the line above", Mark(index=place)),) if above else (),
    )
