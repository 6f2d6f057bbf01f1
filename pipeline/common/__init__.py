"""What every room uses: faults, words, amounts, progress."""
