"""The same records twice, by processes that differ in all that must not matter, and every file compared."""
