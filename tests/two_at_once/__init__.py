"""Two commands at one time, the first held at a named moment by a pipe: no wait that hopes."""
