"""What an instance of a cell is: the rule that fits it, or what its own names tell."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Literal

from breadproof.specs.catalogue.catalogue import Catalogue, UnknownPart
from breadproof.specs.edif.flatten import FlatInstance
from breadproof.specs.edif.mapping import REFERENCE, Mapping, Ports, Rule
from breadproof.specs.edif.model import Cell, Property
from breadproof.specs.edif.pins import GROUNDS, SUPPLIES
from breadproof.specs.edif.tree import Source
from breadproof.specs.netlist.devices import DEVICES, OPTIONS, quantity
from breadproof.specs.reading.diagnostics import Span
from breadproof.specs.reading.yamltree import Rows, Text, Tree

_LISTS = ("positions", "contents")
_MEASURE = re.compile(r"\s*([0-9]+(?:[.,][0-9]+)?)\s*(MEG|[pnuµmkMRG])?([0-9]*)[a-zA-ZΩ]*", re.I)


@dataclass(frozen=True, slots=True, kw_only=True)
class Meaning:
    """What an instance is; ``tried`` and ``suggestions`` are for one that is not known."""

    kind: Literal["part", "ignore", "supply", "unknown"]
    printed: Text | None = None
    supply: str = ""
    options: tuple[tuple[Text, Tree], ...] = ()
    ports: Ports | None = None
    gates: tuple[Ports, ...] = ()
    tried: str = ""
    suggestions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Meanings:
    """Decides what instances are."""

    mapping: Mapping
    catalogue: Catalogue
    family: str
    source: Source

    def is_part(self, cell: Cell) -> bool:
        """Whether a cell is a part by a rule, whatever is drawn inside it."""
        return any(rule.fits(name) for rule in self.mapping.cells for name in _names(cell))

    def designator(self, instance: FlatInstance) -> str:
        """What the instance is called on the drawing."""
        if instance.designator:
            return instance.designator
        return self.told(instance.properties, REFERENCE)[0] or instance.name

    def told(self, properties: tuple[Property, ...], names: tuple[str, ...]) -> tuple[str, Span]:
        """The value of the first of some properties, and its place."""
        for name in names:
            for one in properties:
                if one.name.shown.lower() == name and one.value.strip():
                    return one.value.strip(), self.source.span(one.at, one.length)
        return "", self.source.span(0)

    def of(self, instance: FlatInstance) -> Meaning:
        """What an instance is."""
        meaning = self._of(instance)
        count = _count(meaning, instance)
        return meaning if count is None else replace(meaning, options=(*meaning.options, count))

    def _of(self, instance: FlatInstance) -> Meaning:
        properties = (*instance.properties, *instance.cell.properties)
        number, number_span = self.told(properties, self.mapping.part_number)
        value, value_span = self.told(properties, self.mapping.value)
        rule = self._rule(instance, number, value)
        if rule is not None:
            return self._by_rule(rule, properties, value, value_span)
        symbol = _supply_symbol(instance.cell)
        if symbol:
            return Meaning(kind="supply", supply=symbol)
        cell = instance.cell.name
        cell_span = self.source.span(cell.at, cell.length)
        suggestions: list[str] = []
        for text, span, bare in (
            (number, number_span, True),
            (cell.shown, cell_span, False),
            (value, value_span, False),
        ):
            found = self._known(text, bare)
            if found is None:
                printed = Text(value=text, span=span)
                options = self.options(printed, (), properties, value, value_span)
                return Meaning(kind="part", printed=printed, options=options)
            suggestions += found
        return Meaning(
            kind="unknown",
            tried=number or value,
            suggestions=tuple(dict.fromkeys(suggestions))[:3],
        )

    def _rule(self, instance: FlatInstance, number: str, value: str) -> Rule | None:
        tried = (
            (self.mapping.designators, (self.designator(instance), instance.name)),
            (self.mapping.values, (number, value)),
            (self.mapping.cells, _names(instance.cell)),
        )
        for rules, texts in tried:
            for rule in rules:
                if any(text and rule.fits(text) for text in texts):
                    return rule
        return None

    def _by_rule(
        self, rule: Rule, properties: tuple[Property, ...], value: str, span: Span
    ) -> Meaning:
        printed = rule.printed
        if printed is None:
            return Meaning(kind=rule.kind, supply=rule.supply)
        suggestions: tuple[str, ...] = ()
        if printed.value not in DEVICES:
            try:
                self.catalogue.find(printed.value, self.family)
            except UnknownPart as unknown:
                devices = get_close_matches(printed.value, DEVICES, n=2)
                suggestions = (*devices, *unknown.suggestions)[:3]
                return Meaning(kind="unknown", tried=printed.value, suggestions=suggestions)
        return Meaning(
            kind="part",
            printed=printed,
            options=self.options(printed, rule.options, properties, value, span),
            ports=rule.ports,
            gates=rule.gates,
        )

    def _known(self, text: str, bare: bool) -> list[str] | None:
        """None if a text is a part, or else near names.

        A number alone is taken for a chip only where a property says that it is a part number: a
        value of 157 may be a resistor's.
        """
        if not text or text in DEVICES:
            return [] if not text else None
        if not bare and quantity(text) is not None and text not in self.catalogue.numbers():
            return []
        try:
            chip = self.catalogue.find(text, self.family)
        except UnknownPart as unknown:
            return list(unknown.suggestions)
        if not bare and text.isdecimal() and chip.type.families != ("MOS",):
            return [f"74{self.family.replace('TTL', '')}{text}"]
        return None

    def options(
        self,
        printed: Text,
        given: tuple[tuple[Text, Tree], ...],
        properties: tuple[Property, ...],
        value: str,
        span: Span,
    ) -> tuple[tuple[Text, Tree], ...]:
        """A rule's options, and those that the drawing tells of the part."""
        allowed = OPTIONS.get(printed.value, ("contents",))
        found = list(given)
        have = {key.value for key, _ in given}
        for one in properties:
            key = one.name.shown.lower().replace("_", "-")
            if key not in allowed or key in have or key in ("value", "frequency"):
                continue
            have.add(key)
            place = self.source.span(one.at, one.length)
            name = Text(value=key, span=place)
            if one.kind == "boolean":
                found.append((name, Text(value=one.value.lower(), span=place)))
            elif key == "contents" or (key in _LISTS and not one.value.isdecimal()):
                words = one.value.replace(",", " ").split()
                if key == "contents":
                    words = [f"0x{word.upper().removeprefix('0X')}" for word in words]
                items = tuple(Text(value=word, span=place) for word in words)
                found.append((name, Rows(items=items, span=place)))
            else:
                found.append((name, Text(value=one.value.strip(), span=place)))
        measure = next((key for key in ("value", "frequency") if key in allowed), "")
        text, place = self.told(properties, ("frequency",))
        if measure != "frequency" or not text:
            text, place = value, span
        if measure and measure not in have and (shown := measured(text)):
            name = Text(value=measure, span=place)
            found.append((name, Text(value=shown, span=place)))
        return tuple(found)


def measured(text: str) -> str:
    """``10K 5%``, ``0.1uF``, ``100NF`` or ``1MEG`` as a board file has it; "" for no value."""
    plain = text.strip()
    if quantity(plain) is not None:
        return plain
    found = _MEASURE.match(plain)
    if found is None:
        return ""
    whole, scale, rest = found[1].replace(",", "."), found[2] or "", found[3]
    scale = "M" if scale.upper() == "MEG" else scale
    if scale in ("P", "N", "U"):
        scale = scale.lower()
    shown = f"{whole}{scale}{rest}"
    return shown if quantity(shown) is not None else ""


def _names(cell: Cell) -> tuple[str, ...]:
    return (cell.name.shown, cell.name.key)


def _supply_symbol(cell: Cell) -> str:
    """A cell of one port that is called like a supply: a supply symbol of the drawing."""
    ports = {port.name.key for view in cell.views.values() for port in view.ports.values()}
    name = cell.name.shown.upper()
    if len(ports) != 1:
        return ""
    return "VCC" if name in SUPPLIES else "GND" if name in GROUNDS else ""


def _count(meaning: Meaning, instance: FlatInstance) -> tuple[Text, Tree] | None:
    """How many ways or pins a switch, network or connector has, by its ports, if nobody says."""
    printed = meaning.printed.value if meaning.printed is not None else ""
    key = "pins" if printed == "connector" else "ways"
    ports = instance.view.ports.values()
    size = sum(port.name.size or 1 for port in ports)
    known = {option.value: tree for option, tree in meaning.options}
    isolated = known.get("isolated")
    if printed in ("dip-switch", "led-bar") or (
        isinstance(isolated, Text) and isolated.value == "true"
    ):
        size //= 2
    elif printed == "resistor-network":
        size -= 1
    if printed not in ("connector", "dip-switch", "led-bar", "resistor-network") or key in known:
        return None
    if printed == "connector":
        numbers = [port.name.shown for port in ports if port.name.shown.isdecimal()]
        size = max([size, *map(int, numbers)])
    return Text(value=key, span=instance.span), Text(value=str(size), span=instance.span)
