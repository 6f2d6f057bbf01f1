"""A store that several offices share: tests on PostgreSQL and Parquet, and two offices that load at once."""
