"""Pages of the manual that are written by hand (data)."""
