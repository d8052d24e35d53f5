"""Reads board files and part files, and keeps the place of all that it read."""
