"""The command line: commands by group, what they print, the demo and the check of the machine."""
