"""A line that says several things in one cell, as a record each."""
