"""Pairs of revisions with what a comparison of each must say (`pairs.yaml`), data for tests."""
