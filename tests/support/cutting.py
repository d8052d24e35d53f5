"""A board cut in two: its parts on two boards, every net of it joined behind them.

It is the same machine, so what holds of the one holds of the other, and what fails takes as many
steps. Nets and vectors live on in the joining file, one connector each, under their own names;
formulas name parts with the half that they are on.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from random import Random
from typing import Any

import yaml

from breadproof.specs.load import load_netlist
from breadproof.specs.netlist.model import Net, Netlist

HALVES = ("half1", "half2")
_NAME = re.compile(r"(?<![\w.'])[A-Za-z_]\w*")
"""A name in a formula, but not what follows a dot, nor the base of a number."""
FORMULAS = ("assume", "assert", "cover")
NAMES = ("together", "bounces")
FILE = ("family", "supply", "rails", "catalogue")
"""What is said of a half, as of the whole."""


def cut(path: Path, folder: Path, seed: int) -> Path:
    """The file that joins the halves, in a folder of its own."""
    whole = yaml.load(path.read_text("utf-8"), Loader=yaml.BaseLoader)
    netlist = load_netlist(path)
    dice = Random(f"{path.name} {seed}")
    home = {part.name: dice.choice(HALVES) for part in netlist.parts if part.name in whole["parts"]}
    for half in HALVES:
        own = {
            name: _moved(whole["parts"][name], path, folder) for name in home if home[name] == half
        }
        made = {"board": half, "parts": own, "nets": _nets(netlist, own)}
        made |= {key: _moved(whole[key], path, folder) for key in FILE if key in whole}
        (folder / f"{half}.yaml").write_text(json.dumps(made), "utf-8")
    top = _joining(netlist, home) | {"board": whole["board"]}
    top |= {key: whole[key] for key in ("supply", "rails", "ports") if key in whole}
    top |= {key: _named(whole[key], home) for key in (*NAMES, "reset") if key in whole}
    for key in FORMULAS:
        if key in whole:
            top[key] = {name: _formula(told, home) for name, told in whole[key].items()}
    found = folder / "top.yaml"
    found.write_text(json.dumps(top), "utf-8")
    return found


def uncut(name: str) -> str:
    """What a check of the joined machine is called on the whole board."""
    return re.sub(r"\bhalf[12]/", "", name)


def _moved(told: Any, path: Path, folder: Path) -> Any:
    """What is said of a part, its file being named from elsewhere."""
    if isinstance(told, dict) and isinstance(told.get("contents"), str):
        return {**told, "contents": os.path.relpath(path.parent / told["contents"], folder)}
    return told


def _nets(netlist: Netlist, parts: Mapping[str, Any]) -> dict[str, list[str]]:
    """The nets of a half, under names that are no vector's."""
    found: dict[str, list[str]] = {}
    for net in netlist.nets:
        pins = [f"{pin.part}.{pin.number}" for pin in net.pins if pin.part in parts]
        if pins:
            found[_called(net)] = pins
    return found


def _called(net: Net) -> str:
    plain = re.sub(r"\W+", "_", net.name).strip("_")
    return net.name if net.rail is not None else f"n{net.index}_{plain}"


def _joining(netlist: Netlist, home: Mapping[str, str]) -> dict[str, Any]:
    """A connector for each net and vector, and the joins to both halves."""
    parts: dict[str, Any] = {}
    nets: dict[str, Any] = {}
    joins: list[str] = []
    for number, (name, indices) in enumerate(_rows(netlist)):
        connector = f"back{number}"
        parts[connector] = {"part": "connector", "pins": len(indices)}
        pins = [f"{connector}.{place}" for place in range(1, len(indices) + 1)]
        nets[name] = [pins] if name.endswith("]") else pins
        for pin, index in zip(pins, indices, strict=True):
            net = netlist.nets[index]
            halves = {home[one.part] for one in net.pins if one.part in home}
            joins += [f"{half}.{_called(net)} to {pin}" for half in sorted(halves)]
    return {
        "parts": parts, "nets": nets, "joins": joins,
        "boards": {half: f"{half}.yaml" for half in HALVES},
    }  # fmt: skip


def _rows(netlist: Netlist) -> Iterator[tuple[str, tuple[int, ...]]]:
    """Vectors, and the nets that are in none."""
    done: set[int] = set()
    for vector in netlist.vectors:
        if done.isdisjoint(vector.nets):
            yield f"{vector.name}[{vector.left}:{vector.right}]", vector.nets
            done.update(vector.nets)
    for net in netlist.nets:
        if net.index not in done:
            yield net.name, (net.index,)


def _formula(told: Any, home: Mapping[str, str]) -> Any:
    if isinstance(told, dict):
        return {**told, "formula": _named(told["formula"], home)}
    return _named(told, home)


def _named(told: Any, home: Mapping[str, str]) -> Any:
    """The same with parts named as the joining file has them."""
    if isinstance(told, dict):
        return {key: _named(value, home) for key, value in told.items()}
    if isinstance(told, list):
        return [_named(one, home) for one in told]
    return _NAME.sub(
        lambda name: f"{home[name[0]]}.{name[0]}" if name[0] in home else name[0], told
    )
