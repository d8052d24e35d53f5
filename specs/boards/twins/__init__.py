"""Broken twins of the light store, data for tests and for a first look."""
