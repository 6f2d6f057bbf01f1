"""Figures as a table of the store: written, told to be fresh or stale, and read back."""
