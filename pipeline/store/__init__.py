"""One DuckDB file: every version of every record, former values, loads taken back."""
