"""Forgetting a person: the name goes from store, originals and the workspace's own files, and the work stays."""
