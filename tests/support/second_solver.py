"""bitwuzla, an SMT solver that shares nothing with z3, asked in SMT-LIB 2."""

from __future__ import annotations

import bitwuzla


def answer(script: str) -> str:
    """``sat`` or ``unsat`` for a script; its own ``(check-sat)`` is not printed but asked here."""
    commands = script.replace("(check-sat)", "")
    options = bitwuzla.Options()
    parser = bitwuzla.Parser(bitwuzla.TermManager(), options)
    parser.parse(commands, True, False)
    return str(parser.bitwuzla().check_sat())


def assertions(script: str) -> list[str]:
    """The lines of a question that assert something and define nothing."""
    return [
        line for line in script.splitlines() if line.startswith("(assert ") and "(= v" not in line
    ]


def without_last(script: str) -> str:
    """The question without its last assertion: what is asked for is then only a run."""
    last = assertions(script)[-1]
    head, _, tail = script.rpartition(last + "\n")
    return head + tail


def turned_round(script: str) -> str:
    """The question with its last assertion inverted: what is proved, instead of its violation."""
    last = assertions(script)[-1]
    term = last.removeprefix("(assert ").removesuffix(")")
    head, _, tail = script.rpartition(last + "\n")
    return f"{head}(assert (not {term}))\n{tail}"
