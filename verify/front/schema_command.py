"""The command `breadproof schema`: the JSON Schemas of files that are read, and of ``--json``."""

from __future__ import annotations

import click

KINDS = ("part", "board", "target", "script", "ports")
PRINTED = ("verify", "check", "compare", "faults", "simulate", "parts", "rules", "wires")
"""Commands that print an object with ``--json``."""
COMPARED = ("compare", "beside", "exported")
"""Of 'compare': two boards, a board beside somebody's Verilog, and beside what was exported."""

EPILOG = """\b
Example:
  breadproof schema board > board.schema.json
      then name this file to your editor as the schema of your board files
  breadproof schema verify
      what 'breadproof verify --json' prints, for programs that read it

A schema knows the form of a file; that pins exist and formulas mean something, only 'verify' and
'parts --check' know.

Exit status: 0, 2 wrong call.
"""


@click.command("schema", epilog=EPILOG)
@click.argument("kind", type=click.Choice((*KINDS, *PRINTED)))
@click.option("--fresh", is_flag=True, help="Make it anew from the program's own tables.")
def command(kind: str, fresh: bool) -> int:
    """Print the JSON Schema (draft 2020-12) of part, board, target or ports files, or scripts.

    Editors complete and check files with it. With the name of a command: the schema of what that
    one prints with --json.
    """
    if kind in PRINTED:
        if fresh:
            raise click.UsageError("--fresh is for the schemas of files that are read.")
        click.echo(_printed(kind), nl=False)
        return 0
    from breadproof.specs.schemas.files import generated, shipped

    click.echo(generated(kind) if fresh else shipped(kind), nl=False)
    return 0


def _printed(command: str) -> str:
    import json
    from importlib.resources import files

    if command == "compare":
        folder = files("breadproof.verify.revisions")
        forms = [
            json.loads(folder.joinpath(f"{name}.schema.json").read_text()) for name in COMPARED
        ]
        title = "What `breadproof compare --json` prints: one of these, by what NEW is."
        whole = {"$schema": forms[0]["$schema"], "title": title, "anyOf": forms}
        return json.dumps(whole, indent=2, ensure_ascii=False) + "\n"
    folder = files("breadproof.verify.report")
    return folder.joinpath(f"{command}.schema.json").read_text("utf-8")
