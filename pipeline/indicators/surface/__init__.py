"""Levels and what a visit sees and measures on the green."""
