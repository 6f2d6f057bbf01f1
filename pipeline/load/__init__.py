"""Files into the store: detected, matched with what it holds, every row accounted for."""
