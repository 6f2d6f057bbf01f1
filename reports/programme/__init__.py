"""The programme of a season with its price, for a club's committee."""
