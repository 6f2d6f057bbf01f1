"""Whether a store is what its files make: read from the kept originals again, and compared row by row."""
