"""What developers run; not part of the product."""
