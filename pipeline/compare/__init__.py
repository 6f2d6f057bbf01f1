"""How greens compare with their like: groups, protected figures, places, and what changed with what."""
