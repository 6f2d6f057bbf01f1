"""One column of cells as text to typed values: dates, numbers, amounts, units, words of a list."""
