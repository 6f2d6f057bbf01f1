"""Text cells to typed fields in SI units."""
