"""Pages."""
TARGETS = ()
