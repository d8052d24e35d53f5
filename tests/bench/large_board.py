"""Generated boards for the benchmarks: modules of ten chips, each on a bus of its own."""

from __future__ import annotations


class Board:
    """A board file in the making."""

    def __init__(self) -> None:
        self.parts: list[str] = []
        self.nets: dict[str, list[str]] = {}
        self.chips = 0

    def net(self, name: str, *pins: str) -> None:
        self.nets.setdefault(name, []).extend(pins)

    def chip(self, printed: str, *, high: str = "", low: str = "") -> str:
        """A chip with its supplies, a capacitor, and pins that are held high or low."""
        self.chips += 1
        name, capacitor = f"U{self.chips}", f"C{self.chips}"
        self.parts.append(f'  {name}: "{printed}"')
        self.parts.append(f"  {capacitor}: {{part: capacitor, value: 100n}}")
        self.net("VCC", f"{name}.VCC", f"{capacitor}.1", *(f"{name}.{p}" for p in high.split()))
        self.net("GND", f"{name}.GND", f"{capacitor}.2", *(f"{name}.{p}" for p in low.split()))
        return name

    def text(self, ports: str = "clk: in", more: str = "") -> str:
        """The file, with formulas and other keys at its end."""
        nets = [f"  {name}: [{', '.join(pins)}]" for name, pins in self.nets.items()]
        head = ["board: large", "parts:", *self.parts, "nets:", *nets]
        return "\n".join([*head, f"ports: {{{ports}}}", more])


def large_board(modules: int) -> str:
    """A board file of ten chips a module: a decoder that enables, two counters that address, four
    registers and two transceivers on the module's bus, and a memory; the transceivers lead on to
    the next module's bus."""
    board = Board()
    for module in range(modules):
        _module(board, module, (module + 1) % modules)
    return board.text()


def _module(board: Board, here: int, there: int) -> None:
    decoder = board.chip("74LS138", high="G1", low="G2A_n G2B_n")
    for bit in range(3):
        board.net(f"addr{here}_{bit}", f"{decoder}.A{bit}")
    enables = [f"en{here}_{line}" for line in range(8)]
    for line, enable in enumerate(enables):
        board.net(enable, f"{decoder}.Y{line}_n")
    low, high = (
        board.chip("74LS161", high=pins, low="D0 D1 D2 D3")
        for pins in ("LD_n CLR_n ENP ENT", "LD_n CLR_n ENP")
    )
    board.net(f"carry{here}", f"{low}.RCO", f"{high}.ENT")
    for place, counter in enumerate((low, high)):
        board.net("clk", f"{counter}.CLK")
        for bit in range(4):
            board.net(f"addr{here}_{4 * place + bit}", f"{counter}.Q{bit}")
    for enable in enables[:4]:
        register = board.chip("74LS374")
        board.net("clk", f"{register}.CLK")
        board.net(enable, f"{register}.OE_n")
        for bit in range(8):
            board.net(f"bus{here}_{bit}", f"{register}.D{bit}", f"{register}.Q{bit}")
    for enable in enables[4:6]:
        gate = board.chip("74LS245")
        board.net(enable, f"{gate}.G_n")
        board.net(f"addr{here}_7", f"{gate}.DIR")
        for bit in range(8):
            board.net(f"bus{here}_{bit}", f"{gate}.A{bit + 1}")
            board.net(f"bus{there}_{bit}", f"{gate}.B{bit + 1}")
    memory = board.chip("62256", low="OE_n")
    board.net(enables[6], f"{memory}.CS_n")
    board.net(enables[7], f"{memory}.WE_n")
    for bit in range(15):
        board.net(f"addr{here}_{bit % 8}", f"{memory}.A{bit}")
    for bit in range(8):
        board.net(f"bus{here}_{bit}", f"{memory}.IO{bit}")
