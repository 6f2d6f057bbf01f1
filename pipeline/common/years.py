"""Years that records, and questions about them, may be of."""

EARLIEST, LATEST = 1800, 2200
"""Outside, a date was misread, or is a slip of the hand (common practice, no source)."""
