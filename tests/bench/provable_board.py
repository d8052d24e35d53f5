"""Generated boards with something to prove: modules of ten chips, chained to each other.

A module has four registers that take turns on a bus of eight lines, told by a counter through a
decoder; a decimal digit that counts when the digit of the module before turns over; and an arbiter
of two, whose turn changes with every clock, and which hands its grants on to the next module.
"""

from __future__ import annotations

from tests.bench.large_board import Board


def provable_board(modules: int) -> str:
    """A board file of ``10 * modules`` chips, with formulas that hold and some that fail."""
    board = Board()
    formulas: list[str] = []
    for here in range(modules):
        _bus(board, here, (here + 1) % modules)
        _digit(board, here)
        _arbiter(board, here)
        formulas += _formulas(here, modules)
    ports = ", ".join(["clk: in", *(f"r{k}_{n}: in" for k in range(modules) for n in (0, 1))])
    return board.text(ports, "\n".join(["assert:", *formulas, ""]))


def _bus(board: Board, here: int, there: int) -> None:
    """Seven chips; register k of a module takes the next module's bus when the clock rises."""
    decoder = board.chip("74LS138", high="G1", low="G2A_n G2B_n A2")
    counter = board.chip("74LS161", high="LD_n CLR_n ENP ENT", low="D0 D1 D2 D3")
    board.net("clk", f"{counter}.CLK")
    for bit in range(2):
        board.net(f"turn{here}_{bit}", f"{counter}.Q{bit}", f"{decoder}.A{bit}")
    for line in range(4):
        register = board.chip("74LS374")
        board.net("clk", f"{register}.CLK")
        board.net(f"on{here}_{line}", f"{decoder}.Y{line}_n", f"{register}.OE_n")
        for bit in range(8):
            board.net(f"bus{here}_{bit}", f"{register}.Q{bit}")
            board.net(f"bus{there}_{bit}", f"{register}.D{bit}")


def _digit(board: Board, here: int) -> None:
    """Two chips: a counter that is cleared after nine, while it is enabled."""
    counter = board.chip("74LS163", high="LD_n", low="D0 D1 D2 D3")
    board.net("clk", f"{counter}.CLK")
    enable = f"turns{here - 1}" if here else "VCC"
    gate = board.chip("74LS10", low="A3 B3 C3")
    board.net(enable, f"{counter}.ENP", f"{counter}.ENT", f"{gate}.C1")
    for bit in range(4):
        board.net(f"d{here}_{bit}", f"{counter}.Q{bit}")
    board.net(f"d{here}_3", f"{gate}.A1")
    board.net(f"d{here}_0", f"{gate}.B1")
    board.net(f"full{here}", f"{gate}.Y1", f"{counter}.CLR_n", *(f"{gate}.{p}2" for p in "ABC"))
    board.net(f"turns{here}", f"{gate}.Y2")


def _arbiter(board: Board, here: int) -> None:
    """Two chips: whose turn it is, two grants, and the first grant of a clock ago."""
    flops = board.chip("74LS175", high="CLR_n")
    gates = board.chip("74LS08", low="A4 B4")
    board.net("clk", f"{flops}.CLK")
    board.net(f"t{here}_n", f"{flops}.Q0_n", f"{flops}.D0", f"{gates}.A2")
    board.net(f"t{here}", f"{flops}.Q0", f"{gates}.A1")
    board.net(f"r{here}_0", f"{gates}.B1")
    board.net(f"r{here}_1", f"{gates}.B2")
    board.net(f"w{here}_0", f"{gates}.Y1", f"{flops}.D1")
    board.net(f"w{here}_1", f"{gates}.Y2", f"{flops}.D2")
    board.net(f"g{here}_0", f"{flops}.Q1", f"{flops}.D3")
    board.net(f"g{here}_1", f"{flops}.Q2", f"{gates}.A3")
    board.net(f"h{here}", f"{flops}.Q3", f"{gates}.B3")
    board.net(f"both{here}", f"{gates}.Y3")


def _formulas(here: int, modules: int) -> list[str]:
    digit = f"(d{here}_3 && (d{here}_2 || d{here}_1))"
    texts = {
        f"digit{here}": f"!{digit} -> always !{digit}",
        f"apart{here}": f"!(g{here}_0 && g{here}_1) -> always !(g{here}_0 && g{here}_1)",
        # two clocks deep: the grants of the clock before, and the turn before that
        f"turns{here}": f"(always (g{here}_0 -> next !(g{here}_0))) @(rose(clk))",
        f"after{here}": f"(always (h{here} -> next[2] !(both{here} && !g{here}_1))) @(rose(clk))",
        f"bus{here}": f"always (bus{here}_0 == bus{here}_0)",
        # these fail
        f"odd{here}": f"always (rose(turn{here}_1) -> turn{here}_0)",
        f"never{here}": f"(!g{here}_0 && !h{here}) -> always !(h{here} && g{here}_1)",
    }
    if here + 1 < modules:
        # in step for ever, if once in step: both bits are needed, and one of them is not named
        same = [f"turn{here}_{bit} == turn{here + 1}_{bit}" for bit in range(2)]
        texts[f"step{here}"] = f"({' && '.join(same)}) -> always ({same[1]})"
        texts[f"carry{here}"] = f"always (stable(turns{here}) -> stable(d{here + 1}_0))"
    return [f'  {name}: {{says: "", formula: "{text}"}}' for name, text in texts.items()]
