"""Target files: which FPGA a board goes into, and what is at its pins."""
