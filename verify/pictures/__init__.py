"""Boards, runs and cones as drawings (SVG)."""
