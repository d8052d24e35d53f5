"""Reading a ports file: which port of a Verilog module is what of the board.

    module: chaser
    clock: {port: clk, net: beat}
    inputs: {clear_n: clear_n, speed: [fast, slow]}
    outputs: {lamps: [L4, L3, L2, L1], last_n: "!last"}
    storage: {count: U3.R}

A port is the whole port; what it is, is a net, a vector (``bus``, ``bus[3:0]``), a lamp, or a list
of such, most significant first; ``!`` before one turns it over. What the names mean is not looked
up here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from breadproof.specs.reading.diagnostics import Problems, Span
from breadproof.specs.reading.yamltree import Rows, Table, Text, Tree, near, read_tree

KEYS = ("module", "clock", "inputs", "outputs", "storage")
CLOCK_KEYS = ("port", "net")
PLACE = r"!?[A-Za-z_]\w*(?:\.\w+)*(?:\[\w+\])*(?:\[\d+(?::\d+)?\])?"
"""A net, a vector, a part of one, a lamp, a storage, as it is written."""
PORT = r"[A-Za-z_][\w$.]*"
_PLACE, _PORT = re.compile(rf"{PLACE}\Z"), re.compile(rf"{PORT}\Z")
_HINT = (
    "A ports file has 'clock: {port: clk, net: beat}' if the module has a clock, and 'inputs:' and "
    "'outputs:' with the module's ports and what each is on the board."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Port:
    """One port, or register, of the module; ``places`` are most significant first."""

    name: Text
    places: tuple[Text, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PortMap:
    """The file as it is written. ``module`` is None if it is not named."""

    file: str
    span: Span
    module: Text | None
    clock: Port | None
    inputs: tuple[Port, ...]
    outputs: tuple[Port, ...]
    storage: tuple[Port, ...]


def read_portmap(path: Path) -> PortMap:
    """The ports file at ``path``.

    Raises:
        BadInput: with every problem of the file.
    """
    problems = Problems()
    tree = read_tree(path)
    if not isinstance(tree, Table):
        problems.error("ports-shape", "this is no ports file", tree.span, hint=_HINT)
        problems.stop_if_any()
        raise AssertionError("unreachable: it is noted")
    found = _Reader(str(path), tree, problems).portmap()
    problems.stop_if_any()
    return found


class _Reader:
    def __init__(self, file: str, tree: Table, problems: Problems) -> None:
        self.file = file
        self.tree = tree
        self.problems = problems

    def portmap(self) -> PortMap:
        self.known(self.tree, KEYS, "a ports file")
        module = self.tree.get("module")
        if module is not None and not (isinstance(module, Text) and module.value):
            self.shape(module, "'module' is one name", "Write 'module: NAME'.")
            module = None
        inputs, outputs, storage = (tuple(self.ports(key)) for key in KEYS[2:])
        if not outputs and not self.problems.found:
            self.shape(self.tree, "the file names no outputs, so that nothing is compared", _HINT)
        return PortMap(
            file=self.file,
            span=self.tree.span,
            module=module if isinstance(module, Text) else None,
            clock=self.clock(),
            inputs=inputs,
            outputs=outputs,
            storage=storage,
        )

    def shape(self, tree: Tree, message: str, hint: str) -> None:
        self.problems.error("ports-shape", message, tree.span, hint=hint)

    def known(self, table: Table, keys: tuple[str, ...], what: str) -> None:
        for key, _ in table:
            if key.value not in keys:
                hint = near(key.value, keys) or f"It has {', '.join(keys)}."
                message = f"{what} has no '{key.value}'"
                self.problems.error("key-unknown", message, key.span, hint=hint)

    def clock(self) -> Port | None:
        tree = self.tree.get("clock")
        if tree is None:
            return None
        port = net = None
        if isinstance(tree, Table):
            self.known(tree, CLOCK_KEYS, "a clock")
            port, net = tree.get("port"), tree.get("net")
        if not (isinstance(port, Text) and isinstance(net, Text)):
            self.shape(
                tree,
                "'clock' says which port is the clock, and which net of the board it is",
                "Write 'clock: {port: clk, net: beat}'.",
            )
            return None
        return Port(name=self.port(port), places=(self.place(net),))

    def ports(self, key: str) -> Iterator[Port]:
        tree = self.tree.get(key)
        if tree is None or (isinstance(tree, Text) and not tree.value):
            return
        if not isinstance(tree, Table):
            self.shape(tree, f"'{key}' is a table", f"Write '{key}: {{PORT: NET}}'.")
            return
        for name, value in tree:
            items = value.items if isinstance(value, Rows) else (value,)
            places = tuple(self.place(item) for item in items if isinstance(item, Text))
            if len(places) != len(items) or not places:
                self.shape(
                    value,
                    f"'{name.value}' is a name, or a list of names, most significant first",
                    f"Write '{name.value}: NET' or '{name.value}: [NET, NET]'.",
                )
                continue
            yield Port(name=self.port(name), places=places)

    def port(self, text: Text) -> Text:
        if not _PORT.match(text.value):
            self.shape(
                text, f"'{text.value}' is no name of a port", "Name the port alone: 'count'."
            )
        return text

    def place(self, text: Text) -> Text:
        if not _PLACE.match(text.value):
            hint = "Name a net, a vector, a part such as bus[3:0], or a lamp; '!' turns it over."
            self.shape(text, f"'{text.value}' is nothing of a board", hint)
        return text
