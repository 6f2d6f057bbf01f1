"""The contractor's round-up over all clubs."""
