"""What is hard on the tool: stores that were damaged, files made to fill a machine."""
