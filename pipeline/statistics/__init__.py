"""Whether a change is real and how far a figure can be trusted: pure functions on arrays, no records, no files."""
