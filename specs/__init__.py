"""What a board is and what it means: parts, wires, controls, formulas -> Netlist -> Machine.

The lowest layer. It imports neither `breadproof.export` nor `breadproof.verify`.
"""

# Imported under another name, this folder would be a second copy of every class in it, and
# isinstance would say no to objects that look the same.
if __name__ != "breadproof.specs":
    raise ImportError(
        f"this folder is the package 'breadproof.specs', and was imported as {__name__!r}; "
        "install the project (pip install -e .) and write 'import breadproof.specs'"
    )
