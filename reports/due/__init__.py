"""The due list."""
