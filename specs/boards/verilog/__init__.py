"""Verilog that is written by hand, each with a ports file that sets it beside a board (data)."""
