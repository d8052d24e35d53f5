"""What a simulation leaves: a value change dump as it goes, and what memories hold at the end."""

from __future__ import annotations

import io
from pathlib import PurePath
from typing import TextIO

from breadproof.export.stimulus.player import Player, Record
from breadproof.export.stimulus.sights import Sights
from breadproof.export.vcd import Dump

HEX = (".hex", ".ihex", ".ihx")
"""Endings of Intel HEX files, as where contents are read."""


class Waves:
    """Records of rounds on their way into a dump; ``close`` writes the last step and the end."""

    def __init__(self, sights: Sights, out: TextIO) -> None:
        """Begin a dump of the board."""
        self.row, self.netlist = sights.row, sights.machine.netlist
        self.dump = Dump(self.netlist, out)
        self.rounds: list[Record] = []

    def add(self, record: Record) -> None:
        """One more round."""
        if self.rounds and self.rounds[0].step != record.step:
            self._step()
        self.rounds.append(record)

    def _step(self) -> None:
        last = self.rounds[-1].row
        controls = {
            control.name: tuple(
                last >> self.row.control(control.name, bit) & 1 for bit in range(len(control.bits))
            )
            for control in self.netlist.controls
        }
        self.dump.step(
            controls,
            [
                {name: one.row >> place & 1 for name, place in self.row.nets.items()}
                for one in self.rounds
            ],
        )
        self.rounds = []

    def close(self) -> None:
        """Write what is left."""
        if self.rounds:
            self._step()
        with self.dump:
            pass


def memory_bytes(player: Player, sights: Sights, memory: int, target: PurePath) -> bytes:
    """All words of a memory as a file: Intel HEX or, by the ending, raw bytes.

    A word of more than eight bits takes as many bytes as it needs, the least significant first.
    """
    unit = sights.machine.memories[memory]
    size = (unit.bits + 7) // 8
    data = b"".join(
        player.word(memory, address).to_bytes(size, "little") for address in range(unit.words)
    )
    if target.suffix.lower() not in HEX:
        return data
    from intelhex import IntelHex

    image = IntelHex()
    image.frombytes(data)
    out = io.StringIO()
    image.write_hex_file(out)
    return out.getvalue().encode("ascii")
