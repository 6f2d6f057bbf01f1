"""Bytes of a text file to lines and cells."""
