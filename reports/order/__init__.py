"""The order: to each supplier, for the office with prices, for the van without."""
