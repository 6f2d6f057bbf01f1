"""Several greens together: a club's season, and the contractor's round-up of all greens."""
