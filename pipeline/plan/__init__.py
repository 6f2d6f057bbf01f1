"""What is due on a green: the one engine that every document asks."""
