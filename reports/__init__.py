"""Condition reports: a frozen season of a green in, an archivable and accessible PDF out."""
