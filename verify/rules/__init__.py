"""A page and two boards for each wiring rule. Data."""
