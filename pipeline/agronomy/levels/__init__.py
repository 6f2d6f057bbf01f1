"""Heights of a green: planes, crowns, grids, lows, rinks, change."""
