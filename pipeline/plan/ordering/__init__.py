"""From plans, log, stock and prices to the order's needs, stock and offers, and what comes of them as one content."""
