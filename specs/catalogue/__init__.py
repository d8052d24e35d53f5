"""The parts that can be named in a board file, from their part files."""
