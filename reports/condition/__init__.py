"""The condition report of a green."""
