"""The way of a row: read, standardise, validate, load, indicators."""
