"""Wiring rules: what can be wrong with a board before anything moves."""
