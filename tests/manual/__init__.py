"""Tests of the manual."""
