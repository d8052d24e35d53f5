"""Tests of how files are read."""
