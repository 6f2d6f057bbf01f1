"""Proof that what was loaded is as it was: kept originals, and a chain of hashes over what each load did."""
