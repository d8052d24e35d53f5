"""Part files, one a function. Data; breadproof.specs.catalogue reads it."""
