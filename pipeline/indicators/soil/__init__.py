"""Soil tests, nutrient need, particle sizes."""
