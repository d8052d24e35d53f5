"""What is known about a board: wiring rules, proofs, and their reports.

The top layer; it may import `breadproof.specs` and `breadproof.export`. The only layer that imports
solvers, and only inside modules that a command loads when it needs them.
"""

# Imported under another name, this folder would be a second copy of every class in it, and
# isinstance would say no to objects that look the same.
if __name__ != "breadproof.verify":
    raise ImportError(
        f"this folder is the package 'breadproof.verify', and was imported as {__name__!r}; "
        "install the project (pip install -e .) and write 'import breadproof.verify'"
    )
