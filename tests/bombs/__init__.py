"""Files made to fill a machine, and what refusing each costs: ``make bombs`` prints the table."""
