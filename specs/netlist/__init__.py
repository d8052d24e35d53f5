"""The flat board: parts, pins and nets."""
