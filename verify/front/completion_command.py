"""The command `breadproof completion`: what a shell has to read to complete words."""

from __future__ import annotations

import click

EPILOG = """\b
Bash: put this line into ~/.bashrc
  eval "$(breadproof completion bash)"
Zsh: put these lines into ~/.zshrc (the first is there in most)
  autoload -Uz compinit && compinit
  eval "$(breadproof completion zsh)"
Fish: once
  breadproof completion fish > ~/.config/fish/completions/breadproof.fish

After that the tabulator key completes commands, options, files, numbers of parts
(breadproof parts 74LS1), rules, pages of the manual, and names of formulas
(breadproof verify BOARD --only).

Exit status: 0, 2 wrong call.
"""


@click.command("completion", epilog=EPILOG)
@click.argument("shell", type=click.Choice(("bash", "zsh", "fish")))
def command(shell: str) -> int:
    """Print what SHELL has to read to complete words after 'breadproof'."""
    from click.shell_completion import get_completion_class

    from breadproof.completing import VARIABLE

    found = get_completion_class(shell)
    if found is None:
        raise AssertionError(f"click knows no {shell}")
    # The program itself is not needed for it: the text names it alone.
    maker = found(click.Group("breadproof"), {}, "breadproof", VARIABLE)
    click.echo(maker.source_template % maker.source_vars(), nl=False)
    return 0
