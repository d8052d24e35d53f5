"""Tests of the JSON Schemas of part and board files."""
