"""The formula language: IEEE 1364 expressions and IEEE 1850 simple-subset operators."""
