"""Solderless breadboards: holes, what is joined under them, and where parts stand."""
