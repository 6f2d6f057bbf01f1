"""Charts as every document draws them."""
