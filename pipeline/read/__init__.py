"""Bytes to text cells with the line they stand on."""
