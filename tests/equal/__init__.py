"""Exported hardware against its board, by proof."""
