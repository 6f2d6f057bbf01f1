"""Balance and forecast of organic matter."""
