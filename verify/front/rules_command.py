"""The command `breadproof rules`: the list of wiring rules, or one rule's page and boards."""

import json

import click

from breadproof.completing import rule_codes
from breadproof.specs.reading.yamltree import near
from breadproof.verify.wiring.pages import load_page
from breadproof.verify.wiring.registry import RULES, Rule, rule

_COLOURS = {"error": "red", "warning": "yellow", "note": "blue"}


EPILOG = """\b
Examples:
  breadproof rules                       all rules, with the weight that a finding may have
  breadproof rules input-open            what one means, what is seen at the bench, how to mend it,
                                         a board with this fault, and the same board mended

Exit status: 0, 2 wrong call.
"""


@click.command("rules", epilog=EPILOG)
@click.argument("code", required=False, shell_complete=rule_codes)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
def command(code: str | None, as_json: bool) -> int:
    """List the wiring rules, or explain the rule CODE: what it means, what is seen, the way out."""
    if code is None:
        _list(as_json)
        return 0
    entry = rule(code)
    if entry is None:
        hint = near(code, [known.code for known in RULES]) or "'breadproof rules' lists them all."
        raise click.BadParameter(f"there is no rule '{code}'. {hint}", param_hint="CODE")
    _explain(entry, as_json)
    return 0


def _list(as_json: bool) -> None:
    if as_json:
        click.echo(
            json.dumps({"schema": 1, "rules": [_fields(entry) for entry in RULES]}, indent=2)
        )
        return
    width = max(len(entry.code) for entry in RULES)
    for entry in RULES:
        severity = entry.severity.value
        shown = click.style(f"{severity:<7}", fg=_COLOURS[severity])
        click.echo(f"{entry.code:<{width}}  {shown}  {entry.title}")


def _explain(entry: Rule, as_json: bool) -> None:
    page = load_page(entry.code)
    if as_json:
        boards = {"page": page.text, "fires": page.fires, "quiet": page.quiet}
        click.echo(json.dumps({"schema": 1, **_fields(entry), **boards}, indent=2))
        return
    click.echo(page.text.rstrip())
    for title, board in (
        ("A board with this fault", page.fires),
        ("The same board, mended", page.quiet),
    ):
        click.echo(f"\n## {title}\n")
        click.echo("\n".join(f"    {line}".rstrip() for line in board.rstrip().splitlines()))


def _fields(entry: Rule) -> dict[str, str]:
    return {"code": entry.code, "severity": entry.severity.value, "title": entry.title}
