"""The pages of the manual about commands, from what click knows of them."""

from __future__ import annotations

import textwrap

import click

from breadproof.verify.manual.page import Page, fenced, item, paragraph, table
from breadproof.verify.manual.written import introduction

PROGRAM = "breadproof"
STATUSES = "Exit status"


def command_pages(group: click.Group) -> list[Page]:
    """One page for the program, and one for each command, in the order of the table."""
    above = click.Context(group, info_name=PROGRAM)
    names = group.list_commands(above)
    found = [(name, group.get_command(above, name)) for name in names]
    commands = [(name, command) for name, command in found if command is not None]
    pages = [_page(name, command, above, names) for name, command in commands]
    return [_program(pages), *pages]


def _program(pages: list[Page]) -> Page:
    text = introduction()
    rows = [(f"[{page.name}]({page.name}.md)", f"{page.says}.") for page in pages]
    text = text.replace("<!-- commands -->", table(("command", "what it does"), rows).rstrip())
    says = text.partition("\n")[0].removeprefix("# ").partition(": ")[2]
    return Page(name=PROGRAM, group="command", says=says, text=text)


def _page(name: str, command: click.Command, above: click.Context, names: list[str]) -> Page:
    context = click.Context(command, info_name=name, parent=above)
    help_text = textwrap.dedent(command.help or "").strip()
    usage = " ".join(command.collect_usage_pieces(context))
    text = f"# {PROGRAM} {name}\n\n{fenced(f'{PROGRAM} {name} {usage}'.rstrip())}\n"
    text += "\n".join(map(paragraph, help_text.split("\n\n")))
    aside, examples, status = _epilog(command.epilog or "")
    text += "".join(f"\n{part}" for part in aside)
    text += f"\n## Options\n\n{_options(command, context)}\n"
    if examples:
        text += f"\n## Examples\n\n{''.join(examples)}"
    text += f"\n## {STATUSES}\n\n{paragraph(status)}" if status else ""
    # The program's own page tells what the numbers mean for every command.
    others = [one for one in names if one != name and f"{PROGRAM} {one}" in _words(command)]
    links = ", ".join(f"[{one}]({one}.md)" for one in [PROGRAM, *others])
    says = (command.short_help or "").rstrip(".")
    return Page(name=name, group="command", says=says, text=f"{text}\n## See also\n\n{links}\n")


def _words(command: click.Command) -> str:
    said = [command.help or "", command.epilog or ""]
    said += [str(getattr(one, "help", "") or "") for one in command.params]
    return " ".join(" ".join(said).split())


def _options(command: click.Command, context: click.Context) -> str:
    options = [one for one in command.get_params(context) if isinstance(one, click.Option)]
    records = [record for one in options if (record := one.get_help_record(context)) is not None]
    return "\n".join(item(f"`{form}`: {says}") for form, says in records)


def _epilog(epilog: str) -> tuple[list[str], list[str], str]:
    """What stands under the options: in Markdown what is said aside, the examples, the statuses."""
    aside: list[str] = []
    examples: list[str] = []
    status = ""
    for part in textwrap.dedent(epilog).strip().split("\n\n"):
        kept = part.startswith("\b\n")
        lines = part.removeprefix("\b\n").replace("\b\n", "\n")
        head, _, rest = lines.partition("\n")
        if lines.startswith(f"{STATUSES}: "):
            status = lines.removeprefix(f"{STATUSES}: ")
        elif kept and head in ("Example:", "Examples:"):
            more, _, after = rest.partition(f"\n{STATUSES}")
            examples.append(fenced(textwrap.dedent(more)))
            status = status or after.removeprefix(": ")
        elif kept and examples:
            examples.append("\n" + fenced(textwrap.dedent(lines)))
        elif kept:
            aside.append(fenced(lines))
        elif lines:
            aside.append(paragraph(lines))
    return aside, examples, status
