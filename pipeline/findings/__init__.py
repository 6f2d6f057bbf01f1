"""Findings: rules held against the figures of a green."""
