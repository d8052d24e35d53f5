"""Target files for the workshop's boards (data)."""
