"""A second evaluator of rounds and steps, written from design.md section 4 and nothing else.

It shares with the product only what is no meaning: the Netlist, the part files as trees, the
family limits. It knows nothing of the Machine and imports nothing of it.
"""
