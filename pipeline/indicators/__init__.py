"""Figures about a green in a season, one module a family."""
