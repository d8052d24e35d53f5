"""What a board becomes: Amaranth modules, Verilog, RTLIL, simulation and waveforms.

Imports `breadproof.specs`. The only layer that imports Amaranth, and only inside modules that a
command loads when it needs them.
"""

# Imported under another name, this folder would be a second copy of every class in it, and
# isinstance would say no to objects that look the same.
if __name__ != "breadproof.export":
    raise ImportError(
        f"this folder is the package 'breadproof.export', and was imported as {__name__!r}; "
        "install the project (pip install -e .) and write 'import breadproof.export'"
    )
