"""Nutrients put on, released and carried off."""
