"""From the netlist to Amaranth source: names, expressions, chips, nets, loops, the board.

Follows design.md section 4 and the plans of `breadproof.specs.netlist.drive`; shares nothing with
`breadproof.specs.machine`, so that each can be held against the other.
"""
