"""The season summary of a club."""
