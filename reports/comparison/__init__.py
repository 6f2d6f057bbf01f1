"""The comparison of greens."""
