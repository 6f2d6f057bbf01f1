"""Forms: workbooks to be filled in, made from the kinds of record and the registers, and what comes back in them."""
