"""The first page of a condition report: everything it says as final text."""
