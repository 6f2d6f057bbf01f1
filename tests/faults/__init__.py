"""Every call by which a command changes a file, made to fail in turn; and the command killed at it."""
