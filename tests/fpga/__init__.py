"""Tests of `export/fpga` and of target files."""
