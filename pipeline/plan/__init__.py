"""What comes next and how much of it."""
