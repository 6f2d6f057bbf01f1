"""The handout of a club's meeting: one page, and the text of an e-mail that goes with it."""
