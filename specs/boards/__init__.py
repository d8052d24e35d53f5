"""Boards of the stage-light workshop, and their broken twins. Data."""
