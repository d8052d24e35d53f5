"""Exported hardware against the board: the text is read back, and proved to do what the board does.

Translation validation (Pnueli, Siegel and Singerman 1998): not the export is trusted but each text
that it writes is proved. Trusted are yosys's reader (`yosys`, `readback`), the Machine, and the
solvers' last answers. What is claimed stands in `miter`; of a design for an FPGA in `inside`, and
of what synthesis makes of it in `synthesis`.
"""
