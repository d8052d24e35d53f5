"""The command `breadproof schema`: the JSON Schema of part, board and target files."""

from __future__ import annotations

import click

KINDS = ("part", "board", "target")

EPILOG = """\b
Example:
  breadproof schema board > board.schema.json
      then name this file to your editor as the schema of your board files

A schema knows the form of a file; that pins exist and formulas mean something, only 'verify' and
'parts --check' know.
"""


@click.command("schema", epilog=EPILOG)
@click.argument("kind", type=click.Choice(KINDS))
@click.option("--fresh", is_flag=True, help="Make it anew from the program's own tables.")
def command(kind: str, fresh: bool) -> int:
    """Print the JSON Schema (draft 2020-12) of part, board or target files.

    Editors complete and check files with it.
    """
    from breadproof.specs.schemas.files import generated, shipped

    click.echo(generated(kind) if fresh else shipped(kind), nl=False)
    return 0
