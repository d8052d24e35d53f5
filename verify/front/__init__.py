"""breadproof checks, proves and exports breadboards of 74-series chips.

`breadproof.specs` says what a board means, `breadproof.export` what it becomes, `breadproof.verify`
what is known about it. `breadproof.cli` is the command line.
"""

# Reached as breadproof.verify.front this would be a second copy of the command line.
if __name__ != "breadproof":
    raise ImportError(
        f"this folder is the package 'breadproof', and was imported as {__name__!r}; "
        "install the project (pip install -e .) and write 'import breadproof'"
    )

__version__ = "0.1.0"
