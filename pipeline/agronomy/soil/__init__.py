"""Soil and what is put on it: nutrients, organic matter, particle sizes, guidelines."""
