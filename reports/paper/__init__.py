"""Paper to write on: the forms as pages for the van."""
