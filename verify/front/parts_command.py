"""The command `breadproof parts`: the list of parts, or one part's pin-out and function."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from breadproof.specs.catalogue.catalogue import Catalogue
    from breadproof.specs.catalogue.part import PartType

WAYS = 8
"""Ways of the DIP switch, network, bar and connector that are shown."""

EPILOG = """\b
Example:
  breadproof parts                       all parts, by what they do
  breadproof parts 74LS157               one part: pin-out, function, source
  breadproof parts three-state buffer    the parts with these words
"""


@click.command("parts", epilog=EPILOG)
@click.argument("words", nargs=-1, metavar="[NUMBER | WORD...]")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
@click.option(
    "--parts",
    "folders",
    multiple=True,
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="A folder of your own part files, searched first.",
)
def command(words: tuple[str, ...], as_json: bool, folders: tuple[Path, ...]) -> int:
    """List the parts; with a NUMBER, as printed on the chip, show that one."""
    from breadproof.specs.catalogue.catalogue import Catalogue

    catalogue = Catalogue(folders)
    if len(words) == 1:
        part = _one(catalogue, words[0])
        if part is not None:
            _show(part, as_json)
            return 0
    parts = _matching(catalogue, words)
    if not parts:
        raise _unknown(catalogue, words)
    _list(parts, as_json, with_devices=not words)
    return 0


def _one(catalogue: Catalogue, word: str) -> PartType | None:
    """The part or device that a word names; None if it names none."""
    from breadproof.specs.catalogue.catalogue import UnknownPart
    from breadproof.specs.netlist.devices import DEVICES, device_type

    if word in DEVICES:
        return device_type(word, WAYS)
    try:
        return catalogue.find(word, "LS").type
    except UnknownPart:
        return None


def _matching(catalogue: Catalogue, words: tuple[str, ...]) -> list[PartType]:
    """The parts in whose title, function or number every word stands."""
    parts = [catalogue.part(number) for number in catalogue.numbers()]
    wanted = [word.lower().removesuffix("s") if len(word) > 3 else word.lower() for word in words]
    return [
        part
        for part in parts
        if all(word in f"{part.number} {part.title} {part.does}".lower() for word in wanted)
    ]


def _unknown(catalogue: Catalogue, words: tuple[str, ...]) -> click.BadParameter:
    from breadproof.specs.catalogue.catalogue import UnknownPart
    from breadproof.specs.netlist.devices import DEVICES
    from breadproof.specs.reading.yamltree import near

    if len(words) > 1:
        return click.BadParameter(
            f"no part has all the words '{' '.join(words)}'. 'breadproof parts' lists them all.",
            param_hint="WORD",
        )
    hint = near(words[0], DEVICES)
    message = f"there is no part '{words[0]}' in the catalogue"
    try:
        catalogue.find(words[0], "LS")
    except UnknownPart as unknown:
        message = unknown.why
        hint = unknown.hint if unknown.suggestions else hint
    return click.BadParameter(
        f"{message}. {hint or 'Without a number, this command lists all parts.'}",
        param_hint="NUMBER",
    )


def _list(parts: list[PartType], as_json: bool, *, with_devices: bool) -> None:
    from breadproof.specs.netlist.devices import DEVICES, device_type
    from breadproof.verify.report.pinout import part_fields

    devices = [device_type(name, WAYS) for name in DEVICES] if with_devices else []
    if as_json:
        fields = [part_fields(part) for part in (*parts, *devices)]
        click.echo(json.dumps({"schema": 1, "parts": fields}, indent=1))
        return
    groups: dict[str, list[PartType]] = {}
    for part in parts:
        groups.setdefault(part.does, []).append(part)
    for does in sorted(groups, key=str.lower):
        click.secho(does, bold=True)
        for part in groups[does]:
            click.echo(f"  {part.number:<18}{part.title}")
    if devices:
        click.secho("no chips (named in the board file by these words)", bold=True)
        for part in devices:
            click.echo(f"  {part.number:<18}{part.title}")


def _show(part: PartType, as_json: bool) -> None:
    from breadproof.specs.netlist.devices import OPTIONS
    from breadproof.verify.report.page import page_of_stdout
    from breadproof.verify.report.pinout import part_object, part_page

    if as_json:
        click.echo(json.dumps({"schema": 1, **part_object(part)}, indent=1))
        return
    click.echo(part_page(part, page_of_stdout().width), nl=False)
    options = OPTIONS.get(part.number, ())
    if options:
        ways = f"; drawn with {WAYS}" if {"ways", "pins"} & set(options) else ""
        click.echo(f"options   {', '.join(options)}{ways}")
