"""Finding the part file of a chip: the user's folders first, then those that ship."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path

from breadproof.specs.catalogue.families import FAMILIES, Family
from breadproof.specs.catalogue.military import MILITARY
from breadproof.specs.catalogue.names import UnknownPart, recognise
from breadproof.specs.catalogue.part import PartType
from breadproof.specs.catalogue.partfile import load_part
from breadproof.specs.reading.diagnostics import BadInput, Diagnostic, Span
from breadproof.specs.reading.yamltree import read_text

__all__ = ["Catalogue", "Chip", "UnknownPart"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Chip:
    """A part type in a family, and what is printed on it.

    ``type`` is what the number means in that family: a variant, if it differs there, or else the
    part itself, even if it is not known to exist in the family.
    """

    type: PartType
    family: Family
    printed: str


class Catalogue:
    """Part files by number; a file is read when it is asked for, and once."""

    def __init__(self, folders: Sequence[Path] = ()) -> None:
        """Take the user's folders, the first searched first. They must exist.

        Raises:
            BadInput: one of them is no folder.
        """
        for folder in folders:
            if not folder.is_dir():
                raise _no_folder(folder)
        self.folders = tuple(folders)
        self._own: dict[str, Path] = {}
        for folder in folders:
            for path in sorted(folder.glob("*.yaml")):
                self._own.setdefault(path.stem, path)
        self._shipped = tuple(
            sorted(
                entry.name.removesuffix(".yaml")
                for entry in (files("breadproof.specs") / "parts").iterdir()
                if entry.name.endswith(".yaml")
            )
        )
        self._numbers = tuple(sorted({*self._own, *self._shipped}, key=_in_order))
        self._loaded: dict[str, PartType] = {}

    def then(self, folder: Path) -> Catalogue:
        """This catalogue with one more folder, searched after the user's others.

        Raises:
            BadInput: it is no folder.
        """
        return Catalogue((*self.folders, folder))

    def own(self, number: str) -> Path | None:
        """The user's own file of that number, or None."""
        return self._own.get(number)

    def hides(self, number: str) -> bool:
        """Whether the user's own file of that number stands before one that ships."""
        return number in self._own and number in self._shipped

    def numbers(self) -> tuple[str, ...]:
        """All numbers that can be found, in numeric order, memories and others after."""
        return self._numbers

    def part(self, number: str) -> PartType:
        """The part type with exactly that number.

        Raises:
            UnknownPart: there is no such file.
            BadInput: the file has errors.
        """
        if number not in self._loaded:
            if number in self._own:
                self._loaded[number] = load_part(self._own[number])
            elif number in self._shipped:
                with as_file(files("breadproof.specs") / "parts" / f"{number}.yaml") as path:
                    self._loaded[number] = load_part(path)
            else:
                raise UnknownPart(number, f"there is no part '{number}' in the catalogue", ())
        return self._loaded[number]

    def text(self, number: str) -> str:
        """The text of the part file with exactly that number.

        Raises:
            UnknownPart: there is no such file.
            BadInput: the file cannot be read.
        """
        if number in self._own:
            return read_text(self._own[number])
        if number in self._shipped:
            return (files("breadproof.specs") / "parts" / f"{number}.yaml").read_text("utf-8")
        raise UnknownPart(number, f"there is no part '{number}' in the catalogue", ())

    def find(self, printed: str, default_family: str) -> Chip:
        """The chip that a printed name means.

        A function that is not known to exist in the family is given all the same: the family is
        then none of ``type.families``. A part that exists in no logic family (a memory) keeps its
        own.

        Raises:
            UnknownPart: with near names; also if the default family is none.
            BadInput: its part file has errors.
        """
        name = recognise(printed, default_family, self.numbers())
        part = self.part(name.number)
        family = "MOS" if part.families == ("MOS",) else name.family
        if family == "MOS" and name.family != "MOS" and not name.bare:
            raise UnknownPart(
                printed,
                f"a {name.number} is in no logic family, as '{printed}' says",
                [name.number],
            )
        if name.bare and name.number[0] == "4" and family not in part.families:
            # 4051 alone is a name of the 4000 series; 157 alone is none of any series.
            family = "4000B" if "4000B" in part.families else family
        kind = part.in_family(family)
        return Chip(
            type=kind,
            family=MILITARY[family] if name.military else FAMILIES[family],
            printed=printed.strip(),
        )


def _in_order(number: str) -> tuple[bool, int, str]:
    return not number.isdigit() or len(number) > 3, len(number), number


def _no_folder(folder: Path) -> BadInput:
    return BadInput(
        [
            Diagnostic(
                code="catalogue-folder",
                message="there is no such folder of part files",
                span=Span(file=str(folder), line=1, column=1),
                hint="Check the path; the part files that ship are found without it.",
            )
        ]
    )
