"""A page and two boards for each wiring rule, read by `verify.wiring.pages`. Data."""
