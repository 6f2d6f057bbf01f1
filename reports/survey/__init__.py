"""The condition survey of one visit."""
