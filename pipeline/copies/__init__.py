"""Copies: a workspace as plain files with their hashes, and a workspace made of them again."""
