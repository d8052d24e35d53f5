"""Scripts: what somebody does at a board, run in Amaranth's simulator or compiled, or written out.

A script (`breadproof.specs.reading.script`) becomes one flat program (`program`); two machines run
it, one in Python over the Amaranth modules (`bench_engine`), one in C++ over the same modules
compiled (`fast_engine`). Formulas look at levels alone (`sights`).
"""
