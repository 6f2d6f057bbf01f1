"""Green speed and what it was timed in."""
