"""Reading a target file: all errors in one run, each with its place and the way out."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from breadproof.specs.netlist.devices import quantity
from breadproof.specs.reading.board import NAME
from breadproof.specs.reading.diagnostics import BadInput, Problems
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree, near, read_tree
from breadproof.specs.target.model import Active, Chain, Making, Pull, Target, Wiring

KEYS = (
    "target", "title", "board", "device", "package", "clock", "chains", "controls", "lamps",
    "ports",
)  # fmt: skip
CLOCK_KEYS = ("pin", "frequency")
CHAIN_KEYS = ("load", "clock", "data", "inputs")
CONTROL_KEYS = (
    "pin", "pins", "position", "active", "pull", "debounce", "clock", "frequency", "fixed",
)  # fmt: skip
LAMP_KEYS = ("pin", "pins", "active")
PORT_KEYS = (
    "pin", "pins", "active", "pull", "debounce", "clock", "frequency", "fixed", "outside",
)  # fmt: skip
OUTSIDE_KEYS = ("pin", "active", "pull", "debounce")
ACTIVES: tuple[Active, ...] = ("high", "low")
PULLS: tuple[Pull, ...] = ("up", "down", "none")
MAKINGS: tuple[Making, ...] = ("divider", "step", "free")
MAX_INPUTS = 128
MAX_DEBOUNCE = 10.0
"""Seconds; a contact that bounces longer is a broken one."""

_NAMED = re.compile(r"[A-Za-z_]\w*([./][A-Za-z_]\w*)*(\[[A-Za-z0-9:]{1,9}\])?\Z", re.ASCII)
_HINT = "A target file has 'target: NAME', a device, a clock, and pins for controls and lamps."
_Word = TypeVar("_Word", bound=str)


def read_target(path: Path, problems: Problems) -> Target | None:
    """The target file at ``path`` as far as it can be read; what is wrong is noted.

    Returns None where it is no target file at all.
    """
    try:
        tree = read_tree(path)
    except BadInput as bad:
        problems.take(bad)
        return None
    if not isinstance(tree, Table):
        problems.error("target-shape", "this is no target file", tree.span, hint=_HINT)
        return None
    return _Reader(str(path), tree, problems).target()


class _Reader:
    def __init__(self, file: str, tree: Table, problems: Problems) -> None:
        self.file = file
        self.tree = tree
        self.problems = problems
        self.spoiled: list[str] = []

    def target(self) -> Target | None:
        name = self.text(self.tree, "target")
        if name is None:
            message = "the file does not say 'target: NAME'"
            hint = "Begin it with 'target: NAME'."
            if self.tree.get("board") is not None and self.tree.get("parts") is not None:
                message, hint = "this is a board file, not a target file", _HINT
            self.problems.error("target-shape", message, self.tree.span, hint=hint)
            return None
        self.known(self.tree, KEYS, "a target file")
        title = self.text(self.tree, "title")
        clock = self.table(self.tree, "clock", "Write 'clock: {pin: 35, frequency: 12 MHz}'.")
        if clock is not None:
            self.known(clock, CLOCK_KEYS, "a clock")
        board, device, package = (self.text(self.tree, k) for k in ("board", "device", "package"))
        self.complete(board, device, package, clock)
        return Target(
            file=self.file,
            name=name.value,
            span=name.span,
            title=title.value if title else "",
            board=board,
            device=device,
            package=package,
            clock_pin=self.text(clock, "pin") if clock else None,
            frequency=self.hertz(clock) if clock else None,
            frequency_span=clock.span if clock else name.span,
            chains=tuple(self.chains()),
            controls=tuple(self.wirings("controls", CONTROL_KEYS)),
            lamps=tuple(self.wirings("lamps", LAMP_KEYS)),
            ports=tuple(self.wirings("ports", PORT_KEYS)),
            spoiled=tuple(self.spoiled),
        )

    def complete(
        self, board: Text | None, device: Text | None, package: Text | None, clock: Table | None
    ) -> None:
        """What a target needs: a board, or a device with its package and clock."""
        if board is not None:
            extra = next((one for one in (device, package) if one is not None), None)
            if extra is not None:
                self.shape(extra, "'board' says which device it is", "Leave out one of the two.")
            return
        found = {"device": device, "package": package, "clock": clock}
        missing = [key for key, value in found.items() if value is None]
        missing += [f"clock: {k}" for k in CLOCK_KEYS if clock is not None and not clock.get(k)]
        if missing:
            self.problems.error(
                "target-incomplete",
                f"the target does not say {', '.join(repr(key) for key in missing)}",
                self.tree.span,
                hint="Write 'device: hx8k', 'package: ct256' and "
                "'clock: {pin: J3, frequency: 12 MHz}', or 'board: NAME'.",
            )

    # pieces -----------------------------------------------------------------------------------

    def shape(self, tree: Tree, message: str, hint: str) -> None:
        self.problems.error("target-shape", message, tree.span, hint=hint)

    def known(self, table: Table, keys: tuple[str, ...], what: str) -> None:
        for key, _ in table:
            if key.value not in keys:
                self.problems.error(
                    "key-unknown",
                    f"{what} has no '{key.value}'",
                    key.span,
                    hint=near(key.value, keys) or f"It has {', '.join(keys)}.",
                )

    def text(self, table: Table, key: str) -> Text | None:
        found = table.get(key)
        if found is None or (isinstance(found, Text) and found.value.strip()):
            return found
        self.shape(found, f"'{key}' is one value", f"Write '{key}: VALUE'.")
        return None

    def table(self, table: Table, key: str, hint: str) -> Table | None:
        found = table.get(key)
        if found is None or isinstance(found, Table):
            return found
        if not (isinstance(found, Text) and not found.value):
            self.shape(found, f"'{key}' is a table", hint)
        return None

    def word(self, table: Table, key: str, words: tuple[_Word, ...]) -> _Word | None:
        found = self.text(table, key)
        if found is None:
            return None
        for word in words:
            if word == found.value:
                return word
        hint = near(found.value, words) or f"Write {', '.join(words[:-1])} or {words[-1]}."
        self.shape(found, f"'{key}' cannot be '{found.value}'", hint)
        return None

    def hertz(self, table: Table) -> float | None:
        found = self.text(table, "frequency")
        if found is None:
            return None
        value = quantity(found.value)
        if value and found.value.strip().endswith("Hz"):
            return value
        self.shape(found, f"'{found.value}' is no frequency", "Write '12 MHz', '2 Hz' or '50 kHz'.")
        return None

    def seconds(self, table: Table, key: str) -> float | None:
        found = self.text(table, key)
        if found is None:
            return None
        words = found.value.strip()
        value = quantity(words[:-1]) if words.endswith("s") else (0.0 if words == "0" else None)
        if value is not None and value <= MAX_DEBOUNCE:
            return value
        self.shape(
            found,
            f"'{found.value}' is no time up to {MAX_DEBOUNCE:g} s",
            "Write '10 ms', '500 us' or '0'.",
        )
        return None

    # entries ----------------------------------------------------------------------------------

    def chains(self) -> list[Chain]:
        example = "Write 'panel: {load: 23, clock: 25, data: 26, inputs: 40}'."
        found: list[Chain] = []
        for name, tree in self.table(self.tree, "chains", example) or ():
            if not isinstance(tree, Table):
                self.shape(tree, f"chain '{name.value}' is a table", example)
                continue
            if not NAME.match(name.value):
                self.shape(name, f"'{name.value}' is no name for a chain", example)
            self.known(tree, CHAIN_KEYS, "a chain")
            texts = {key: self.text(tree, key) for key in CHAIN_KEYS}
            missing = [key for key in CHAIN_KEYS if tree.get(key) is None]
            if missing:
                what = f"chain '{name.value}' does not say '{missing[0]}'"
                self.problems.error("target-incomplete", what, name.span, hint=example)
            load, clock, data, inputs = (texts[key] for key in CHAIN_KEYS)
            if load is None or clock is None or data is None or inputs is None:
                continue
            if not inputs.value.isdecimal() or not 1 <= int(inputs.value) <= MAX_INPUTS:
                self.shape(inputs, f"a chain has 1 to {MAX_INPUTS} inputs", example)
                continue
            count = int(inputs.value)
            found.append(Chain(name=name, load=load, clock=clock, data=data, inputs=count))
        return found

    def wirings(self, key: str, keys: tuple[str, ...]) -> list[Wiring]:
        """Each a pin, a list of pins, or a table."""
        hint = f"Write '{key}:' and below it 'NAME: PIN', one a line."
        found: list[Wiring] = []
        for name, tree in self.table(self.tree, key, hint) or ():
            if not _NAMED.match(name.value):
                self.shape(name, f"'{name.value}' is no name on a board", hint)
                continue
            made = self.wiring(name, tree, keys)
            if made is not None:
                found.append(made)
            else:
                self.spoiled.append(name.value)
        return found

    def wiring(self, name: Text, tree: Tree, keys: tuple[str, ...]) -> Wiring | None:
        if not isinstance(tree, Table):
            pins = self.pins(tree, name)
            return Wiring(name=name, pins=pins) if pins else None
        self.known(tree, keys, f"'{name.value}'")
        one, many = tree.get("pin"), tree.get("pins")
        if one is not None and many is not None:
            self.shape(many, f"'{name.value}' has 'pin' and 'pins'", "Leave out one of the two.")
        given = one if one is not None else many
        pins = () if given is None else self.pins(given, name)
        made = Wiring(
            name=name,
            pins=pins,
            position=self.text(tree, "position"),
            active=self.word(tree, "active", ACTIVES),
            pull=self.word(tree, "pull", PULLS),
            debounce=self.seconds(tree, "debounce"),
            clock=self.word(tree, "clock", MAKINGS),
            frequency=self.hertz(tree),
            fixed=self.text(tree, "fixed"),
        )
        outside = tree.get("outside") if "outside" in keys else None
        if outside is not None:
            made = replace(made, outside=self.wiring(name, outside, OUTSIDE_KEYS))
        return made if self.sensible(made, tree) else None

    def sensible(self, made: Wiring, tree: Table) -> bool:
        """Whether an entry says one thing; what is amiss is noted."""
        name = made.name.value
        before = len(self.problems.found)
        ways = [key for key in ("pin", "pins", "fixed") if tree.get(key) is not None]
        ways += ["clock"] if made.clock in ("divider", "free") else []
        if not ways and made.clock is None and len(self.problems.found) == before:
            if not any(key.value in ("pin", "pins", "fixed", "clock") for key, _ in tree):
                hint = f"Write '{name}: PIN', or a table with 'pin'."
                self.shape(made.name, f"'{name}' has no pin", hint)
            return False
        if len(ways) > 1 and set(ways) != {"pin", "pins"}:
            hint = f"Leave out {' or '.join(repr(way) for way in ways)}."
            self.shape(made.name, f"'{name}' comes from {' and from '.join(ways)}", hint)
        if made.clock == "step" and len(made.pins) != 1:
            hint = f"Write '{name}: {{clock: step, pin: PIN}}'."
            self.shape(made.name, f"'{name}' steps by a button at one pin", hint)
        if (made.clock == "divider") != (made.frequency is not None):
            hint = f"Write '{name}: {{clock: divider, frequency: 2 Hz}}'."
            what = (
                "a divider says its frequency"
                if made.clock == "divider"
                else ("only a divider has a frequency")
            )
            self.shape(made.name, what, hint)
        return len(self.problems.found) == before

    def pins(self, tree: Tree, name: Text) -> tuple[Text, ...]:
        items = tree.items if isinstance(tree, Rows) else (tree,)
        texts = [one for one in items if isinstance(one, Text) and one.value.strip()]
        if len(texts) != len(items) or not items:
            hint = f"Write '{name.value}: B12' or '{name.value}: [B12, B13]'."
            self.shape(tree, f"'{name.value}' is a pin or a list of pins", hint)
            return ()
        return tuple(texts)
