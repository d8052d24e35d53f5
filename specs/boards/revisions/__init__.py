"""Pairs of revisions with what a comparison of each must say (`pairs.yaml`), and a board for
Verilog that is written by hand; data for tests."""
