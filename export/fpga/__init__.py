"""A board inside an FPGA: what brings the world to it, a control at a time, and what builds it."""
